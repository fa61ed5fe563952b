"""What was said before, and by whom; the last steps and what can be undone; disputes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import arrived
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.errors import Contradiction, UnknownName
from spawnwright.records.book.steps import Entry, Kept, Step

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book

CHECKED = 20
"""How many of the last steps are looked at for whether they can be undone."""
MOST_CHECKED = 500
"""And in how many entries at most: a notebook that was imported is one step."""


def history_of(connection: Connection, record: str) -> list[Step]:
    """All that was ever said of a record, in the order of receipt; see `store.book.history`."""
    from spawnwright.store.book import history

    if not history.current(connection, [record]):
        raise UnknownName("record", record, ())
    return history.history_of(connection, record)


def step_named(connection: Connection, step: str) -> dict[str, str] | None:
    """Id and title of a step that stands; none if there is no such step or it is undone."""
    from spawnwright.store.book.history import steps_named, undone_among

    found = steps_named(connection, {step}).get(step)
    if found is None or step in undone_among(connection, [step]):
        return None
    return {"id": found.id, "title": found.title}


@dataclass(frozen=True)
class RecentStep:
    """A step, and why it cannot be undone: "" if it can, none if that was not looked at."""

    step: Step
    is_undone: bool
    why_not: str | None


def recent_steps(
    connection: Connection, count: int = CHECKED, before: str = "~"
) -> list[RecentStep]:
    """The last steps received, newest first; `before` is the `received` of the last one shown."""
    from spawnwright.store.book.history import latest_steps, undone_among
    from spawnwright.store.book.undoing import sizes_of, why_not_undone

    steps = latest_steps(connection, count, before)
    ids = [step.id for step in steps]
    small = _small(sizes_of(connection, ids[:CHECKED]))
    undone, why = undone_among(connection, ids), why_not_undone(connection, small)
    return [
        RecentStep(
            step,
            step.id in undone,
            (why[step.id] or "") if step.id in why else None,
        )
        for step in steps
    ]


def _small(sizes: Mapping[str, int]) -> list[str]:
    """Those of some steps that together have few enough entries, the first ones first."""
    found, left = [], MOST_CHECKED
    for step, size in sizes.items():
        if size <= left:
            found.append(step)
            left -= size
    return found


@dataclass(frozen=True)
class SaidValue:
    """One of the values that a disputed field was given, and who gave it."""

    step: str
    who: str
    device: str
    at: str
    value: Any


@dataclass(frozen=True)
class Dispute:
    """A record of which writers said different things without having seen each other."""

    kind: str
    record: str
    name: str
    fields: dict[str, tuple[SaidValue, ...]]
    """By field; the value that holds for now is the last."""
    seen: tuple[str, ...]


def disputes(connection: Connection, zone: tzinfo | None = None) -> list[Dispute]:
    """All disputes that nobody has settled."""
    from spawnwright.store.book import history
    from spawnwright.store.book.names import names_of_records

    found = history.disputes(connection)
    steps = history.steps_named(
        connection,
        {step for _, _, fields in found for values in fields.values() for step, _ in values},
    )
    rows = history.current(connection, [record for _, record, _ in found])
    names = names_of_records(connection, rows, zone)
    return [
        Dispute(
            kind,
            record,
            names[record],
            {
                name: tuple(
                    SaidValue(step, steps[step].who, steps[step].device, steps[step].at, value)
                    for step, value in values
                )
                for name, values in fields.items()
            },
            tuple(rows[record]["seen"].split()),
        )
        for kind, record, fields in found
    ]


def settle(
    book: Book, hand: Hand, record: str, values: Mapping[str, Any], now: datetime,
    seen: tuple[str, ...] | None = None,
) -> Kept:  # fmt: skip
    """Settle what is disputed of a record: the values that hold from now on, as a new entry."""
    from spawnwright.store.book import history
    from spawnwright.store.book.names import name_of

    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = history.current(connection, [record]).get(record)
    if row is None:
        raise UnknownName("record", record, ())
    if row["disputed"] is None:
        raise Contradiction(f"Nothing is disputed of {name_of(row)}; it may be settled already.")
    entry = Entry(record, row["kind_of_record"], dict(values), seen or tuple(row["seen"].split()))
    return enter(book, hand, f"settle what {name_of(row)} is", (entry,), now)
