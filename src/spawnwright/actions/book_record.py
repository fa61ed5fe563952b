"""What was said of one record, by whom and when; settling what was said differently."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book_hand import arrived
from spawnwright.actions.book_jars import Hand, enter
from spawnwright.errors import Contradiction, UnknownName
from spawnwright.records.book.steps import Entry, Kept, Step

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book


@dataclass(frozen=True)
class Said:
    """One value of a disputed field: who said it, when, on which device."""

    value: Any
    step: Step | None


@dataclass(frozen=True)
class Dispute:
    """A field that two writers set without having seen each other."""

    record: str
    kind: str
    name: str
    field: str
    said: tuple[Said, ...]
    seen: tuple[str, ...]
    """What an entry that settles it has seen."""


@dataclass(frozen=True)
class RecordStory:
    """A record as it is now, and all that was ever said of it."""

    row: dict[str, Any]
    kind: str
    name: str
    values: dict[str, Any]
    """What it says now, without what is empty."""
    steps: tuple[Step, ...]
    disputes: tuple[Dispute, ...]


def record_story(connection: Connection, record: str, zone: tzinfo | None = None) -> RecordStory:
    """Everything about a record; raises `UnknownName` if there is none of that id."""
    from spawnwright.records.book.form import columns
    from spawnwright.records.book.kinds import KINDS
    from spawnwright.store.book.history import current, history_of
    from spawnwright.store.book.names import name_of

    row = current(connection, [record]).get(record)
    if row is None:
        raise UnknownName("record", record, ())
    kind = row["kind_of_record"]
    known = [name for name, each in columns(KINDS[kind]).items()
             if each.metadata["type"] not in ("series", "document")]  # fmt: skip
    return RecordStory(
        row, kind, name_of(row, zone),
        {name: row[name] for name in known if row[name] is not None},
        tuple(history_of(connection, record)),
        tuple(each for each in open_disputes(connection, zone) if each.record == record),
    )  # fmt: skip


def open_disputes(connection: Connection, zone: tzinfo | None = None) -> list[Dispute]:
    """What is said differently and not settled."""
    from spawnwright.store.book.history import current, disputes, history_of
    from spawnwright.store.book.names import name_of

    found = []
    for kind, record, fields in disputes(connection):
        row = current(connection, [record])[record]
        steps = {step.id: step for step in history_of(connection, record)}
        for name, values in fields.items():
            said = tuple(Said(value, steps.get(step)) for step, value in values)
            seen = tuple(row["seen"].split())
            found.append(Dispute(record, kind, name_of(row, zone), name, said, seen))
    return found


def settle(
    book: Book, hand: Hand, record: str, fields: Mapping[str, Any], seen: tuple[str, ...],
    now: datetime,
) -> Kept:  # fmt: skip
    """Say what holds, having seen what was said differently.

    Raises
    ------
    Contradiction
        If nothing about it is said differently any more.
    """
    from spawnwright.store.book.history import current

    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = current(connection, [record]).get(record)
    if row is None:
        raise UnknownName("record", record, ())
    if not row["disputed"]:
        raise Contradiction("Nothing about it is said differently any more; look again.")
    entry = Entry(record, row["kind_of_record"], dict(fields), seen or tuple(row["seen"].split()))
    return enter(book, hand, "settle what was said differently", (entry,), now)
