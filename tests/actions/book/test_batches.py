"""A plan becomes a batch, and its steps tasks that are due, done, skipped, planned anew."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import func, select

from spawnwright.actions.book.batches import (
    DROPPED,
    batch_story,
    batches,
    end_batch,
    finish_task,
    reopen_task,
    replan_batch,
    skip_task,
    start_batch,
    tasks_due,
)
from spawnwright.actions.book.jars import fill_jars, undo
from spawnwright.errors import Contradiction, UnknownName
from spawnwright.records.plan import Plan, ReadyBand, Step
from spawnwright.store.book.batches import tasks_of
from spawnwright.store.book.history import history_of, latest_steps
from spawnwright.store.book.tables import TASKS
from tests.actions.book.entering import HAND, filled, hand, row, sent
from tests.store.book.entering import START, enter

WISH = """
[wish]
species = "blue oyster"
jars = 6
start = 2026-01-02

[grain]
kind = "rye"

[kit]
jar = "quart"
jars_free = 16
canner = "two-layer"

[place]
elevation = "450 m"
shelf_temperature = "22 C"

[culture]
volume = "30 mL"
"""


def planned(key: str, hours: float, length: float = 1, **more) -> Step:
    at = START + timedelta(hours=hours)
    kind = more.pop("kind", key.split("-")[0])
    return Step(key, kind, at, at + timedelta(hours=length), f"{key} it", "how", **more)


def plan_of(*steps: Step, feasible: bool = True) -> Plan:
    ready = ReadyBand(*(START + timedelta(days=days) for days in (14, 16, 21)))
    return Plan(feasible, (), 6, 7, 1, 2.0, 1.5, (), steps, ready, 0.8, ())


PLAN = plan_of(
    planned("soak-1", 0, 12, soak=1, is_attended=False, amounts={"dry_grain_kg": 2.5}),
    planned("hold-1", 20, 2, run=1, cautions=("hot steam", "never above the rated pressure")),
    planned("cool-down-1", 22, 9, run=1, kind="cool_down", is_attended=False),
    planned("inoculate-1", 46, 1),
)


def started(book, plan: Plan = PLAN) -> str:
    return start_batch(book, HAND, "January", WISH, plan, START)


def task(book, batch: str, key: str) -> dict:
    with book.read() as connection:
        return next(each for each in tasks_of(connection, batch) if each["key"] == key)


def due(book, hours: float, days: int = 7, zone=UTC):
    with book.read() as connection:
        found = tasks_due(connection, (START + timedelta(hours=hours)).astimezone(zone), days)
    return [[each.key for each in part] for part in (found.overdue, found.today, found.coming)]


def test_a_plan_becomes_a_batch_and_a_task_for_each_step_in_one_step(book):
    """With the wish and the plan whole; undone as a whole."""
    batch = started(book)

    kept = row(book, batch)
    assert (kept["name"], kept["species"], kept["shelf_c"]) == ("January", "blue-oyster", 22.0)
    assert (kept["wanted_jars"], kept["ready_likely"]) == (6, "2026-01-26")
    assert kept["wish"] == WISH.strip()
    assert json.loads(kept["plan"])["steps"][0]["amounts"] == {"dry_grain_kg": 2.5}
    hold = task(book, batch, "hold-1")
    assert hold["cautions"].splitlines() == ["hot steam", "never above the rated pressure"]
    assert (hold["run"], hold["is_attended"]) == (1, True)
    with book.read() as connection:
        (step,) = latest_steps(connection)
    undo(book, HAND, step.id, START)
    assert due(book, 0) == [[], [], []]
    with book.read() as connection:
        assert batches(connection) == []


def test_the_same_step_sent_again_makes_no_second_batch(book):
    """The answer got lost; the phone asks again."""
    by = sent()
    first = start_batch(book, by, "January", WISH, PLAN, START)

    assert start_batch(book, by, "January", WISH, PLAN, START + timedelta(hours=1)) == first
    with book.read() as connection:
        assert connection.execute(select(func.count()).select_from(TASKS)).scalar() == 4


def test_a_plan_that_cannot_be_met_starts_nothing(book):
    with pytest.raises(Contradiction, match="cannot be met"):
        start_batch(book, HAND, "x", WISH, plan_of(feasible=False), START)


def test_what_is_due_is_overdue_today_or_to_come(book):
    """Start is 18:00 UTC; what ends by itself is never late."""
    started(book)

    assert due(book, -1) == [[], ["soak-1"], ["hold-1", "cool-down-1", "inoculate-1"]]
    assert due(book, 13) == [["soak-1"], ["hold-1", "cool-down-1"], ["inoculate-1"]]
    assert due(book, 60) == [["soak-1", "hold-1", "inoculate-1"], [], []]
    assert due(book, -200) == [[], [], []]
    assert due(book, -1, days=0) == [[], ["soak-1"], []]


def test_today_ends_at_midnight_where_the_grower_lives(book):
    """20 hours after 18:00 UTC is another day in London than in Auckland."""
    started(book)

    assert due(book, -1, 0, ZoneInfo("Pacific/Auckland"))[1] == ["soak-1"]
    assert due(book, 7, 0)[1] == ["soak-1", "hold-1", "cool-down-1"]
    assert due(book, 7, 0, ZoneInfo("America/New_York"))[1] == ["soak-1"]


def test_a_task_as_a_page_shows_it(book):
    batch = started(book)
    with book.read() as connection:
        soak = tasks_due(connection, START.astimezone(ZoneInfo("Asia/Tokyo")), 0).today[0]

    assert (soak.batch, soak.batch_name, soak.amounts) == (batch, "January", {"dry_grain_kg": 2.5})
    assert soak.at.isoformat() == "2026-01-11T03:00:00+09:00"
    assert soak.seen


def test_done_skipped_and_open_again(book):
    batch = started(book)
    soak, hold = task(book, batch, "soak-1")["id"], task(book, batch, "hold-1")["id"]

    finish_task(book, hand(12), soak, START)
    skip_task(book, hand(12), hold, START, note="no gas")

    assert task(book, batch, "soak-1")["done_at"] == "2026-01-11T06:00:00.000000Z"
    assert task(book, batch, "hold-1")["note"] == "no gas"
    assert due(book, 13) == [[], ["cool-down-1"], ["inoculate-1"]]
    with pytest.raises(Contradiction, match="is done already; open it again first"):
        finish_task(book, hand(13), soak, START)
    reopen_task(book, hand(13), soak, START)
    assert due(book, 13)[0] == ["soak-1"]
    with pytest.raises(Contradiction, match="is open already"):
        reopen_task(book, hand(13), soak, START)
    with pytest.raises(UnknownName):
        finish_task(book, HAND, "no-such-task", START)
    with pytest.raises(Contradiction, match="is a batch, not a task"):
        finish_task(book, HAND, batch, START)


def test_a_task_ticked_twice_by_one_step_is_ticked_once(book):
    batch = started(book)
    soak, by = task(book, batch, "soak-1")["id"], sent(1)

    assert not finish_task(book, by, soak, START).was_there
    assert finish_task(book, by, soak, START).was_there
    with book.read() as connection:
        assert len(history_of(connection, soak)) == 2


def test_two_devices_that_settle_a_task_differently_both_keep_what_they_said(book):
    """Neither had seen the other's: nothing is refused, and both are shown."""
    batch = started(book)
    hold = task(book, batch, "hold-1")
    seen = tuple(hold["seen"].split())

    finish_task(book, sent(22, "phone"), hold["id"], START, seen=seen)
    skip_task(book, sent(21, "tablet"), hold["id"], START, seen=seen)

    now = task(book, batch, "hold-1")
    assert (now["done_at"], now["skipped_at"]) == (None, "2026-01-11T15:00:00.000000Z")
    assert set(json.loads(now["disputed"])) == {"done_at", "skipped_at"}


