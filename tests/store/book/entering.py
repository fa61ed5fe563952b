"""Short ways for tests to enter steps."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime, timedelta

from spawnwright.records.book.codes import code_of
from spawnwright.records.book.steps import Entry, Kept, Step
from spawnwright.store.book.history import seen_of
from spawnwright.store.book.journal import keep

START = datetime(2026, 1, 10, 18, 0, tzinfo=UTC)
_numbers = itertools.count(1)


def fresh(what: str) -> str:
    """An id that no other call gives."""
    return f"{what.replace(' ', '-')}-{next(_numbers):06d}"


def at(minutes: float = 0) -> str:
    """An instant so many minutes after the start of these tests' time."""
    return (START + timedelta(minutes=minutes)).isoformat()


def step(*entries: Entry, device: str = "laptop", title: str = "a step", **more) -> Step:
    """A step with an id of its own."""
    head = {"id": fresh("step"), "at": at(), "who": "Ada"} | more
    return Step(device=device, title=title, entries=entries, **head)


def enter(book, kind: str, **fields) -> str:
    """Enter one new record; gives its id."""
    record = fresh(kind)
    keep(book, step(Entry(record, kind, fields)), START)
    return record


def change(book, kind: str, record: str, device: str = "laptop", seen=None, **fields) -> Kept:
    """Say something of a record that is there."""
    if seen is None:
        with book.read() as connection:
            seen = seen_of(connection, record)
    return keep(book, step(Entry(record, kind, fields, tuple(seen)), device=device), START)


def jar(book, **more) -> str:
    """Enter a jar with a code of its own."""
    fields = {"code": code_of(next(_numbers)), "jar_kind": "quart", "filled_at": at()} | more
    return enter(book, "jar", **fields)
