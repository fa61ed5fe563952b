"""What a page asks of sterilizer runs: the list, one run's jars, events and traces."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection, func, select

from spawnwright.store.book.batches import as_dicts
from spawnwright.store.book.history import current
from spawnwright.store.book.refold import in_parts
from spawnwright.store.book.tables import ENTRIES, JARS, OF_KIND, STEPS

_RUNS, _LOADS = OF_KIND["sterilizer run"], OF_KIND["load"]
_EVENTS, _TRACES = OF_KIND["event"], OF_KIND["trace"]
_BATCHES, _TASKS = OF_KIND["batch"], OF_KIND["task"]
_GIVEN = OF_KIND["inoculation"]


def runs(
    connection: Connection, count: int = 50, before: str | None = None, only_open: bool = False
) -> list[dict[str, Any]]:
    """Runs, last begun first, each with `jars` and `batch_name`; `before` is a `started_at`."""
    jars = (
        select(func.count())
        .select_from(_LOADS)
        .where(_LOADS.c.run == _RUNS.c.id, ~_LOADS.c.undone)
        .scalar_subquery()
    )
    query = (
        select(_RUNS, jars.label("jars"), _BATCHES.c.name.label("batch_name"))
        .outerjoin(_BATCHES, _BATCHES.c.id == _RUNS.c.batch)
        .where(~_RUNS.c.undone)
        .order_by(_RUNS.c.started_at.desc(), _RUNS.c.id)
        .limit(count)
    )
    if before:
        query = query.where(_RUNS.c.started_at < before)
    if only_open:
        query = query.where(_RUNS.c.opened_at.is_(None))
    return [dict(row) for row in connection.execute(query).mappings()]


def jars_of_run(connection: Connection, run: str) -> list[dict[str, Any]]:
    """The jars of a run with their `position`, in the order of their codes."""
    jar = func.coalesce(_LOADS.c.jar, _LOADS.c.spoiled_jar)
    query = (
        select(JARS, _LOADS.c.position, _LOADS.c.spoiled_jar)
        .join(JARS, JARS.c.id == jar)
        .where(_LOADS.c.run == run, ~_LOADS.c.undone, ~JARS.c.undone)
        .order_by(JARS.c.code)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def events_of_run(connection: Connection, run: str) -> list[dict[str, Any]]:
    """What happened in a run, in the order of time; what came at one instant as it was entered."""
    query = (
        select(_EVENTS)
        .where(_EVENTS.c.run == run, ~_EVENTS.c.undone)
        .order_by(_EVENTS.c.at, _EVENTS.c.changed, _EVENTS.c.id)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def traces_of_run(connection: Connection, run: str) -> list[dict[str, Any]]:
    """What probes wrote in a run, with `time_s` [s] and `temperature_c` [°C] of the last entry."""
    query = select(_TRACES).where(_TRACES.c.run == run, ~_TRACES.c.undone).order_by(_TRACES.c.probe)
    found = []
    for row in connection.execute(query).mappings():
        said = (
            select(ENTRIES.c.fields)
            .join(STEPS, STEPS.c.id == ENTRIES.c.step)
            .where(ENTRIES.c.record == row["id"], ~STEPS.c.undone)
            .order_by(STEPS.c.number)
        )
        series: dict[str, Any] = {}
        for fields in connection.execute(said).scalars():
            series |= json.loads(fields)
        found.append(dict(row) | {name: series[name] for name in ("time_s", "temperature_c")})
    return found


def jars_not_loaded(connection: Connection, batch: str | None = None) -> list[dict[str, Any]]:
    """Jars without outcome or culture that were in no run yet, of a batch or of all.

    Last filled first. A jar that was taken in as it stood was in no run of the book, but grows.
    """
    loaded = select(_LOADS.c.id).where(_LOADS.c.jar == JARS.c.id, ~_LOADS.c.undone).exists()
    grows = select(_GIVEN.c.id).where(_GIVEN.c.jar == JARS.c.id, ~_GIVEN.c.undone).exists()
    query = (
        select(JARS)
        .where(~JARS.c.undone, JARS.c.outcome.is_(None), ~loaded, ~grows)
        .order_by(JARS.c.filled_at.desc(), JARS.c.code)
        .limit(500)
    )
    if batch is not None:
        query = query.where(JARS.c.batch == batch)
    return as_dicts(connection.execute(query))


def jars_with_culture(connection: Connection, jars: Iterable[str]) -> set[str]:
    """Those of some jars that were inoculated."""
    found: set[str] = set()
    for part in in_parts(set(jars)):
        query = select(_GIVEN.c.jar).where(_GIVEN.c.jar.in_(part), ~_GIVEN.c.undone)
        found.update(connection.execute(query).scalars())
    return found


def spoiled_jars(connection: Connection) -> list[dict[str, Any]]:
    """Spoiled jars that were in no run of their own yet."""
    done = select(_LOADS.c.id).where(_LOADS.c.spoiled_jar == JARS.c.id, ~_LOADS.c.undone).exists()
    query = (
        select(JARS)
        .where(~JARS.c.undone, JARS.c.outcome == "spoiled", JARS.c.jar_back.is_(None), ~done)
        .order_by(JARS.c.filled_at.desc(), JARS.c.code)
        .limit(500)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def runs_of_batch(connection: Connection, batch: str) -> list[dict[str, Any]]:
    """The runs of a batch in the order in which they began."""
    query = select(_RUNS).where(_RUNS.c.batch == batch, ~_RUNS.c.undone)
    rows = connection.execute(query.order_by(_RUNS.c.started_at)).mappings()
    return [dict(row) for row in rows]


def tasks_of_hold(connection: Connection, batch: str) -> list[dict[str, Any]]:
    """The holds that a batch's plan has, in order."""
    query = (
        select(_TASKS)
        .where(_TASKS.c.batch == batch, _TASKS.c.kind == "hold", ~_TASKS.c.undone)
        .order_by(_TASKS.c.at)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def grain_batches_of(connection: Connection, jars: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The grain batches that some jars were filled from."""
    return list(current(connection, {jar["grain_batch"] for jar in jars} - {None}).values())
