"""What waits for somebody, and what lies between two days: queries of the first pages."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import Connection, Select, Table, and_, bindparam, func, null, or_, select

from spawnwright.store.book.batches import as_dicts
from spawnwright.store.book.tables import ENTRIES, JARS, LOOKS, OF_KIND, STEPS, TASKS

BATCHES, RUNS = OF_KIND["batch"], OF_KIND["sterilizer run"]
_INOCULATIONS = OF_KIND["inoculation"]
_DOCUMENTS = ("wish", "plan")
_LISTED = [column for column in BATCHES.c if column.name not in _DOCUMENTS]
MOST_JARS = 500
"""Active jars, last filled first, among which looks that are due are counted."""


def is_empty(connection: Connection) -> bool:
    """Whether nothing was entered yet that a first page could show: no batch, jar or culture."""
    return not any(
        connection.execute(select(table.c.id).where(~table.c.undone).limit(1)).first()
        for table in (BATCHES, JARS, OF_KIND["culture"])
    )


def running_runs(connection: Connection, since: str) -> list[dict[str, Any]]:
    """Sterilizer runs begun since an instant whose canner was not opened yet, the last first."""
    query = (
        select(RUNS, BATCHES.c.name.label("batch_name"))
        .outerjoin(BATCHES, BATCHES.c.id == RUNS.c.batch)
        .where(~RUNS.c.undone, RUNS.c.started_at >= since, RUNS.c.opened_at.is_(None))
        .order_by(RUNS.c.started_at.desc())
        .limit(10)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def unseen_jars(
    connection: Connection, before: str, white_before: str, white: float
) -> list[dict[str, Any]]:
    """Jars in incubation without a look since an instant, counted by batch.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    before : str
        Jars inoculated and last looked at before this.
    white_before : str
        The same for jars that a look called white all round.
    white : float
        From which share on a look calls a jar that [%].

    Returns
    -------
    list of dict
        `batch`, `batch_name`, `jars`, and one jar's `code`; among the last `MOST_JARS` active jars.
    """
    given = {"before": before, "white_before": white_before, "white": white}
    return [dict(row) for row in connection.execute(_UNSEEN, given).mappings()]


def _unseen() -> Select[Any]:
    """The question of `unseen_jars`, made once: the first page asks it each time."""
    before = bindparam("before", type_=JARS.c.filled_at.type)
    white_before = bindparam("white_before", type_=JARS.c.filled_at.type)
    white = bindparam("white", type_=LOOKS.c.percent.type)
    active = (
        select(JARS.c.id, JARS.c.code, JARS.c.batch)
        .where(~JARS.c.undone, JARS.c.outcome.is_(None))
        .order_by(JARS.c.filled_at.desc(), JARS.c.code.desc())
        .limit(MOST_JARS)
        .subquery()
    )
    put_in = select(_INOCULATIONS.c.id).where(
        _INOCULATIONS.c.jar == active.c.id, ~_INOCULATIONS.c.undone, _INOCULATIONS.c.at < before
    )
    looks = select(LOOKS.c.id).where(LOOKS.c.jar == active.c.id, ~LOOKS.c.undone)
    is_long_unseen = ~looks.where(LOOKS.c.at >= white_before).exists()
    is_growing_unseen = and_(
        ~looks.where(LOOKS.c.at >= before).exists(), ~looks.where(LOOKS.c.percent >= white).exists()
    )
    return (
        select(
            active.c.batch, BATCHES.c.name.label("batch_name"), func.count().label("jars"),
            func.min(active.c.code).label("code"),
        )
        .outerjoin(BATCHES, BATCHES.c.id == active.c.batch)
        .where(is_long_unseen | is_growing_unseen, put_in.exists())
        .group_by(active.c.batch, BATCHES.c.name)
        .order_by(func.count().desc(), active.c.batch)
    )  # fmt: skip


_UNSEEN = _unseen()


def last_signs_of(connection: Connection, signs: list[str], most: int) -> list[dict[str, Any]]:
    """Jars without an outcome whose last sign is one of some: their rows, with `sign`.

    Among the last `MOST_JARS` active jars, last filled first, at most so many.
    """
    return as_dicts(connection.execute(_LAST_SIGNS, {"signs": signs, "most": most}))


def _last_signs() -> Select[Any]:
    """The question of `last_signs_of`, made once: the first page asks it each time."""
    last = (
        select(LOOKS.c.sign)
        .where(LOOKS.c.jar == JARS.c.id, ~LOOKS.c.undone, LOOKS.c.sign.is_not(None))
        .order_by(LOOKS.c.at.desc())
        .limit(1)
        .scalar_subquery()
    )
    active = (
        select(JARS, last.label("sign"))
        .where(~JARS.c.undone, JARS.c.outcome.is_(None))
        .order_by(JARS.c.filled_at.desc(), JARS.c.code.desc())
        .limit(MOST_JARS)
        .subquery()
    )
    return (
        select(active)
        .where(active.c.sign.in_(bindparam("signs", expanding=True)))
        .order_by(active.c.filled_at.desc(), active.c.code.desc())
        .limit(bindparam("most"))
    )


_LAST_SIGNS = _last_signs()


def last_by_batch(
    connection: Connection, kind: str, batches: list[str], since: str
) -> dict[str, str]:
    """When a jar of each of some batches had its last "look" or "shake", if it was since then."""
    if not batches:
        return {}
    given = {"batches": batches, "since": since}
    return {row[0]: row[1] for row in connection.execute(_LAST[kind], given)}


def _last(table: Table) -> Select[Any]:
    """The question of `last_by_batch`, made once."""
    return (
        select(JARS.c.batch, func.max(table.c.at))
        .join(table, table.c.jar == JARS.c.id)
        .where(
            JARS.c.batch.in_(bindparam("batches", expanding=True)), ~JARS.c.undone,
            ~table.c.undone, table.c.at >= bindparam("since"),
        )
        .group_by(JARS.c.batch)
    )  # fmt: skip


_LAST = {kind: _last(OF_KIND[kind]) for kind in ("look", "shake")}


def runs_by_batch(connection: Connection, batches: list[str]) -> dict[str, int]:
    """How many sterilizer runs were begun for each of some batches."""
    query = (
        select(RUNS.c.batch, func.count())
        .where(RUNS.c.batch.in_(batches), ~RUNS.c.undone, RUNS.c.purpose == "sterilize")
        .group_by(RUNS.c.batch)
    )
    return {row[0]: row[1] for row in connection.execute(query)} if batches else {}


def inoculated_by_batch(connection: Connection, batches: list[str]) -> dict[str, int]:
    """How many jars of each of some batches were inoculated."""
    query = (
        select(JARS.c.batch, func.count(JARS.c.id.distinct()))
        .join(_INOCULATIONS, _INOCULATIONS.c.jar == JARS.c.id)
        .where(JARS.c.batch.in_(batches), ~JARS.c.undone, ~_INOCULATIONS.c.undone)
        .group_by(JARS.c.batch)
    )
    return {row[0]: row[1] for row in connection.execute(query)} if batches else {}


def to_inoculate(connection: Connection, batches: list[str]) -> dict[str, int]:
    """For each task "inoculate" of some batches: the jars planned up to and with it."""
    query = (
        select(TASKS.c.id, TASKS.c.batch, TASKS.c.amounts)
        .where(TASKS.c.batch.in_(batches), ~TASKS.c.undone, TASKS.c.kind == "inoculate")
        .order_by(TASKS.c.batch, TASKS.c.at, TASKS.c.id)
    )
    found: dict[str, int] = {}
    so_far: dict[str, int] = {}
    for task, batch, amounts in connection.execute(query) if batches else ():
        jars = int(json.loads(amounts or "{}").get("jars", 1))
        so_far[batch] = found[task] = so_far.get(batch, 0) + jars
    return found


def jars_here(connection: Connection, batches: list[str], since: str) -> dict[str, dict[str, int]]:
    """How many jars of each of some batches are here, or spoiled; by "" and "spoiled".

    Only jars filled since an instant are counted, so that the index of the shelf leads to them
    and jars that are gone are never touched.
    """
    found: dict[str, dict[str, int]] = {}
    wanted = set(batches)
    for outcome in (None, "spoiled"):
        is_it = JARS.c.outcome.is_(None) if outcome is None else JARS.c.outcome == outcome
        # Concatenated, so that the index of batches, which knows no outcome, is not taken.
        batch = JARS.c.batch + ""
        query = (
            select(batch, func.count())
            .where(~JARS.c.undone, is_it, JARS.c.filled_at >= since)
            .group_by(batch)
        )
        for each, count in connection.execute(query):
            if each in wanted:
                found.setdefault(each, {})[outcome or ""] = count
    return found


def batches_with_jars(connection: Connection, batches: list[str]) -> set[str]:
    """Those of some batches of which any jar was filled."""
    jars = select(JARS.c.id).where(JARS.c.batch == BATCHES.c.id, ~JARS.c.undone).exists()
    query = select(BATCHES.c.id).where(BATCHES.c.id.in_(batches), jars)
    return set(connection.execute(query).scalars())


def first_jars_of(
    connection: Connection, batch: str, most: int
) -> tuple[list[dict[str, Any]], int]:
    """The jars of a batch in the order of filling, not more than some; and how many there are."""
    is_its = (JARS.c.batch == batch, ~JARS.c.undone)
    query = select(JARS).where(*is_its).order_by(JARS.c.filled_at, JARS.c.code).limit(most)
    count = connection.execute(select(func.count()).where(*is_its)).scalar_one()
    return [dict(row) for row in connection.execute(query).mappings()], count


def open_tasks_of(connection: Connection, batches: list[str], most: int) -> list[dict[str, Any]]:
    """The first open tasks of some batches, at most so many of each, in order."""
    return as_dicts(connection.execute(_FIRST_OPEN, {"batches": batches, "most": most}))


def _first_open() -> Select[Any]:
    """The question of `open_tasks_of`, made once."""
    order = (TASKS.c.at, TASKS.c.until, TASKS.c.id)
    numbered = (
        select(TASKS, func.row_number().over(partition_by=TASKS.c.batch, order_by=order).label("n"))
        .where(
            TASKS.c.batch.in_(bindparam("batches", expanding=True)), ~TASKS.c.undone,
            TASKS.c.done_at.is_(None), TASKS.c.skipped_at.is_(None),
        )
        .subquery()
    )  # fmt: skip
    query = select(numbered).where(numbered.c.n <= bindparam("most"))
    return query.order_by(numbered.c.at, numbered.c.until, numbered.c.id)


_FIRST_OPEN = _first_open()


def spoiled_waiting(connection: Connection, since: str, most: int) -> list[dict[str, Any]]:
    """Spoiled jars, filled since an instant, whose jar or lid is not back; last filled first."""
    given = {"since": since, "most": most}
    return as_dicts(connection.execute(_SPOILED, given))


_SPOILED = (
    select(JARS)
    .where(
        ~JARS.c.undone, JARS.c.outcome == "spoiled", JARS.c.filled_at >= bindparam("since"),
        or_(JARS.c.jar_back.is_(None), JARS.c.lid_back.is_(None)),
    )
    .order_by(JARS.c.filled_at.desc(), JARS.c.code.desc())
    .limit(bindparam("most"))
)  # fmt: skip

_UNTOLD = ("detail", "cautions", "amounts")
_DATED = [null().label(each.name) if each.name in _UNTOLD else each for each in TASKS.c]


def tasks_between(connection: Connection, start: str, end: str, most: int) -> list[dict[str, Any]]:
    """Tasks that begin from one instant to before another, done ones too, in order.

    Those of a batch that has ended are left out if they were neither done nor skipped. What a
    task says beyond its title is left out: a month has hundreds of them.
    """
    settled = TASKS.c.done_at.is_not(None) | TASKS.c.skipped_at.is_not(None)
    query = (
        select(*_DATED, BATCHES.c.name.label("batch_name"))
        .join(BATCHES, BATCHES.c.id == TASKS.c.batch)
        .where(
            ~TASKS.c.undone,
            TASKS.c.at >= start,
            TASKS.c.at < end,
            ~BATCHES.c.undone,
            BATCHES.c.ended_on.is_(None) | settled,
        )
        .order_by(TASKS.c.at, TASKS.c.until, TASKS.c.id)
        .limit(most)
    )
    return as_dicts(connection.execute(query))


def batches_ready_between(connection: Connection, first: str, last: str) -> list[dict[str, Any]]:
    """Batches that go on whose days of being ready touch some days, both ends counted."""
    query = (
        select(*_LISTED)
        .where(
            ~BATCHES.c.undone,
            BATCHES.c.ended_on.is_(None),
            BATCHES.c.ready_low <= last,
            BATCHES.c.ready_high >= first,
        )
        .order_by(BATCHES.c.ready_low, BATCHES.c.id)
        .limit(100)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def page_of_batches(
    connection: Connection, *, ended: bool, after: tuple[str, str] | None, count: int
) -> list[dict[str, Any]]:
    """Batches that go on, or that have ended, last started first, without their documents.

    `after` is the `started_at` and id of the last one shown, to page on.
    """
    query = select(*_LISTED).where(~BATCHES.c.undone)
    query = query.where(BATCHES.c.ended_on.is_not(None) if ended else BATCHES.c.ended_on.is_(None))
    if after is not None:
        started_at, batch = after
        query = query.where(
            or_(
                BATCHES.c.started_at < started_at,
                and_(BATCHES.c.started_at == started_at, BATCHES.c.id < batch),
            )
        )
    query = query.order_by(BATCHES.c.started_at.desc(), BATCHES.c.id.desc()).limit(count)
    return [dict(row) for row in connection.execute(query).mappings()]


def made_with(connection: Connection, task: str, kind: str) -> str | None:
    """The record of a kind that was last entered in one step with a task; none if none was."""
    table = OF_KIND[kind]
    other = ENTRIES.alias()
    query = (
        select(other.c.record)
        .select_from(ENTRIES)
        .join(STEPS, STEPS.c.id == ENTRIES.c.step)
        .join(other, other.c.step == ENTRIES.c.step)
        .join(table, table.c.id == other.c.record)
        .where(ENTRIES.c.record == task, ~STEPS.c.undone, ~table.c.undone)
        .order_by(STEPS.c.number.desc())
        .limit(1)
    )
    return connection.execute(query).scalar()


def waiting_sterile(connection: Connection, batch: str) -> tuple[int, str | None]:
    """Jars of a batch that came out of a run and wait for culture, and since when the first."""
    loads = OF_KIND["load"]
    put_in = select(_INOCULATIONS.c.id).where(
        _INOCULATIONS.c.jar == JARS.c.id, ~_INOCULATIONS.c.undone
    )
    query = (
        select(func.count(JARS.c.id.distinct()), func.min(RUNS.c.off_at))
        .join(loads, loads.c.jar == JARS.c.id)
        .join(RUNS, RUNS.c.id == loads.c.run)
        .where(
            JARS.c.batch == batch, ~JARS.c.undone, ~loads.c.undone, ~RUNS.c.undone,
            RUNS.c.off_at.is_not(None), JARS.c.outcome.is_(None), ~put_in.exists(),
            JARS.c.is_control.is_not(True),
        )
    )  # fmt: skip
    jars, since = connection.execute(query).one()
    return jars, since