def test_planning_anew_moves_tasks_adds_new_ones_and_skips_what_is_gone(book):
    """What is done stays done, at the time at which it was planned; the old plan is history."""
    batch = started(book)
    finish_task(book, hand(12), task(book, batch, "soak-1")["id"], START)
    later = [replace(each, at=each.at + timedelta(days=1), until=each.until + timedelta(days=1))
             for each in PLAN.steps]  # fmt: skip
    by = sent(13)

    replan_batch(book, by, batch, WISH, plan_of(*later[:2], planned("rest-1", 50)), START)
    replan_batch(book, by, batch, WISH, plan_of(*later[:2], planned("rest-1", 50)), START)

    assert task(book, batch, "soak-1")["at"] == "2026-01-10T18:00:00.000000Z"
    assert task(book, batch, "hold-1")["at"] == "2026-01-12T14:00:00.000000Z"
    assert task(book, batch, "rest-1")["title"] == "rest-1 it"
    assert task(book, batch, "inoculate-1")["note"] == DROPPED
    assert task(book, batch, "inoculate-1")["skipped_at"] == "2026-01-11T07:00:00.000000Z"
    with book.read() as connection:
        assert len(history_of(connection, batch)) == 2

    skip_task(book, hand(14), task(book, batch, "rest-1")["id"], START, note="my own wish")
    replan_batch(book, hand(15), batch, WISH, plan_of(*later, planned("rest-1", 50)), START)
    assert task(book, batch, "inoculate-1")["skipped_at"] is None
    assert task(book, batch, "inoculate-1")["note"] is None
    assert task(book, batch, "rest-1")["note"] == "my own wish"


