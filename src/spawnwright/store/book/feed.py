"""Tasks as a calendar is told of them: what waits, and what was called off not long ago."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection, and_, or_, select

from spawnwright.store.book.refold import in_parts
from spawnwright.store.book.tables import ENTRIES, OF_KIND, STEPS, TASKS

_BATCHES = OF_KIND["batch"]


def tasks_told(connection: Connection, since: str) -> list[dict[str, Any]]:
    """All tasks that are open, and all others that end after an instant, undone ones too.

    Each has its `batch_name` and `is_open`: neither it nor its batch is done, ended or undone.
    """
    is_open = and_(
        ~TASKS.c.undone, TASKS.c.done_at.is_(None), TASKS.c.skipped_at.is_(None),
        ~_BATCHES.c.undone, _BATCHES.c.ended_on.is_(None),
    )  # fmt: skip
    query = (
        select(*TASKS.c, _BATCHES.c.name.label("batch_name"), is_open.label("is_open"))
        .join(_BATCHES, _BATCHES.c.id == TASKS.c.batch)
        .where(or_(is_open, TASKS.c.until >= since))
        .order_by(TASKS.c.at, TASKS.c.until, TASKS.c.id)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def revisions(connection: Connection, records: Iterable[str]) -> dict[str, tuple[int, str]]:
    """For each of some records: how many steps bear on it, and when the last was received.

    Steps that undo are counted, and those that undo them; so the number only ever rises.
    """
    about: dict[str, set[str]] = {}
    found: dict[str, tuple[int, str]] = {}

    def count(record: str, received: str) -> None:
        number, last = found.get(record, (0, ""))
        found[record] = (number + 1, max(last, received))

    for part in in_parts(set(records)):
        query = (
            select(ENTRIES.c.record, ENTRIES.c.step, STEPS.c.received)
            .join(STEPS, STEPS.c.id == ENTRIES.c.step)
            .where(ENTRIES.c.record.in_(part))
        )
        for record, step, received in connection.execute(query):
            about.setdefault(step, set()).add(record)
            count(record, received)
    now = set(about)
    while now:
        following: set[str] = set()
        for part in in_parts(now):
            undoing = select(STEPS.c.id, STEPS.c.received, STEPS.c.undoes)
            for step, received, undone in connection.execute(
                undoing.where(STEPS.c.undoes.in_(part))
            ):
                about[step] = about[undone]
                following.add(step)
                for record in about[step]:
                    count(record, received)
        now = following
    return found
