"""Whether steps can be undone: not while later ones rest on what they made."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Connection, func, select

from spawnwright.errors import UnknownName
from spawnwright.records.book.form import references
from spawnwright.records.book.kinds import KINDS
from spawnwright.store.book.refold import in_parts
from spawnwright.store.book.tables import ENTRIES, OF_KIND, RECORDS, STEPS

Resting = tuple[str, str]
"""Kind and id of a record that needs one which a step made."""


def why_not_undone(connection: Connection, steps: Iterable[str]) -> dict[str, str | None]:
    """Why each of some steps cannot be undone now; none for one that can."""
    wanted = list(dict.fromkeys(steps))
    told: dict[str, tuple[str, bool]] = {}
    for part in in_parts(wanted):
        query = select(STEPS.c.id, STEPS.c.title, STEPS.c.undone).where(STEPS.c.id.in_(part))
        told.update((row[0], (row[1], bool(row[2]))) for row in connection.execute(query))
    for step in wanted:
        if step not in told:
            raise UnknownName("step", step, ())
    resting = resting_on(connection, [step for step in wanted if not told[step][1]])
    return {step: _sentence(step, *told[step], resting.get(step)) for step in wanted}


def sizes_of(connection: Connection, steps: Iterable[str]) -> dict[str, int]:
    """How many entries each of some steps has, in the order of the steps."""
    wanted = list(dict.fromkeys(steps))
    query = (
        select(ENTRIES.c.step, func.count())
        .where(ENTRIES.c.step.in_(wanted))
        .group_by(ENTRIES.c.step)
    )
    found = {row[0]: row[1] for row in connection.execute(query)}
    return {step: found.get(step, 0) for step in wanted}


def _sentence(step: str, title: str, is_undone: bool, resting: Resting | None) -> str | None:
    if is_undone:
        return f"The step {step} ({title}) is undone already."
    if resting is None:
        return None
    kind, record = resting
    return (
        f"The step {step} ({title}) cannot be undone: later steps rest on it, such as "
        f"what was said of the {kind} {record}. Undo those first."
    )


def resting_on(connection: Connection, steps: Iterable[str]) -> dict[str, Resting]:
    """For each of some steps on which others rest: a record that needs one which the step made.

    It leads to it, or is that record itself, of which something was said since.
    """
    maker: dict[str, str] = {}
    by_kind: dict[str, list[str]] = {}
    for part in in_parts(steps):
        query = (
            select(ENTRIES.c.record, ENTRIES.c.step, RECORDS.c.kind)
            .join(RECORDS, RECORDS.c.id == ENTRIES.c.record)
            .where(ENTRIES.c.step.in_(part), ENTRIES.c.seen == "")
        )
        for record, step, kind in connection.execute(query):
            maker[record] = step
            by_kind.setdefault(kind, []).append(record)
    found = _changed_since(connection, maker)
    for name, kind_of in KINDS.items():
        table = OF_KIND[name]
        for column, of in references(kind_of).items():
            # One that rests on a step is enough, and only records of the kind can be led to.
            led_to = by_kind.get(of, ()) if of else maker
            for part in in_parts(record for record in led_to if maker[record] not in found):
                leads = select(table.c[column], table.c.id).where(
                    table.c[column].in_(part), ~table.c.undone
                )
                for target, record in connection.execute(leads):
                    if maker.get(record) != maker[target]:
                        found.setdefault(maker[target], (name, record))
    return found


def _changed_since(connection: Connection, maker: dict[str, str]) -> dict[str, Resting]:
    found: dict[str, Resting] = {}
    for part in in_parts(maker):
        query = (
            select(RECORDS.c.kind, RECORDS.c.id, STEPS.c.id)
            .join(ENTRIES, ENTRIES.c.record == RECORDS.c.id)
            .join(STEPS, STEPS.c.id == ENTRIES.c.step)
            .where(RECORDS.c.id.in_(part), ~STEPS.c.undone)
        )
        for kind, record, step in connection.execute(query):
            if step != maker[record]:
                found.setdefault(maker[record], (kind, record))
    return found
