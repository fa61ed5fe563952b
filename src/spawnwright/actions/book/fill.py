"""Grain weighed and jars filled for a batch: each one step of the book, with its task done."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import (
    arrived,
    change_entry,
    check_above_zero,
    made_id,
    rows_of,
    with_step,
)
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.errors import Contradiction, Unusable
from spawnwright.records.book.steps import Entry, Kept
from spawnwright.records.jar_codes import run_letter

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book

MOST_JARS = 500
TEXTURES = (
    ("pours", "It pours through the fingers"), ("sticks", "It sticks a little to the hand"),
    ("smears", "It smears, or leaves a wet print"),
)  # fmt: skip
"""What filled grain feels like, as the book keeps it and as a person says it."""


def weigh_grain(book: Book, hand: Hand, task: str, about: Mapping[str, Any], now: datetime) -> Kept:
    """Enter what drained grain weighs and feels like: one step, with the task of weighing done.

    Parameters
    ----------
    book, hand, now
        Where to, who, and the time of receipt.
    task : str
        The task "weigh" of a batch.
    about : mapping
        Columns of a grain batch: `grain`, `dry_kg`, `drained_kg`, `texture`, `moisture_low`, ….
    """
    hand = with_step(hand)
    kept = arrived(book, hand)
    if kept:
        return kept
    check_above_zero(about, dry_kg="The dry grain", drained_kg="The drained grain")
    with book.read() as connection:
        row = _open_task(connection, task)
    entries = (
        Entry(made_id(hand, "grain batch"), "grain batch", {"made_at": hand.at} | dict(about)),
        change_entry(row, {"done_at": hand.at}),
    )
    return enter(book, hand, f"weigh the grain: {row['title']}"[:200], entries, now)


def fill_batch(
    book: Book, hand: Hand, task: str, count: int, about: Mapping[str, Any], now: datetime,
    controls: int = 0,
) -> Kept:  # fmt: skip
    """Enter the jars that were filled at a task of a batch, each under the next free code.

    Parameters
    ----------
    book, hand, now
        Where to, who, and the time of receipt.
    task : str
        The task "fill" of a batch.
    count : int
        How many jars, control jars included.
    about : mapping
        Columns that all jars share: `jar_kind`, `fill`, `grain_kg`; and `grain` and `texture`, of
        which a grain batch is made if none was weighed.
    controls : int
        How many of them stay without culture: the last ones.

    Raises
    ------
    Unusable
        If the number of jars cannot be.
    """
    hand = with_step(hand)
    kept = arrived(book, hand)
    if kept:
        return kept
    if not 1 <= count <= MOST_JARS:
        raise Unusable(f"{count} jars cannot be filled at once; it can be 1 to {MOST_JARS}.")
    check_above_zero(about, grain_kg="The grain in each jar")
    if not 0 <= controls < count:
        raise Unusable(f"{controls} control jars of {count} leave none to grow in.")
    with book.read() as connection:
        row = _open_task(connection, task)
        names = names_for(connection, row)
        codes = sorted(free_codes(connection, count))  # as lists of jars show them
        grain_batch = _weighed(connection, row)
    made = dict(about)
    grain, texture = made.pop("grain", None), made.pop("texture", None)
    entries = [change_entry(row, {"done_at": hand.at})]
    if grain_batch is None and grain is not None:
        grain_batch = made_id(hand, "grain batch")
        told = {"made_at": hand.at, "grain": grain, "texture": texture}
        entries.append(Entry(grain_batch, "grain batch", _known(told)))
    shared = _known(
        {"filled_at": hand.at, "batch": row["batch"], "grain_batch": grain_batch} | made
    )
    for place, code in enumerate(codes):
        fields: dict[str, Any] = {"code": code}
        if place < len(names):
            fields["name"] = names[place]
        if place >= count - controls:
            fields["is_control"] = True
        entries.append(Entry(made_id(hand, "jar", code), "jar", shared | fields))
    return enter(book, hand, f"fill {count} jars, {codes[0]} to {codes[-1]}", tuple(entries), now)


def _known(fields: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if value is not None}


def _open_task(connection: Connection, task: str) -> dict[str, Any]:
    row = rows_of(connection, [task], "task")[task]
    if row["done_at"] is not None:
        raise Contradiction(f"{row['title']!r} is done already; open it again first.")
    return row


def free_codes(connection: Connection, count: int) -> list[str]:
    """As many codes as are asked for that no jar has yet, the next ones in order."""
    from sqlalchemy import func, select

    from spawnwright.store.book.notebook import free_code
    from spawnwright.store.book.tables import JARS

    number = connection.execute(select(func.count()).select_from(JARS)).scalar_one()
    codes = []
    for _ in range(count):
        code, number = free_code(connection, number)
        codes.append(code)
    return codes


def names_for(connection: Connection, task: Mapping[str, Any]) -> list[str]:
    """The names that the plan gives to the jars of a task "fill": A1, A2, … by run."""
    from spawnwright.store.book.batches import tasks_of

    names: list[str] = []
    for other in tasks_of(connection, task["batch"]):
        if other["kind"] == "load" and other["soak"] == task["soak"] and other["run"]:
            jars = int(json.loads(other["amounts"] or "{}").get("jars", 0))
            names += [f"{run_letter(other['run'])}{number}" for number in range(1, jars + 1)]
    return names


def _weighed(connection: Connection, task: Mapping[str, Any]) -> str | None:
    """The grain batch that was weighed for a task "fill"."""
    from spawnwright.store.book.batches import tasks_of
    from spawnwright.store.book.due import made_with

    for other in tasks_of(connection, task["batch"]):
        if other["kind"] == "weigh" and other["soak"] == task["soak"]:
            return made_with(connection, other["id"], "grain batch")
    return None


def weighed_for(connection: Connection, task: str) -> dict[str, Any] | None:
    """The grain batch that was entered at a task "weigh"; none if none was, or it was undone."""
    from spawnwright.store.book.due import made_with

    found = made_with(connection, task, "grain batch")
    return None if found is None else rows_of(connection, [found], "grain batch")[found]
