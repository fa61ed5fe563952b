"""A plan becomes a batch: its steps are tasks that are due, done, skipped, and planned anew."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import (
    arrived,
    change_entry,
    made_id,
    rows_of,
    with_step,
)
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.errors import Contradiction
from spawnwright.records.book.form import instant_text
from spawnwright.records.book.steps import Entry, Kept

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.records.plan import Plan, Step
    from spawnwright.store.book.engine import Book

BY_ITSELF = ("cool_down", "shelf")
"""Kinds of task that end by themselves: nobody is late with them."""
DROPPED = "Not in the new plan."
"""The note on a task that planning anew has skipped."""


def plan_text(plan: Plan) -> str:
    """A plan as the JSON text that a batch keeps; instants are ISO 8601 with offset."""
    return json.dumps(asdict(plan), default=lambda value: value.isoformat(), ensure_ascii=False)


def start_batch(
    book: Book,
    hand: Hand,
    name: str,
    wish_text: str,
    plan: Plan,
    now: datetime,
    about: Mapping[str, Any] | None = None,
) -> str:
    """Start a plan: one step that makes a batch and a task for each step; gives the batch's id.

    Parameters
    ----------
    book, hand, now
        Where to, who, and the time of receipt.
    name : str
        What the batch is called.
    wish_text : str
        The TOML of the wish; the species and the shelf's temperature are read from it.
    plan : Plan
        What was planned from it; one that cannot be met is refused.
    about : mapping, optional
        Further columns of the batch: `strain`, `note`, ….
    """
    hand = with_step(hand)
    batch = made_id(hand, "batch")
    if arrived(book, hand):
        return batch
    _check_feasible(plan)
    fields = {"name": name, "started_at": hand.at, "planned_at": hand.at}
    fields |= _about_wish(wish_text, hand.at) | _about_plan(plan) | dict(about or {})
    entries = [Entry(batch, "batch", fields)]
    entries += [
        Entry(made_id(hand, "task", step.key), "task", {"batch": batch} | task_fields(step))
        for step in plan.steps
    ]
    enter(book, hand, f"start the batch {name}", tuple(entries), now)
    return batch


def replan_batch(
    book: Book, hand: Hand, batch: str, wish_text: str, plan: Plan, now: datetime
) -> Kept:
    """Put a new plan in the place of a batch's plan: one step.

    Tasks with the same key move, new ones come, those that the new plan does not have are
    skipped; what is done stays as it is, and so does what the grower skipped.
    """
    from spawnwright.store.book.batches import tasks_of

    hand = with_step(hand)
    kept = arrived(book, hand)
    if kept:
        return kept
    _check_feasible(plan)
    with book.read() as connection:
        row = rows_of(connection, [batch], "batch")[batch]
        there = {task["key"]: task for task in tasks_of(connection, batch)}
    fields = {"planned_at": hand.at} | _about_wish(wish_text, hand.at) | _about_plan(plan)
    entries = [change_entry(row, fields)]
    for step in plan.steps:
        task = there.get(step.key)
        if task is None:
            made = {"batch": batch} | task_fields(step)
            entries.append(Entry(made_id(hand, "task", step.key), "task", made))
        elif moved := _moved(task, step):
            entries.append(_entry(task, moved))
    planned = {step.key for step in plan.steps}
    entries += [
        _entry(task, {"skipped_at": hand.at, "note": DROPPED})
        for key, task in there.items()
        if key not in planned and task["done_at"] is None and task["skipped_at"] is None
    ]
    return enter(book, hand, f"plan the batch {row['name']} anew", tuple(entries), now)


def _check_feasible(plan: Plan) -> None:
    if not plan.feasible:
        raise Contradiction(
            "This plan cannot be met, so no batch starts from it; change the wish, and plan again."
        )


def _about_wish(wish_text: str, at: datetime) -> dict[str, Any]:
    from pathlib import Path

    from spawnwright.store.catalog import own_folder
    from spawnwright.store.wish_file import parse_wish

    wish = parse_wish(wish_text, "the wish", at, Path(own_folder()))
    return {
        "wish": wish_text, "species": wish.goal.species.key, "shelf_c": wish.place.shelf_c,
    }  # fmt: skip


def _about_plan(plan: Plan) -> dict[str, Any]:
    ready = plan.ready
    days = {} if ready is None else {
        f"ready_{name}": getattr(ready, name).date() for name in ("low", "likely", "high")
    }  # fmt: skip
    return {"plan": plan_text(plan), "wanted_jars": plan.jars_wanted} | days


def task_fields(step: Step) -> dict[str, Any]:
    """The columns of the task that a step of a plan becomes."""
    return {
        "key": step.key, "kind": step.kind, "at": step.at, "until": step.until,
        "title": step.title, "detail": step.detail or None,
        "cautions": "\n".join(step.cautions) or None,
        "amounts": json.dumps(step.amounts, sort_keys=True) if step.amounts else None,
        "is_attended": step.is_attended, "run": step.run, "soak": step.soak,
    }  # fmt: skip


def _moved(task: dict[str, Any], step: Step) -> dict[str, Any]:
    """What a new plan changes in a task; nothing in one that is done or skipped by hand."""
    if task["done_at"] is not None or (task["skipped_at"] and task["note"] != DROPPED):
        return {}
    wanted = task_fields(step)
    wanted |= {name: instant_text(wanted[name]) for name in ("at", "until")}
    if task["skipped_at"]:
        wanted |= {"skipped_at": None, "note": None}
    return {name: value for name, value in wanted.items() if task[name] != value}


def _entry(task: dict[str, Any], fields: dict[str, Any]) -> Entry:
    return change_entry(task | {"kind_of_record": "task"}, fields)


@dataclass(frozen=True)
class DueTask:
    """A task as a page shows it; instants in the time zone of the question."""

    id: str
    batch: str
    batch_name: str
    key: str
    kind: str
    at: datetime
    until: datetime
    title: str
    detail: str
    cautions: tuple[str, ...]
    amounts: dict[str, float]
    is_attended: bool
    run: int | None
    soak: int | None
    done_at: datetime | None
    skipped_at: datetime | None
    note: str | None
    seen: tuple[str, ...]


@dataclass(frozen=True)
class Due:
    """What waits: what should have ended, what falls on today, what comes in the next days."""

    overdue: tuple[DueTask, ...]
    today: tuple[DueTask, ...]
    coming: tuple[DueTask, ...]


def tasks_due(
    connection: Connection, now: datetime, days: int = 7, most_coming: int | None = None
) -> Due:
    """The open tasks of all batches that go on, up to some days from now.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    now : datetime
        In the time zone in which a day is counted.
    days : int
        How far to look beyond today.
    most_coming : int, optional
        How many of the days beyond today are wanted; all without it.
    """
    from spawnwright.store.book.batches import open_tasks

    midnight = datetime.combine(now.date() + timedelta(days=1), time(), now.tzinfo)
    ends = instant_text(midnight), instant_text(midnight + timedelta(days=days))
    pressing, coming = (
        [due_task(row, row["batch_name"], now) for row in rows]
        for rows in (open_tasks(connection, "", ends[0]),
                     open_tasks(connection, *ends, most_coming))
    )  # fmt: skip
    return Due(
        tuple(each for each in pressing if each.until < now and each.kind not in BY_ITSELF),
        tuple(each for each in pressing if each.until >= now),
        tuple(coming),
    )


def due_task(row: Mapping[str, Any], batch_name: str, now: datetime) -> DueTask:
    """A task's row as a page shows it."""

    def local(name: str) -> datetime | None:
        told = row[name]
        return None if told is None else datetime.fromisoformat(told).astimezone(now.tzinfo)

    at, until = local("at"), local("until")
    assert at is not None
    assert until is not None
    return DueTask(
        row["id"], row["batch"], batch_name, row["key"], row["kind"] or "", at, until,
        row["title"], row["detail"] or "", tuple((row["cautions"] or "").splitlines()),
        json.loads(row["amounts"]) if row["amounts"] else {}, bool(row["is_attended"]),
        row["run"], row["soak"],
        local("done_at"), local("skipped_at"), row["note"], tuple(row["seen"].split()),
    )  # fmt: skip


