"""The feed of all batches: what waits, what is off, and that each word is newer than the last."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

from icalendar import Calendar

from spawnwright.actions.book.batches import (
    end_batch,
    finish_task,
    reopen_task,
    replan_batch,
    skip_task,
    start_batch,
)
from spawnwright.actions.book.jars import undo
from spawnwright.actions.printing.calendar_feed import calendar_feed, feed_events
from tests.actions.book.entering import HAND, hand, sent
from tests.actions.book.test_batches import PLAN, WISH, plan_of, planned, started, task
from tests.store.book.entering import START

ZONE = ZoneInfo("Europe/Warsaw")


def fed(book, days: float = 0):
    """The events by the key of their step, which stands at the beginning of their title."""
    with book.read() as connection:
        found = feed_events(connection, ZONE, START + timedelta(days=days))
    return {each.title.split(" ")[0]: each for each in found}


def is_off(book, days: float = 0) -> dict[str, bool]:
    return {key: each.is_cancelled for key, each in fed(book, days).items()}


def test_the_open_tasks_of_a_batch_are_in_the_feed(book):
    batch = started(book)
    found = fed(book)

    assert list(found) == [step.key for step in PLAN.steps]
    hold = found["hold-1"]
    assert (hold.title, hold.kind, hold.detail) == ("hold-1 it (January)", "hold", "how")
    assert hold.cautions == ("hot steam", "never above the rated pressure")
    assert (hold.at, hold.until) == (PLAN.steps[1].at, PLAN.steps[1].until)
    assert hold.at.utcoffset() == timedelta(hours=1)
    assert hold.uid == f"task-{task(book, batch, 'hold-1')['id']}"
    assert not found["soak-1"].is_attended
    assert not any(is_off(book).values())


def test_each_word_is_newer_than_the_last(book):
    """Done, open again, skipped, undone, that undone: the UID stays, the revision only rises."""
    batch = started(book)
    hold = task(book, batch, "hold-1")["id"]
    skipping = sent(6)
    undoing = sent(7)
    words = [
        (lambda: None, False),
        (lambda: finish_task(book, hand(4), hold, START), True),
        (lambda: reopen_task(book, hand(5), hold, START), False),
        (lambda: skip_task(book, skipping, hold, START), True),
        (lambda: undo(book, undoing, skipping.step, START), False),
        (lambda: undo(book, sent(8), undoing.step, START), True),
        (lambda: end_batch(book, hand(9), batch, START), True),
    ]
    told = []
    for say, off in words:
        say()
        told.append(fed(book)["hold-1"])
        assert told[-1].is_cancelled is off

    assert len({each.uid for each in told}) == 1
    revisions = [each.revision for each in told]
    assert revisions == sorted(set(revisions))
    assert [each.changed for each in told] == sorted(each.changed for each in told)


def test_a_step_that_a_new_plan_drops_is_off_and_another_moves(book):
    batch = started(book)
    first = fed(book)
    moved = [replace(each, at=each.at + timedelta(days=1), until=each.until + timedelta(days=1))
             for each in PLAN.steps[1:3]]  # fmt: skip
    replan_batch(book, hand(2), batch, WISH, plan_of(*moved, planned("rest-1", 60)), START)

    second = fed(book)
    assert is_off(book) == {
        "soak-1": True, "hold-1": False, "cool-down-1": False, "inoculate-1": True, "rest-1": False,
    }  # fmt: skip
    assert second["hold-1"].uid == first["hold-1"].uid
    assert second["hold-1"].at == first["hold-1"].at + timedelta(days=1)
    assert all(second[key].revision > first[key].revision for key in first)


def test_an_undone_and_an_ended_batch_are_called_off(book):
    """All of it; an undone beginning is as if it had never been, but calendars have it."""
    by = sent()
    start_batch(book, by, "January", WISH, PLAN, START)
    undo(book, sent(1), by.step, START)
    assert set(is_off(book).values()) == {True}

    batch = start_batch(book, sent(2), "February", WISH, plan_of(planned("pour-1", 90)), START)
    assert not is_off(book)["pour-1"]
    end_batch(book, hand(3), batch, START)
    assert is_off(book)["pour-1"]


def test_what_is_off_is_told_of_for_sixty_days(book):
    """An open task stays, however old."""
    batch = started(book)
    finish_task(book, HAND, task(book, batch, "soak-1")["id"], START)

    assert is_off(book, days=60)["soak-1"]
    assert set(fed(book, days=61)) == {"hold-1", "cool-down-1", "inoculate-1"}


def test_the_feed_is_a_calendar(book):
    """Also of an empty book; the same bytes until something is entered."""

    def ics() -> bytes:
        with book.read() as connection:
            return calendar_feed(connection, ZONE, START)

    assert not Calendar.from_ical(ics()).walk("VEVENT")
    batch = started(book)
    assert ics() == ics()
    finish_task(book, hand(13), task(book, batch, "soak-1")["id"], START)
    found = {str(each["uid"]): each for each in Calendar.from_ical(ics()).walk("VEVENT")}

    assert len(found) == 4
    states = sorted(str(each.get("status")) for each in found.values())
    assert states == ["CANCELLED", "None", "None", "None"]
