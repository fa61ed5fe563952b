"""Options of the commands that use the record book."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from spawnwright.cli.answer import note

if TYPE_CHECKING:
    from datetime import datetime

    from spawnwright.actions.book.jars import Hand
    from spawnwright.store.book.engine import Book

who_option: Callable[[Any], Any] = click.option(
    "--who", help="Who enters it; your login name if not said."
)

book_option: Callable[[Any], Any] = click.option(
    "--file",
    "named",
    metavar="FILE|URL",
    help="The record book, if not your own: a file, or the URL of a PostgreSQL database.",
)


def warn_of_place(named: str | None) -> None:
    """Say on standard error what is wrong with where the book lies."""
    from spawnwright.actions.book.files import warnings_of

    for warning in warnings_of(named):
        note(warning)


def hand_of(who: str | None, now: datetime) -> Hand:
    """Whoever types, on this machine, now."""
    import getpass
    import platform

    from spawnwright.actions.book.jars import Hand

    return Hand(who or getpass.getuser(), platform.node() or "laptop", now)


def back_up(book: Book, now: datetime) -> None:
    """Make today's backup after something was entered; say on standard error how that went."""
    from spawnwright.actions.book.files import backup_if_due

    made = backup_if_due(book, now)
    if made.path:
        note(f"Today's backup: {made.path}")
    if made.problem:
        note(f"No backup was made today. {made.problem}")


def day_of(instant: str | None) -> str:
    """An instant as a day where the grower is; nothing for none."""
    if instant is None:
        return ""
    from datetime import datetime

    return datetime.fromisoformat(instant).astimezone().date().isoformat()