def finish_task(
    book: Book, hand: Hand, task: str, now: datetime, note: str | None = None,
    seen: tuple[str, ...] | None = None,
) -> Kept:  # fmt: skip
    """Say that a task is done, at the hand's time."""
    return _settle(
        book, hand, task, now, "done", {"done_at": hand.at, "skipped_at": None}, note, seen
    )


def skip_task(
    book: Book, hand: Hand, task: str, now: datetime, note: str | None = None,
    seen: tuple[str, ...] | None = None,
) -> Kept:  # fmt: skip
    """Say that a task is not going to be done."""
    return _settle(
        book, hand, task, now, "skip", {"skipped_at": hand.at, "done_at": None}, note, seen
    )


def reopen_task(
    book: Book, hand: Hand, task: str, now: datetime, seen: tuple[str, ...] | None = None
) -> Kept:
    """Take back that a task was done or skipped."""
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = rows_of(connection, [task], "task")[task]
    if row["done_at"] is None and row["skipped_at"] is None:
        raise Contradiction(f"The task {row['title']!r} is open already.")
    entry = change_entry(row, {"done_at": None, "skipped_at": None}, seen)
    return enter(book, hand, f"open again: {row['title']}", (entry,), now)


def _settle(
    book: Book, hand: Hand, task: str, now: datetime, word: str, said: dict[str, Any],
    note: str | None, seen: tuple[str, ...] | None,
) -> Kept:  # fmt: skip
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = rows_of(connection, [task], "task")[task]
    if seen is None and (row["done_at"] or row["skipped_at"]):
        state = "done" if row["done_at"] else "skipped"
        raise Contradiction(f"The task {row['title']!r} is {state} already; open it again first.")
    fields = said if note is None else said | {"note": note}
    entry = change_entry(row, fields, seen)
    return enter(book, hand, f"{word}: {row['title']}", (entry,), now)


