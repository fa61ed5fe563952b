"""Batches as their pages show them: a page of the list, and one batch step by step."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.batch_met import met
from spawnwright.actions.book.batches import BY_ITSELF, DueTask, due_task
from spawnwright.actions.book.fill import weighed_for
from spawnwright.actions.book.hand import arrived, change_entry, rows_of
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.actions.book.wish import jars_wished
from spawnwright.errors import Unusable
from spawnwright.model.grain.texture import advice_by_weight
from spawnwright.records.book.form import instant_text
from spawnwright.records.book.steps import Kept

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book

PAGE = 30
NEAR = (3, 15)
"""Open steps of a batch among which its next one is looked for: at first, and if those are met by
what was entered elsewhere; a run has eight."""
JARS_SHOWN = 30
"""Jars on the page of their batch; the shelf has all of them."""


@dataclass(frozen=True)
class BatchRow:
    """A batch in the list: its row, its jars that are here or spoiled, and its next step.

    `has_jars` tells a batch whose jars are all gone from one of which none was filled yet.
    """

    row: dict[str, Any]
    here: int
    spoiled: int
    has_jars: bool
    next: DueTask | None
    is_late: bool


@dataclass(frozen=True)
class BatchPage:
    """A page of the list; `after` leads to the next one, none if there is none."""

    rows: tuple[BatchRow, ...]
    after: str | None


def page_of_batches(
    connection: Connection, now: datetime, *, ended: bool = False, after: str | None = None
) -> BatchPage:
    """A page of the batches that go on, or that have ended, last started first.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    now : datetime
        In the grower's time zone.
    ended : bool
        Which of the two.
    after : str, optional
        Where the page before ended.
    """
    from spawnwright.store.book import due

    started_at, _, last = (after or "").rpartition(" ")
    place = (started_at, last) if started_at else None
    found = due.page_of_batches(connection, ended=ended, after=place, count=PAGE + 1)
    rows = found[:PAGE]
    names = {row["id"]: row["name"] for row in rows}
    jars = due.jars_here(connection, list(names), _day_before(rows, now))
    with_jars = due.batches_with_jars(connection, list(names))
    nexts = {} if ended else _nexts(connection, names, now)
    lines = tuple(
        BatchRow(
            row, told.get("", 0), told.get("spoiled", 0), row["id"] in with_jars, task,
            task is not None and task.until < now,
        )
        for row in rows
        for task, told in [(nexts.get(row["id"]), jars.get(row["id"], {}))]
    )  # fmt: skip
    more = f"{rows[-1]['started_at']} {rows[-1]['id']}" if len(found) > PAGE else None
    return BatchPage(lines, more)


def _day_before(rows: list[dict[str, Any]], now: datetime) -> str:
    """A day before the first of some batches began: none of their jars was filled earlier."""
    began = min((row["started_at"] for row in rows if row["started_at"]), default=None)
    first = now if began is None else datetime.fromisoformat(began)
    return instant_text(first - timedelta(days=1))


def _nexts(connection: Connection, names: Mapping[str, str], now: datetime) -> dict[str, DueTask]:
    """The first step of each batch that is neither done nor met, nor runs by itself."""
    from spawnwright.store.book.due import open_tasks_of

    found: dict[str, DueTask] = {}
    for most in NEAR:
        lacking = [batch for batch in names if batch not in found]
        rows = open_tasks_of(connection, lacking, most)
        tasks = [due_task(row, names[row["batch"]], now) for row in rows]
        done = met(connection, tasks, now)
        for task in tasks:
            if task.id not in done and task.kind not in BY_ITSELF:
                found.setdefault(task.batch, task)
    return found


@dataclass(frozen=True)
class StepView:
    """A step of a batch on its page.

    `state` is one of done, met (by what was entered elsewhere), skipped, current, coming.
    """

    task: DueTask
    state: str
    weighed: dict[str, Any] | None = None
    """The grain batch that was entered here."""
    advice: str = ""
    """What the scale says of it: fill, dry longer, back into hot water."""
    controls: int = 0
    """How many of the jars that are filled here stay without culture."""


@dataclass(frozen=True)
class BatchView:
    """A batch step by step."""

    row: dict[str, Any]
    """The batch, with wish and plan as text."""
    steps: tuple[StepView, ...]
    jars: tuple[dict[str, Any], ...]
    """The first ones filled, each with its last look under `look`."""
    jar_count: int
    runs: tuple[dict[str, Any], ...]
    cultures: tuple[dict[str, Any], ...]

    @property
    def past(self) -> tuple[StepView, ...]:
        """Steps that are over, in order."""
        return tuple(each for each in self.steps if each.state in ("done", "met", "skipped"))

    @property
    def open(self) -> tuple[StepView, ...]:
        """Steps that are current or to come, in order."""
        return tuple(each for each in self.steps if each.state in ("current", "coming"))


def batch_view(connection: Connection, batch: str, now: datetime) -> BatchView:
    """A batch step by step, times in the time zone of `now`."""
    from spawnwright.store.book import batches as asked
    from spawnwright.store.book import due, shelf

    row = rows_of(connection, [batch], "batch")[batch]
    tasks = [due_task(each, row["name"], now) for each in asked.tasks_of(connection, batch)]
    jars, count = due.first_jars_of(connection, batch, JARS_SHOWN)
    looks = shelf.last_looks(connection, [jar["id"] for jar in jars])
    return BatchView(
        row, _steps(connection, row, tasks, now),
        tuple(jar | {"look": looks.get(jar["id"])} for jar in jars), count,
        tuple(asked.runs_of_batch(connection, batch)),
        tuple(asked.cultures_of_batch(connection, batch)),
    )  # fmt: skip


def _steps(
    connection: Connection, row: dict[str, Any], tasks: list[DueTask], now: datetime
) -> tuple[StepView, ...]:
    done = met(connection, tasks, now)
    controls, target = _controls(row["plan"]), jars_wished(row, now)["target"]
    steps, is_current_known = [], False
    for task in tasks:
        if task.done_at or task.skipped_at:
            state = "done" if task.done_at else "skipped"
        elif task.id in done:
            state = "met"
        else:
            is_current = not is_current_known and task.kind not in BY_ITSELF
            is_current_known = is_current_known or is_current
            state = "current" if is_current else "coming"
        view = StepView(task, state)
        if task.kind == "weigh" and state == "done":
            view = _weighed(connection, view, target)
        elif task.kind == "fill" and state in ("current", "coming"):
            view = replace(view, controls=_of_soak(tasks, task, controls))
        steps.append(view)
    return tuple(steps)


def _weighed(connection: Connection, view: StepView, target: float) -> StepView:
    found = weighed_for(connection, view.task.id)
    if found is None or found["moisture_likely"] is None:
        return replace(view, weighed=found)
    advice = advice_by_weight(found["moisture_likely"], target)
    return replace(view, weighed=found, advice=advice)


def _controls(plan: str | None) -> list[int]:
    """Control jars of each run of a plan, in order."""
    runs = json.loads(plan).get("sterilizer_runs", []) if plan else []
    return [int(run["controls"]) for run in runs]


def _of_soak(tasks: list[DueTask], fill: DueTask, controls: list[int]) -> int:
    """Control jars of the runs that follow a filling."""
    runs = {
        task.run for task in tasks
        if task.kind == "load" and task.soak == fill.soak and task.run
    }  # fmt: skip
    return sum(controls[run - 1] for run in runs if run <= len(controls))


def rename_batch(book: Book, hand: Hand, batch: str, name: str, now: datetime,
                 seen: tuple[str, ...] | None = None) -> Kept:  # fmt: skip
    """Give a batch another name."""
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = rows_of(connection, [batch], "batch")[batch]
    if row["name"] == name:
        raise Unusable(f"The batch is called {name!r} already.")
    entry = change_entry(row, {"name": name}, seen)
    return enter(book, hand, f"call the batch {row['name']} {name}"[:200], (entry,), now)


def reopen_batch(book: Book, hand: Hand, batch: str, now: datetime) -> Kept:
    """Take back that a batch has come to its end."""
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = rows_of(connection, [batch], "batch")[batch]
    if row["ended_on"] is None:
        raise Unusable(f"The batch {row['name']!r} goes on already.")
    entry = change_entry(row, {"ended_on": None})
    return enter(book, hand, f"go on with the batch {row['name']}"[:200], (entry,), now)


def is_undone(connection: Connection, batch: str) -> bool:
    """Whether a batch was entered and taken back."""
    from spawnwright.store.book.history import current

    row = current(connection, [batch]).get(batch)
    return row is not None and bool(row["undone"])


def codes_of_batch(connection: Connection, batch: str) -> tuple[dict[str, Any], list[Any]]:
    """A batch, and its jars that were filled last, to write their codes on the lids."""
    from spawnwright.store.book.batches import jars_of_batch

    row = rows_of(connection, [batch], "batch")[batch]
    jars = jars_of_batch(connection, batch)
    last = max((jar["filled_at"] for jar in jars), default="")
    return row, [jar for jar in jars if jar["filled_at"] == last]
