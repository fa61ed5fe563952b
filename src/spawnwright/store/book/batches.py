"""Batches and their tasks, as pages ask for them; documents are left out of lists."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, CursorResult, Select, bindparam, case, func, select

from spawnwright.store.book.tables import JARS, OF_KIND, TASKS

BATCHES = OF_KIND["batch"]
_DOCUMENTS = ("wish", "plan")
_LISTED = [column for column in BATCHES.c if column.name not in _DOCUMENTS]


def as_dicts(result: CursorResult[Any]) -> list[dict[str, Any]]:
    """Rows as dicts: half the time of going through mappings, which many rows are worth."""
    names = tuple(result.keys())
    return [dict(zip(names, row, strict=True)) for row in result]


def listed_batches(connection: Connection, *, ended: bool = False) -> list[dict[str, Any]]:
    """Batches without their documents, last started first; ended ones if asked for."""
    query = select(*_LISTED).where(~BATCHES.c.undone)
    if not ended:
        query = query.where(BATCHES.c.ended_on.is_(None))
    query = query.order_by(BATCHES.c.started_at.desc(), BATCHES.c.id)
    return [dict(row) for row in connection.execute(query).mappings()]


def tasks_by_state(connection: Connection, batches: list[str]) -> dict[str, dict[str, Any]]:
    """For each of some batches: how many tasks are done, skipped, open; when the next is due."""
    is_open = TASKS.c.done_at.is_(None) & TASKS.c.skipped_at.is_(None)
    query = (
        select(
            TASKS.c.batch,
            func.count(TASKS.c.done_at).label("done"),
            func.count(TASKS.c.skipped_at).label("skipped"),
            func.sum(case((is_open, 1), else_=0)).label("open"),
            func.min(case((is_open, TASKS.c.at))).label("next_at"),
        )
        .where(TASKS.c.batch.in_(batches), ~TASKS.c.undone)
        .group_by(TASKS.c.batch)
    )
    return {row["batch"]: dict(row) for row in connection.execute(query).mappings()}


def jars_by_outcome(connection: Connection, batches: list[str]) -> dict[str, dict[str, int]]:
    """For each of some batches: how many jars have which outcome, "" for none yet."""
    query = (
        select(JARS.c.batch, JARS.c.outcome, func.count())
        .where(JARS.c.batch.in_(batches), ~JARS.c.undone)
        .group_by(JARS.c.batch, JARS.c.outcome)
    )
    found: dict[str, dict[str, int]] = {}
    for batch, outcome, count in connection.execute(query):
        found.setdefault(batch, {})[outcome or ""] = count
    return found


def open_tasks(
    connection: Connection, start: str, end: str, most: int | None = None
) -> list[dict[str, Any]]:
    """Tasks neither done nor skipped of batches that go on, in order.

    They begin from one instant to before another; at most so many are given.
    """
    given = {"start": start, "end": end}
    return as_dicts(connection.execute(_OPEN.limit(most), given))


def _open() -> Select[Any]:
    """The question of `open_tasks`, made once: the first page asks it each time."""
    return (
        select(*TASKS.c, BATCHES.c.name.label("batch_name"))
        .join(BATCHES, BATCHES.c.id == TASKS.c.batch)
        .where(
            ~TASKS.c.undone, TASKS.c.done_at.is_(None), TASKS.c.skipped_at.is_(None),
            TASKS.c.at >= bindparam("start"), TASKS.c.at < bindparam("end"),
            ~BATCHES.c.undone, BATCHES.c.ended_on.is_(None),
        )
        .order_by(TASKS.c.at, TASKS.c.until, TASKS.c.id)
    )  # fmt: skip


_OPEN = _open()


def tasks_of(connection: Connection, batch: str) -> list[dict[str, Any]]:
    """All tasks of a batch in the order of time."""
    query = (
        select(TASKS)
        .where(TASKS.c.batch == batch, ~TASKS.c.undone)
        .order_by(TASKS.c.at, TASKS.c.until, TASKS.c.id)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def jars_of_batch(connection: Connection, batch: str) -> list[dict[str, Any]]:
    """All jars of a batch, in the order of filling."""
    query = (
        select(JARS)
        .where(JARS.c.batch == batch, ~JARS.c.undone)
        .order_by(JARS.c.filled_at, JARS.c.code)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def runs_of_batch(connection: Connection, batch: str) -> list[dict[str, Any]]:
    """Sterilizer runs that name a batch, or in which a jar of it stood, in order."""
    runs, loads = OF_KIND["sterilizer run"], OF_KIND["load"]
    loaded = (
        select(loads.c.run)
        .join(JARS, JARS.c.id == loads.c.jar)
        .where(JARS.c.batch == batch, ~loads.c.undone, ~JARS.c.undone)
    )
    query = (
        select(runs)
        .where(~runs.c.undone, (runs.c.batch == batch) | runs.c.id.in_(loaded))
        .order_by(runs.c.started_at, runs.c.id)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def cultures_of_batch(connection: Connection, batch: str) -> list[dict[str, Any]]:
    """The cultures that jars of a batch were inoculated from, each with its jars and doses."""
    cultures, inoculations = OF_KIND["culture"], OF_KIND["inoculation"]
    query = (
        select(
            cultures.c.id, cultures.c.name, cultures.c.form, cultures.c.strain,
            func.count().label("jars"), func.sum(inoculations.c.dose_ml).label("dose_ml"),
        )
        .join(inoculations, inoculations.c.culture == cultures.c.id)
        .join(JARS, JARS.c.id == inoculations.c.jar)
        .where(JARS.c.batch == batch, ~inoculations.c.undone, ~JARS.c.undone)
        .group_by(cultures.c.id, cultures.c.name, cultures.c.form, cultures.c.strain)
        .order_by(cultures.c.name, cultures.c.id)
    )  # fmt: skip
    return [dict(row) for row in connection.execute(query).mappings()]