def end_batch(book: Book, hand: Hand, batch: str, now: datetime, note: str | None = None) -> Kept:
    """Say that a batch has come to its end: its open tasks wait no longer, nothing is lost."""
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = rows_of(connection, [batch], "batch")[batch]
    said = {"ended_on": hand.at.date()} | ({} if note is None else {"note": note})
    entry = change_entry(row, said)
    return enter(book, hand, f"end the batch {row['name']}", (entry,), now)


@dataclass(frozen=True)
class BatchLine:
    """A batch in a list: its row without documents, how its tasks and jars stand."""

    row: dict[str, Any]
    tasks_open: int
    tasks_done: int
    next_at: str | None
    jars: dict[str, int]
    """How many have which outcome; "" for none yet."""


def batches(connection: Connection, *, ended: bool = False) -> list[BatchLine]:
    """The batches that go on, last started first; with `ended`, the others as well."""
    from spawnwright.store.book.batches import jars_by_outcome, listed_batches, tasks_by_state

    rows = listed_batches(connection, ended=ended)
    ids = [row["id"] for row in rows]
    tasks, jars = tasks_by_state(connection, ids), jars_by_outcome(connection, ids)
    return [
        BatchLine(
            row, told.get("open", 0), told.get("done", 0), told.get("next_at"),
            jars.get(row["id"], {}),
        )
        for row in rows
        for told in [tasks.get(row["id"], {})]
    ]  # fmt: skip


@dataclass(frozen=True)
class BatchStory:
    """Everything about one batch; `row` holds wish and plan as text."""

    row: dict[str, Any]
    tasks: tuple[DueTask, ...]
    jars: tuple[dict[str, Any], ...]
    """In the order of filling, each with its last look under `look`."""
    runs: tuple[dict[str, Any], ...]
    cultures: tuple[dict[str, Any], ...]


def batch_story(connection: Connection, batch: str, now: datetime) -> BatchStory:
    """Everything about one batch, times of tasks in the time zone of `now`."""
    from spawnwright.store.book import batches as asked
    from spawnwright.store.book.shelf import last_looks

    row = rows_of(connection, [batch], "batch")[batch]
    jars = asked.jars_of_batch(connection, batch)
    looks = last_looks(connection, [jar["id"] for jar in jars])
    return BatchStory(
        row,
        tuple(due_task(each, row["name"], now) for each in asked.tasks_of(connection, batch)),
        tuple(jar | {"look": looks.get(jar["id"])} for jar in jars),
        tuple(asked.runs_of_batch(connection, batch)),
        tuple(asked.cultures_of_batch(connection, batch)),
    )
