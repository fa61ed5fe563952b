"""Options of the commands that use the record book."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from spawnwright.cli.answer import note

book_option: Callable[[Any], Any] = click.option(
    "--file",
    "named",
    metavar="FILE|URL",
    help="The record book, if not your own: a file, or the URL of a PostgreSQL database.",
)


def warn_of_place(named: str | None) -> None:
    """Say on standard error what is wrong with where the book lies."""
    from spawnwright.actions.book_files import warnings_of

    for warning in warnings_of(named):
        note(warning)
