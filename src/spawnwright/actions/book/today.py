"""Today: what is late, what falls on this day, what comes, and what else waits for somebody."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.batch_deeds import is_at_the_canner
from spawnwright.actions.book.batch_met import met
from spawnwright.actions.book.batches import BY_ITSELF, Due, DueTask, due_task, tasks_due
from spawnwright.actions.book.jars import NextStep, next_by_runs
from spawnwright.records.book.form import instant_text
from spawnwright.records.book.signs import HARM, SIGN_NAMED, how_worrying
from spawnwright.sources import COMMON, JUDGMENT, Constant

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book

LOOK_WITHIN_D = Constant(3.0, "d", source=COMMON, where="a growing jar: every two or three days")
WHITE_LOOK_WITHIN_D = Constant(14.0, "d", source=JUDGMENT, where="a jar that is white all round")
WHITE = Constant(99.0, "%", source=JUDGMENT, where="what a look calls white all round")
RUN_IS_OLD_D = 2
"""A run that was not closed for so long was forgotten, and does not go on."""
LEFT_LYING_D = Constant(
    30.0, "d", source=JUDGMENT, where="nobody does a step of a batch that is a month late"
)
"""A batch of which nothing waits that is less late goes on by a new plan, or is over."""
BACKUP_IS_OLD_D = 2.0
CLOCK_IS_WRONG_H = 1
SPOILED_SHOWN = 30
_HARMFUL = [name for name, sign in SIGN_NAMED.items() if sign.how == HARM]
SPOILED_WITHIN_D = 400
COMING_DAYS = 7
BATCHES_AHEAD, MOST_OPEN_AHEAD = 10, 6
"""Batches that a quiet day looks at for their next step, and open steps of each."""
MOST_COMING = 60
"""Steps of the next days that are looked through; what runs by itself is not shown of them."""


@dataclass(frozen=True)
class LooksDue:
    """Jars that were not looked at for the usual days: of one batch, or of none."""

    batch: str | None
    batch_name: str
    jars: int
    code: str
    """Of one of them."""


@dataclass(frozen=True)
class LeftLying:
    """A batch whose open steps are all long late: when the last one was to end, and how many."""

    batch: str
    batch_name: str
    steps: int
    until: datetime


@dataclass(frozen=True)
class SpoiledDue:
    """Spoiled jars that need the same next step."""

    step: NextStep
    codes: tuple[str, ...]


@dataclass(frozen=True)
class SuspectDue:
    """A jar in which something was seen that must stay shut, and that nobody called spoiled."""

    code: str
    sign: str
    batch_name: str


@dataclass(frozen=True)
class Today:
    """All that a day begins with; `backup_age_d` only if the last good copy is old [d]."""

    due: Due
    """Without the steps of batches that were left lying."""
    left: tuple[LeftLying, ...]
    runs: tuple[dict[str, Any], ...]
    looks: tuple[LooksDue, ...]
    suspects: tuple[SuspectDue, ...]
    spoiled: tuple[SpoiledDue, ...]
    is_empty: bool

    @property
    def is_quiet(self) -> bool:
        """Whether nothing waits now."""
        due = self.due.overdue or self.due.today
        return not (due or self.left or self.runs or self.looks or self.suspects or self.spoiled)


def today(connection: Connection, now: datetime) -> Today:
    """What waits, as of `now`, whose time zone counts the days."""
    from spawnwright.store.book import due as asked

    since = instant_text(now - timedelta(days=RUN_IS_OLD_D))
    due = _without_met(connection, tasks_due(connection, now, COMING_DAYS, MOST_COMING), now)
    due, left = _left_lying(due, now)
    told = {each.batch for each in (*due.overdue, *due.today) if each.kind == "look"}
    return Today(
        due,
        left,
        tuple(asked.running_runs(connection, since)),
        tuple(each for each in _looks(connection, now) if each.batch not in told),
        _suspects(connection),
        _spoiled(connection, now),
        asked.is_empty(connection),
    )


def _without_met(connection: Connection, due: Due, now: datetime) -> Due:
    """Without what is met, and without looks that a later one of the same batch has replaced."""
    pressing = (*due.overdue, *due.today)
    done = met(connection, pressing, now)
    last = {task.batch: task.id for task in pressing if task.kind == "look"}

    def waits(task: DueTask) -> bool:
        is_replaced = task.kind == "look" and last[task.batch] != task.id
        return task.id not in done and not is_replaced and task.kind not in BY_ITSELF

    once = _OncePerRun()
    return Due(
        once.of(filter(waits, due.overdue)), once.of(filter(waits, due.today)),
        once.of(each for each in due.coming if each.kind not in BY_ITSELF),
    )  # fmt: skip


def _left_lying(due: Due, now: datetime) -> tuple[Due, tuple[LeftLying, ...]]:
    """What is due without batches left lying, and those: forty late steps of one are one matter."""
    going_on = {each.batch for each in (*due.today, *due.coming)}
    late: dict[str, list[DueTask]] = {}
    for task in due.overdue:
        late.setdefault(task.batch, []).append(task)
    longest = timedelta(days=float(LEFT_LYING_D))
    left = tuple(
        LeftLying(batch, tasks[0].batch_name, len(tasks), until)
        for batch, tasks in late.items()
        if batch not in going_on and now - (until := max(each.until for each in tasks)) > longest
    )
    gone = {each.batch for each in left}
    overdue = tuple(each for each in due.overdue if each.batch not in gone)
    return Due(overdue, due.today, due.coming), left


class _OncePerRun:
    """Of the steps of one run only the first: the page of the run leads through the others."""

    def __init__(self) -> None:
        self._seen: set[tuple[str, int | None]] = set()

    def of(self, tasks: Iterable[DueTask]) -> tuple[DueTask, ...]:
        """Those of some tasks that stay."""
        found = []
        for task in tasks:
            run = (task.batch, task.run)
            if is_at_the_canner(task.kind):
                if run in self._seen:
                    continue
                self._seen.add(run)
            found.append(task)
        return tuple(found)


def _looks(connection: Connection, now: datetime) -> tuple[LooksDue, ...]:
    from spawnwright.store.book.due import unseen_jars

    rows = unseen_jars(
        connection,
        instant_text(now - timedelta(days=float(LOOK_WITHIN_D))),
        instant_text(now - timedelta(days=float(WHITE_LOOK_WITHIN_D))),
        float(WHITE),
    )
    return tuple(
        LooksDue(row["batch"], row["batch_name"] or "", row["jars"], row["code"]) for row in rows
    )


def _suspects(connection: Connection) -> tuple[SuspectDue, ...]:
    from spawnwright.actions.book.forecast import questions
    from spawnwright.store.book.due import last_signs_of
    from spawnwright.store.book.origins import batches_named

    rows = last_signs_of(connection, _HARMFUL, SPOILED_SHOWN)
    if not rows:
        return ()
    asked = questions(connection, rows)
    names = batches_named(connection, [row["batch"] for row in rows if row["batch"]])
    return tuple(
        SuspectDue(row["code"], row["sign"], names.get(row["batch"], {}).get("name", ""))
        for row in rows
        if how_worrying(row["sign"], asked[row["id"]].species) == HARM
    )


def _spoiled(connection: Connection, now: datetime) -> tuple[SpoiledDue, ...]:
    from spawnwright.store.book.due import spoiled_waiting
    from spawnwright.store.book.shelf import runs_with_spoiled

    since = instant_text(now - timedelta(days=SPOILED_WITHIN_D))
    jars = spoiled_waiting(connection, since, SPOILED_SHOWN)
    runs = runs_with_spoiled(connection, [jar["id"] for jar in jars])
    found: dict[NextStep, list[str]] = {}
    for jar in jars:
        step = next_by_runs(jar, runs.get(jar["id"], []))
        if step is not None:
            found.setdefault(step, []).append(jar["code"])
    return tuple(SpoiledDue(step, tuple(codes)) for step, codes in found.items())


def next_beyond(connection: Connection, now: datetime) -> tuple[DueTask, ...]:
    """The next step of each batch that goes on, whenever it is; for a day on which nothing waits.

    Of the `BATCHES_AHEAD` batches that were started last, the soonest step first.
    """
    from spawnwright.store.book import due as asked

    batches = asked.page_of_batches(connection, ended=False, after=None, count=BATCHES_AHEAD)
    names = {row["id"]: row["name"] for row in batches}
    rows = asked.open_tasks_of(connection, list(names), MOST_OPEN_AHEAD) if names else []
    found: dict[str, DueTask] = {}
    for row in rows:
        if row["kind"] not in BY_ITSELF:
            found.setdefault(row["batch"], due_task(row, names[row["batch"]], now))
    return tuple(sorted(found.values(), key=lambda task: task.at))


def run_of_batch(connection: Connection, batch: str, now: datetime) -> dict[str, Any] | None:
    """The run of a batch that goes on; none if none does."""
    from spawnwright.store.book.due import running_runs

    since = instant_text(now - timedelta(days=RUN_IS_OLD_D))
    found = [run for run in running_runs(connection, since) if run["batch"] == batch]
    return found[0] if found else None


def wrong_clock(connection: Connection, now: datetime) -> datetime | None:
    """When the last entry was received, if that is yet to come: then this clock is wrong."""
    from spawnwright.store.book.history import latest_steps

    last = latest_steps(connection, 1)
    received = datetime.fromisoformat(last[0].received) if last else now
    return received if received - now > timedelta(hours=CLOCK_IS_WRONG_H) else None


def old_backup(book: Book, now: datetime) -> str:
    """What is to be said of the age of the last copy; empty if it is young enough."""
    from spawnwright.store.book.backup import backups_of

    if book.path is None:
        return ""
    made = [each.made for each in backups_of(book.path)]
    if not made:
        return "There is no backup of this book yet."
    days = (now - made[-1]).total_seconds() / 86400
    if days <= BACKUP_IS_OLD_D:
        return ""
    return f"The last backup is {days:.0f} days old."
