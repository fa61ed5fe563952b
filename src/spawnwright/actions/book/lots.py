"""Lots that were bought together and lids that were made together."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import Entered, arrived, check_days, made_id, with_step
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.records.book.steps import Entry

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.actions.choices import Choice
    from spawnwright.store.book.engine import Book


def new_lot(book: Book, hand: Hand, about: Mapping[str, Any], now: datetime) -> Entered:
    """Enter what was bought together: `name`, `what`, `from_whom`, `bought_on`, `note`."""
    check_days(about, now, bought_on="The day on which it was bought,")
    return _new(book, hand, "lot", about, now)


def new_lid_batch(book: Book, hand: Hand, about: Mapping[str, Any], now: datetime) -> Entered:
    """Enter lids that were made together.

    `about`: `name`, `lot`, `made_on`, `lids`, `port`, `filter`, `cured_on`, `uses`, `note`.
    """
    check_days(about, now, made_on="The day on which they were made,",
               cured_on="The day on which they had cured,")  # fmt: skip
    return _new(book, hand, "lid batch", about, now)


def _new(book: Book, hand: Hand, kind: str, about: Mapping[str, Any], now: datetime) -> Entered:
    hand = with_step(hand)
    made = made_id(hand, kind)
    kept = arrived(book, hand)
    if not kept:
        title = f"{kind} {about.get('name', '')}"[:200].strip()
        kept = enter(book, hand, title, (Entry(made, kind, dict(about)),), now)
    return Entered(made, kept)


def lots(connection: Connection, count: int = 100) -> list[dict[str, Any]]:
    """Lots, last bought first, each with how many records come from it under `came_of_it`."""
    from spawnwright.store.book.lots import listed

    return listed(connection, "lot", "bought_on", count)


def lid_batches(connection: Connection, count: int = 100) -> list[dict[str, Any]]:
    """Batches of lids, last made first, each with how many jars they are on."""
    from spawnwright.store.book.lots import listed

    return listed(connection, "lid batch", "made_on", count)


def lot_choices(connection: Connection, what: str) -> list[Choice]:
    """Lots of one sort, for a form."""
    return [(row["id"], row["name"]) for row in lots(connection) if row["what"] == what]


def lid_choices(connection: Connection) -> list[Choice]:
    """Batches of lids, for a form."""
    return [(row["id"], row["name"]) for row in lid_batches(connection)]
