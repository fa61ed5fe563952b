"""A month of all batches: each day's steps, and the days on which batches are ready."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.batch_deeds import is_at_the_canner
from spawnwright.actions.book.batch_met import met
from spawnwright.actions.book.batches import DueTask, due_task
from spawnwright.errors import Unusable
from spawnwright.records.book.form import instant_text

if TYPE_CHECKING:
    from sqlalchemy import Connection

MOST = 400


@dataclass(frozen=True)
class Dated:
    """A step on its day; `state` is done, skipped, late or open."""

    task: DueTask
    state: str


@dataclass(frozen=True)
class Day:
    """A day of the month with its steps, and the batches that are likely ready on it."""

    on: date
    steps: tuple[Dated, ...]
    ready: tuple[dict[str, Any], ...]


@dataclass(frozen=True)
class Month:
    """A month as the calendar shows it.

    `ready` are the batches whose days of being ready touch the month; `is_cut` if there were more
    steps than are shown.
    """

    first: date
    last: date
    days: tuple[Day, ...]
    ready: tuple[dict[str, Any], ...]
    is_cut: bool

    @property
    def before(self) -> str:
        """The month before, as an address names it."""
        return f"{self.first - timedelta(days=1):%Y-%m}"

    @property
    def after(self) -> str:
        """The month after, as an address names it."""
        return f"{self.last + timedelta(days=1):%Y-%m}"


def month_named(named: str | None, now: datetime) -> date:
    """The first day of a month written as "2026-12"; without one, of this month."""
    if not named:
        return now.date().replace(day=1)
    try:
        found = date.fromisoformat(f"{named}-01")
    except ValueError:
        raise Unusable(f"{named!r} is no month; write it like 2026-12.") from None
    if not 1970 < found.year < 2200:
        raise Unusable(f"{named} is no month to plan for.")
    return found


def month(connection: Connection, first: date, now: datetime) -> Month:
    """The month that begins on a day.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    first : date
        Its first day.
    now : datetime
        In the time zone in which days are counted.
    """
    from spawnwright.store.book import due

    last = first.replace(day=monthrange(first.year, first.month)[1])
    start = instant_text(datetime.combine(first, time(), now.tzinfo))
    end = instant_text(datetime.combine(last + timedelta(days=1), time(), now.tzinfo))
    rows = due.tasks_between(connection, start, end, MOST + 1)
    tasks = [due_task(row, row["batch_name"], now) for row in rows[:MOST]]
    done = met(connection, [task for task in tasks if task.at < now], now)
    ready = due.batches_ready_between(connection, first.isoformat(), last.isoformat())
    by_day: dict[date, list[Dated]] = {}
    for each in _once([Dated(task, _state(task, done, now)) for task in tasks]):
        by_day.setdefault(each.task.at.date(), []).append(each)
    days = [first + timedelta(days=number) for number in range(last.day)]
    return Month(first, last, tuple(
        Day(on, tuple(by_day.get(on, ())),
            tuple(batch for batch in ready if batch["ready_likely"] == on.isoformat()))
        for on in days
    ), tuple(ready), len(rows) > MOST)  # fmt: skip


def _state(task: DueTask, done: set[str], now: datetime) -> str:
    if task.done_at or task.id in done:
        return "done"
    if task.skipped_at:
        return "skipped"
    return "late" if task.until < now else "open"


def _once(steps: list[Dated]) -> list[Dated]:
    """Of the steps of one run at the canner only the first: the others follow at once."""
    seen: set[tuple[str, int | None]] = set()
    found = []
    for each in steps:
        run = (each.task.batch, each.task.run)
        if is_at_the_canner(each.task.kind):
            if run in seen:
                continue
            seen.add(run)
        found.append(each)
    return found
