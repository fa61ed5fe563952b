"""Write what follows from the history: the rows of the kinds' tables, and the links."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from sqlalchemy import Connection, bindparam, delete, insert, select, update

from spawnwright.records.book.form import columns
from spawnwright.records.book.kinds import KINDS
from spawnwright.records.book.steps import Folded, Said, fold, row_of, undone_steps
from spawnwright.store.book.tables import ENTRIES, LINKS, OF_KIND, RECORDS, STEPS

AT_ONCE = 500


def in_parts(values: Iterable[str], size: int = AT_ONCE) -> Iterator[list[str]]:
    """The values in sorted lists that one statement takes."""
    ordered = sorted(values)
    for start in range(0, len(ordered), size):
        yield ordered[start : start + size]


def refold(connection: Connection, records: Iterable[str], new: frozenset[str] | None = None) -> (
    dict[str, Folded]
):  # fmt: skip
    """Make the rows of some records anew; those in `new` have none yet.

    Returns the records as they now are. Links follow once all rows are there.
    """
    folded: dict[str, Folded] = {}
    kinds: dict[str, str] = {}
    wanted = set(records)
    for part in in_parts(wanted):
        for record, kind, changed, said in _said_of(connection, part):
            folded[record], kinds[record] = fold(said), kind
            folded[record].fields["changed"] = changed
    for kind in dict.fromkeys(kinds.values()):
        of_kind = {record: folded[record] for record, its in kinds.items() if its == kind}
        _write_rows(connection, kind, of_kind, new or frozenset())
    _write_links(connection, folded, kinds, new or frozenset())
    return folded


def _said_of(
    connection: Connection, records: Sequence[str]
) -> Iterator[tuple[str, str, str, list[Said]]]:
    query = (
        select(
            ENTRIES.c.record, RECORDS.c.kind, STEPS.c.received, ENTRIES.c.step, ENTRIES.c.seen,
            ENTRIES.c.fields, STEPS.c.undone,
        )
        .join(STEPS, STEPS.c.id == ENTRIES.c.step)
        .join(RECORDS, RECORDS.c.id == ENTRIES.c.record)
        .where(ENTRIES.c.record.in_(records))
        .order_by(ENTRIES.c.record, STEPS.c.received, STEPS.c.id)
    )  # fmt: skip
    found = connection.execute(query).all()
    for record, rows in groupby(found, key=lambda row: row[0]):
        said = list(rows)
        yield record, said[0][1], said[-1][2], [
            Said(row[3], json.loads(row[5]), tuple(row[4].split()), bool(row[6])) for row in said
        ]  # fmt: skip


def _write_rows(
    connection: Connection, kind: str, folded: dict[str, Folded], new: frozenset[str]
) -> None:
    table = OF_KIND[kind]
    for part in in_parts(record for record in folded if record not in new):
        connection.execute(delete(table).where(table.c.id.in_(part)))
    names = [name for name in columns(KINDS[kind]) if name in table.c]
    rows = [row_of(record, each, names) for record, each in sorted(folded.items())]
    if rows:
        connection.execute(insert(table), rows)


def _write_links(
    connection: Connection, folded: dict[str, Folded], kinds: dict[str, str], new: frozenset[str]
) -> None:
    wanted: list[tuple[str, str, str]] = []
    linking = [record for record in folded if KINDS[kinds[record]].LINKS]
    for record in linking:
        if not folded[record].undone:
            ends = folded[record].fields | {"id": record}
            wanted += [
                (ends[parent], ends[child], record)
                for parent, child in KINDS[kinds[record]].LINKS
                if ends.get(parent) and ends.get(child)
            ]
    ids = {each for link in wanted for each in link} | set(linking)
    numbers = numbers_of(connection, ids)
    old = [numbers[record] for record in linking if record not in new]
    for start in range(0, len(old), AT_ONCE):
        connection.execute(delete(LINKS).where(LINKS.c.via.in_(old[start : start + AT_ONCE])))
    if wanted:
        connection.execute(
            insert(LINKS),
            [
                {"parent": numbers[parent], "child": numbers[child], "via": numbers[via]}
                for parent, child, via in sorted(set(wanted))
            ],
        )


def numbers_of(connection: Connection, ids: Iterable[str]) -> dict[str, int]:
    """The numbers that this file has given to records."""
    found: dict[str, int] = {}
    for part in in_parts(ids):
        query = select(RECORDS.c.id, RECORDS.c.number).where(RECORDS.c.id.in_(part))
        found.update((row[0], row[1]) for row in connection.execute(query))
    return found


def mark_undone(connection: Connection) -> set[str]:
    """Bring `steps.undone` up to date; returns the records whose entries it changes."""
    query = (
        select(STEPS.c.id, STEPS.c.undoes)
        .where(STEPS.c.undoes.is_not(None))
        .order_by(STEPS.c.received, STEPS.c.id)
    )
    now = undone_steps((row[0], row[1]) for row in connection.execute(query))
    marked = select(STEPS.c.id).where(STEPS.c.undone)
    before = set(connection.execute(marked).scalars())
    changed = now ^ before
    if changed:
        connection.execute(
            update(STEPS).where(STEPS.c.id == bindparam("step")).values(undone=bindparam("is")),
            [{"step": step, "is": step in now} for step in sorted(changed)],
        )
    return records_of(connection, changed)


def records_of(connection: Connection, steps: Iterable[str]) -> set[str]:
    """The records of which some steps say something."""
    found: set[str] = set()
    for part in in_parts(steps):
        query = select(ENTRIES.c.record).where(ENTRIES.c.step.in_(part))
        found.update(connection.execute(query).scalars())
    return found
