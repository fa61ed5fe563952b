"""Cultures: new ones, what is left of them, what a test said, their end."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import (
    Entered,
    arrived,
    change_entry,
    check_days,
    made_id,
    rows_of,
    with_step,
)
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.errors import Unusable
from spawnwright.records.book.steps import Entry, Kept

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book

Seen = tuple[str, ...] | None


def new_culture(
    book: Book,
    hand: Hand,
    about: Mapping[str, Any],
    now: datetime,
    strain: Mapping[str, Any] | None = None,
) -> Entered:
    """Enter a culture; with `strain`, a new strain (`name`, `species`) comes in the same step.

    `about` holds the columns of a culture: `name`, `form`, `strain`, `lot`, `parent` or
    `from_jar`, `recipe`, `made_on`, `volume_ml`, `clarity`, `stored_where`, `note`. One that is
    made from another is of that one's strain unless it names its own.
    """
    hand = with_step(hand)
    culture = made_id(hand, "culture")
    kept = arrived(book, hand)
    if kept:
        return Entered(culture, kept)
    check_days(about, now, made_on="The day on which it was made,")
    fields, entries = dict(about), []
    if strain is not None:
        if fields.get("strain"):
            raise Unusable("A culture is of one strain: a new one, or one that is there.")
        fields["strain"] = made_id(hand, "strain")
        entries.append(Entry(fields["strain"], "strain", dict(strain)))
    elif fields.get("parent") and not fields.get("strain"):
        with book.read() as connection:
            parent = rows_of(connection, [fields["parent"]], "culture")[fields["parent"]]
        if parent["strain"]:
            fields["strain"] = parent["strain"]
    entries.append(Entry(culture, "culture", fields))
    title = f"culture {about.get('name', '')}"
    return Entered(culture, enter(book, hand, title, tuple(entries), now))


def measure_left(
    book: Book, hand: Hand, culture: str, left_ml: float, now: datetime, seen: Seen = None
) -> Kept:
    """Say how much is left of a culture, as it was found at the hand's time [mL]."""
    return _say(book, hand, culture, now, "what is left of",
                {"left_ml": left_ml, "left_at": hand.at}, seen)  # fmt: skip


def say_test(
    book: Book, hand: Hand, culture: str, result: str, now: datetime,
    on: date | None = None, seen: Seen = None,
) -> Kept:  # fmt: skip
    """Say how a test of a culture came out: clean, spoiled or unclear."""
    said = {"test": result, "tested_on": on or hand.at.date()}
    return _say(book, hand, culture, now, f"tested {result}:", said, seen)


def end_culture(
    book: Book, hand: Hand, culture: str, now: datetime, on: date | None = None, seen: Seen = None
) -> Kept:
    """Say that a culture is used up or thrown away."""
    return _say(book, hand, culture, now, "end of", {"ended_on": on or hand.at.date()}, seen)


def _say(
    book: Book, hand: Hand, culture: str, now: datetime, words: str, said: dict[str, Any],
    seen: Seen,
) -> Kept:  # fmt: skip
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = rows_of(connection, [culture], "culture")[culture]
    entry = change_entry(row, said, seen)
    return enter(book, hand, f"{words} {row['name']}", (entry,), now)


@dataclass(frozen=True)
class CultureLine:
    """A culture in a list: its row, what is left of it, what came of it."""

    row: dict[str, Any]
    strain: dict[str, Any] | None
    left_ml: float | None
    """As measured last, less the doses given since; none where nothing was ever measured [mL]."""
    transfers: int
    """Cultures between it and the first one of its line."""
    jars: int
    spoiled: int
    """Of the jars inoculated from it, those that spoiled."""


def cultures(
    connection: Connection, *, ended: bool = False, counted: bool = True
) -> list[CultureLine]:
    """The cultures that are there, by name; with `ended`, the others as well.

    Without `counted`, their jars are not counted: for a list to choose from.
    """
    from spawnwright.store.book.cultures import all_cultures

    rows = all_cultures(connection)
    wanted = [row for row in rows if ended or row["ended_on"] is None]
    return _lines(connection, rows, wanted, counted)


def culture_line(connection: Connection, culture: str) -> CultureLine:
    """One culture as the list shows it; raises `UnknownName` if there is none of that id."""
    from spawnwright.store.book.cultures import all_cultures

    row = rows_of(connection, [culture], "culture")[culture]
    return _lines(connection, all_cultures(connection), [row], True)[0]


def _lines(
    connection: Connection,
    known: list[dict[str, Any]],
    wanted: list[dict[str, Any]],
    counted: bool,
) -> list[CultureLine]:
    from spawnwright.store.book.cultures import jars_by_culture, left_ml, strains_by_id

    parents = {row["id"]: row["parent"] for row in known}
    counts = jars_by_culture(connection, [row["id"] for row in wanted]) if counted else {}
    left, strains = left_ml(connection, wanted), strains_by_id(connection)
    return [
        CultureLine(
            row, strains.get(row["strain"] or ""), left[row["id"]],
            _transfers(row["id"], parents), *counts.get(row["id"], (0, 0)),
        )
        for row in wanted
    ]  # fmt: skip


def _transfers(culture: str, parents: Mapping[str, str | None]) -> int:
    before = [culture]
    while (above := parents.get(before[-1])) and above not in before:
        before.append(above)
    return len(before) - 1