def test_batches_are_listed_with_how_they_stand(book):
    """Counts of tasks and jars, without the documents; ended ones when asked for."""
    batch = started(book)
    finish_task(book, hand(12), task(book, batch, "soak-1")["id"], START)
    filled(book, 3, batch=batch)
    enter(book, "jar", code="RK46", jar_kind="quart", filled_at=START, batch=batch,
          outcome="spoiled", outcome_at=START)  # fmt: skip

    with book.read() as connection:
        (line,) = batches(connection)
    assert (line.tasks_done, line.tasks_open) == (1, 3)
    assert line.next_at == "2026-01-11T14:00:00.000000Z"
    assert line.jars == {"": 3, "spoiled": 1}
    assert "plan" not in line.row

    end_batch(book, hand(100), batch, START)
    with book.read() as connection:
        assert batches(connection) == []
        assert [each.row["ended_on"] for each in batches(connection, ended=True)] == ["2026-01-14"]
    assert due(book, 60) == [[], [], []]


def test_the_story_of_a_batch_has_its_tasks_jars_runs_and_cultures(book):
    batch = started(book)
    jars = fill_jars(book, HAND, 2, {"jar_kind": "quart", "batch": batch}, START)
    culture = enter(book, "culture", name="LC 1", form="syringe")
    run = enter(book, "sterilizer run", started_at=START, purpose="sterilize")
    named = enter(book, "sterilizer run", started_at=START + timedelta(1), purpose="sterilize",
                  batch=batch)  # fmt: skip
    for jar in jars.values():
        enter(book, "load", run=run, jar=jar)
        enter(book, "inoculation", jar=jar, at=START, culture=culture, dose_ml=2)
    enter(book, "look", jar=next(iter(jars.values())), at=START, percent=5)

    with book.read() as connection:
        story = batch_story(connection, batch, datetime(2026, 1, 12, tzinfo=UTC))

    assert [each.key for each in story.tasks] == [each.key for each in PLAN.steps]
    looked = {each["code"]: each["look"] and each["look"]["percent"] for each in story.jars}
    assert looked == dict(zip(jars, [5.0, None], strict=True))
    assert [each["code"] for each in story.jars] == sorted(jars)
    assert [each["id"] for each in story.runs] == [run, named]
    assert [(each["name"], each["jars"], each["dose_ml"]) for each in story.cultures] == [
        ("LC 1", 2, 4.0)
    ]
