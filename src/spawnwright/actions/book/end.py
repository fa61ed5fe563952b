"""What becomes of a jar: used, discarded, given away, spoiled; and of the block it went into."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.doubt import refuse_in_doubt
from spawnwright.actions.book.hand import (
    Entered,
    arrived,
    change_entry,
    made_id,
    rows_of,
    with_step,
)
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.errors import Contradiction, Unusable
from spawnwright.records.book.steps import Entry, Kept

if TYPE_CHECKING:
    from collections.abc import Collection

    from spawnwright.store.book.engine import Book


def end_jar(
    book: Book, hand: Hand, jar: str, outcome: str, now: datetime, note: str | None = None,
    seen: tuple[str, ...] | None = None,
) -> Kept:  # fmt: skip
    """Say what became of a jar, at the hand's time: used, discarded, given away or spoiled.

    With `seen`, it corrects an outcome that is there; without, one that is there is refused.
    """
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = rows_of(connection, [jar], "jar")[jar]
    if row["outcome"] is not None and seen is None:
        raise Contradiction(
            f"Jar {row['code']} is {row['outcome']} already; undo that, or correct it."
        )
    fields = {"outcome": outcome, "outcome_at": hand.at, "outcome_note": note}
    entry = change_entry(row, fields, seen)
    return enter(book, hand, f"{row['code']}: {outcome}", (entry,), now)


def move_away(
    book: Book, hand: Hand, jar: str, now: datetime, seen: tuple[str, ...] | None = None
) -> Kept:
    """Say that a jar was carried out of the room of the others, shut."""
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = rows_of(connection, [jar], "jar")[jar]
    entry = change_entry(row, {"moved_away_at": hand.at}, seen)
    return enter(book, hand, f"{row['code']}: moved away, shut", (entry,), now)


def use_jars(
    book: Book,
    hand: Hand,
    jars: Mapping[str, float | None],
    block: str | Mapping[str, Any],
    now: datetime,
    *,
    not_empty: Collection[str] = (),
    in_spite: bool = False,
) -> Entered:
    """Put the spawn of jars into a block or bucket: one step; gives the block.

    Parameters
    ----------
    book, hand, now
        Where to, who, and the time of receipt.
    jars : mapping
        The spawn of each jar by the jar's id, or None where it was not weighed [kg].
    block : str or mapping
        The id of a block that is there, or the columns of a new one: `name`, `container`,
        `substrate`, `substrate_kg`, ….
    not_empty : collection of str
        Those of the jars in which some spawn is left; the others are used up.
    in_spite : bool
        Whether a jar in quarantine is used in spite of it.

    Raises
    ------
    Contradiction
        If a jar has an outcome already, or is in quarantine.
    """
    hand = with_step(hand)
    is_new = not isinstance(block, str)
    target = made_id(hand, "block") if isinstance(block, Mapping) else block
    kept = arrived(book, hand)
    if kept:
        return Entered(target, kept)
    if not jars:
        raise Unusable("Name at least one jar whose spawn is used.")
    with book.read() as connection:
        rows = rows_of(connection, jars, "jar")
        if not is_new:
            rows_of(connection, [target], "block")
        refuse_in_doubt(connection, jars, in_spite)
    _refuse_ended(rows)
    entries = []
    if isinstance(block, Mapping):
        entries.append(Entry(target, "block", {"made_at": hand.at} | dict(block)))
    for jar, spawn_kg in jars.items():
        used = {"jar": jar, "block": target, "at": hand.at, "spawn_kg": spawn_kg}
        said = {name: value for name, value in used.items() if value is not None}
        entries.append(Entry(made_id(hand, "use", jar), "use", said))
        if jar not in not_empty:
            entries.append(change_entry(rows[jar], {"outcome": "used", "outcome_at": hand.at}))
    codes = ", ".join(row["code"] for row in rows.values())
    return Entered(target, enter(book, hand, f"use {codes}", tuple(entries), now))


def _refuse_ended(rows: Mapping[str, Mapping[str, Any]]) -> None:
    for row in rows.values():
        if row["outcome"] is not None:
            raise Contradiction(
                f"Jar {row['code']} is {row['outcome']} already; its spawn cannot be used."
            )


def make_block(book: Book, hand: Hand, about: Mapping[str, Any], now: datetime) -> Entered:
    """Enter a block or bucket whose spawn comes later, or from outside."""
    hand = with_step(hand)
    block = made_id(hand, "block")
    kept = arrived(book, hand)
    if not kept:
        entry = Entry(block, "block", {"made_at": hand.at} | dict(about))
        kept = enter(book, hand, f"make {about.get('name', 'a block')}", (entry,), now)
    return Entered(block, kept)


def add_harvest(
    book: Book, hand: Hand, block: str, mass_kg: float, now: datetime,
    flush: int | None = None, note: str | None = None,
) -> Entered:  # fmt: skip
    """Enter what was picked from a block or bucket, at the hand's time [kg]."""
    hand = with_step(hand)
    harvest = made_id(hand, "harvest", block)
    kept = arrived(book, hand)
    if not kept:
        with book.read() as connection:
            row = rows_of(connection, [block], "block")[block]
        said = {"block": block, "at": hand.at, "mass_kg": mass_kg, "flush": flush, "note": note}
        fields = {name: value for name, value in said.items() if value is not None}
        entry = Entry(harvest, "harvest", fields)
        kept = enter(book, hand, f"harvest from {row['name']}", (entry,), now)
    return Entered(harvest, kept)


def end_block(
    book: Book, hand: Hand, block: str, now: datetime, on: date | None = None,
    seen: tuple[str, ...] | None = None,
) -> Kept:  # fmt: skip
    """Say that a block or bucket gives no more."""
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = rows_of(connection, [block], "block")[block]
    entry = change_entry(row, {"ended_on": on or hand.at.date()}, seen)
    return enter(book, hand, f"end {row['name']}", (entry,), now)
