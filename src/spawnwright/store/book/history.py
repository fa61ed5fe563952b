"""What was said of a record, by whom and when; and what is disputed."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection, select

from spawnwright.errors import UnknownName
from spawnwright.records.book.steps import Entry, Step
from spawnwright.store.book.refold import in_parts
from spawnwright.store.book.tables import ENTRIES, OF_KIND, RECORDS, STEPS


def current(connection: Connection, records: Iterable[str]) -> dict[str, dict[str, Any]]:
    """The rows of some records, of whatever kinds, each with its `kind`."""
    by_kind: dict[str, list[str]] = {}
    for part in in_parts(set(records)):
        query = select(RECORDS.c.id, RECORDS.c.kind).where(RECORDS.c.id.in_(part))
        for record, kind in connection.execute(query):
            by_kind.setdefault(kind, []).append(record)
    found: dict[str, dict[str, Any]] = {}
    for kind, ids in by_kind.items():
        table = OF_KIND[kind]
        for part in in_parts(ids):
            for row in connection.execute(select(table).where(table.c.id.in_(part))).mappings():
                found[row["id"]] = {**row, "kind_of_record": kind}
    return found


def seen_of(connection: Connection, record: str) -> tuple[str, ...]:
    """The steps that whoever reads a record now has seen: what the next entry about it names."""
    row = current(connection, [record]).get(record)
    if row is None:
        raise UnknownName("record", record, ())
    return tuple(row["seen"].split())


def history_of(connection: Connection, record: str) -> list[Step]:
    """All that was ever said of a record, in the order of receipt, each step with that entry.

    An undone step is followed by the one that undid it.
    """
    query = (
        select(STEPS, ENTRIES.c.seen, ENTRIES.c.fields, RECORDS.c.kind)
        .join(ENTRIES, ENTRIES.c.step == STEPS.c.id)
        .join(RECORDS, RECORDS.c.id == ENTRIES.c.record)
        .where(ENTRIES.c.record == record)
    )
    said = [
        _step(row, (Entry(record, row["kind"], json.loads(row["fields"]), seen),))
        for row in connection.execute(query).mappings()
        for seen in [tuple(row["seen"].split())]
    ]
    undoing: list[Step] = []
    targets = [step.id for step in said]
    while targets:
        part = select(STEPS).where(STEPS.c.undoes.in_(targets))
        later = [_step(row, ()) for row in connection.execute(part).mappings()]
        undoing += later
        targets = [step.id for step in later]
    return sorted([*said, *undoing], key=lambda step: (step.received, step.id))


def _step(row: Any, entries: tuple[Entry, ...]) -> Step:
    return Step(
        row["id"], row["at"], row["who"], row["device"], row["title"], entries,
        row["undoes"], row["note"], row["received"],
    )  # fmt: skip


def latest_steps(connection: Connection, count: int = 50, before: str = "~") -> list[Step]:
    """The last steps received, newest first, without their entries; `before` pages on."""
    query = (
        select(STEPS)
        .where(STEPS.c.received < before)
        .order_by(STEPS.c.received.desc(), STEPS.c.id.desc())
        .limit(count)
    )
    return [_step(row, ()) for row in connection.execute(query).mappings()]


def disputes(connection: Connection) -> list[tuple[str, str, dict[str, list[tuple[str, Any]]]]]:
    """What writers set differently without having seen each other, and nobody has settled.

    Each is kind, record, and for every disputed field the steps with their values.
    """
    return [
        (kind, row[0], {k: [(s, v) for s, v in each] for k, each in json.loads(row[1]).items()})
        for kind, table in OF_KIND.items()
        for row in connection.execute(
            select(table.c.id, table.c.disputed)
            .where(table.c.disputed.is_not(None))
            .order_by(table.c.id)
        )
    ]


def step_kept(connection: Connection, step: str) -> str | None:
    """When a step was received; none if it is not in the book."""
    query = select(STEPS.c.received).where(STEPS.c.id == step)
    received = connection.execute(query).scalar()
    return None if received is None else str(received)


def steps_named(connection: Connection, steps: Iterable[str]) -> dict[str, Step]:
    """Some steps by their ids, without their entries."""
    found: dict[str, Step] = {}
    for part in in_parts(set(steps)):
        query = select(STEPS).where(STEPS.c.id.in_(part))
        found.update((row["id"], _step(row, ())) for row in connection.execute(query).mappings())
    return found


def undone_among(connection: Connection, steps: Iterable[str]) -> set[str]:
    """Those of some steps that are undone."""
    found: set[str] = set()
    for part in in_parts(set(steps)):
        query = select(STEPS.c.id).where(STEPS.c.id.in_(part), STEPS.c.undone)
        found.update(connection.execute(query).scalars())
    return found
