"""What the first pages ask of the book: the same answers on SQLite and PostgreSQL."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from spawnwright.actions.book import fill as book_fill
from spawnwright.actions.book import run as book_run
from spawnwright.actions.book.batch_page import batch_view, is_undone, page_of_batches
from spawnwright.actions.book.batches import finish_task, start_batch
from spawnwright.actions.book.calendar import month, month_named
from spawnwright.actions.book.end import end_jar
from spawnwright.actions.book.inoculate import inoculate
from spawnwright.actions.book.jars import undo
from spawnwright.actions.book.looks import add_look, add_shake
from spawnwright.actions.book.standing_jars import Standing, take_in_jars
from spawnwright.actions.book.today import run_of_batch, today
from spawnwright.actions.book.wish import wish_of_batch
from spawnwright.errors import Unusable
from tests.web.conftest import NOW
from tests.web.planned_book import BEGUN, days, hand, wish_and_plan

HERE = ZoneInfo("Europe/Warsaw")
LOCAL = NOW.astimezone(HERE)


@pytest.fixture
def batch(book):
    """A batch that was begun on 24 November, its grain drained."""
    text, plan = wish_and_plan()
    return start_batch(book, hand(BEGUN), "Oyster", text, plan, BEGUN)


def asked(book, question, *arguments, **named):
    """An answer of the book."""
    with book.read() as connection:
        return question(connection, *arguments, **named)


def task(book, batch: str, key: str):
    """A task by its key."""
    view = asked(book, batch_view, batch, LOCAL)
    return next(each for each in view.steps if each.task.key == key)


def test_from_weighing_to_the_shelf(book, batch):
    """A whole batch: each entry meets its step, on the page and in the list."""
    for key in ("make-lids", "soak-1", "wash-jars", "rinse-1", "simmer-1", "drain-1",
                "surface-dry-1"):  # fmt: skip
        finish_task(book, hand(NOW), task(book, batch, key).task.id, NOW)
    grain = {"grain": "rye", "drained_kg": 3.3, "moisture_low": 0.46, "moisture_likely": 0.48,
             "moisture_high": 0.5}  # fmt: skip
    book_fill.weigh_grain(book, hand(NOW), task(book, batch, "weigh-1").task.id, grain, NOW)
    weighed = task(book, batch, "weigh-1")
    book_fill.fill_batch(
        book, hand(NOW), task(book, batch, "fill-1").task.id, 7, {"jar_kind": "quart"}, NOW,
        controls=1,
    )  # fmt: skip
    jars = asked(book, batch_view, batch, LOCAL).jars
    run = book_run.begin_run(
        book, hand(NOW), {"batch": batch}, {jar["id"]: "" for jar in jars}, NOW
    ).record
    (line,) = asked(book, page_of_batches, LOCAL).rows

    assert (weighed.advice, weighed.weighed["drained_kg"]) == ("fill", 3.3)
    assert {jar["grain_batch"] for jar in jars} == {weighed.weighed["id"]}
    assert [jar["name"] for jar in jars] == [f"A{number}" for number in range(1, 8)]
    assert [each["id"] for each in asked(book, today, LOCAL).runs] == [run]
    assert asked(book, run_of_batch, batch, LOCAL)["id"] == run
    assert task(book, batch, "hold-1").state == "met"
    assert (line.here, line.spoiled, line.next.key) == (7, 0, "inoculate-1")


def test_inoculating_looking_and_shaking_meet_their_steps(book, batch):
    """As many jars as were planned, a look on or after the day, a shake about the day."""
    entered = take_in_jars(book, hand(NOW), Standing("Old", 2, "quart", NOW - days(9),
                           "blue-oyster", NOW - days(8)), NOW).record  # fmt: skip
    culture = asked(book, batch_view, entered, LOCAL).cultures[0]["id"]
    fill = task(book, batch, "fill-1").task.id
    book_fill.fill_batch(book, hand(NOW), fill, 7, {"jar_kind": "quart"}, NOW)
    jars = [jar["id"] for jar in asked(book, batch_view, batch, LOCAL).jars]
    then = NOW + days(1)
    inoculate(book, hand(then), culture, jars[:6], then)
    six = task(book, batch, "inoculate-1").state
    inoculate(book, hand(then), culture, jars[6:], then)
    later = LOCAL + days(6)
    add_look(book, hand(NOW + days(4)), jars[0], {"percent": 20.0}, NOW + days(4))
    add_shake(book, hand(NOW + days(5)), jars, NOW + days(5))
    states = {
        each.task.key: each.state for each in asked(book, batch_view, batch, later).steps
    }  # fmt: skip

    assert six != "met"
    assert states["inoculate-1"] == "met"
    assert (states["look-1-day-2"], states["look-1-day-4"]) == ("met", "coming")
    assert states["shake-1"] == "met"


def test_jars_that_ask_for_a_look(book):
    """Unseen for three days, counted by batch; white ones only after two weeks."""
    entered = take_in_jars(book, hand(NOW), Standing("Old", 3, "quart", NOW - days(20),
                           "blue-oyster", NOW - days(19)), NOW).record  # fmt: skip
    jars = [jar["id"] for jar in asked(book, batch_view, entered, LOCAL).jars]
    first = asked(book, today, LOCAL).looks
    add_look(book, hand(NOW - days(5)), jars[0], {"percent": 100.0}, NOW)
    add_look(book, hand(NOW - days(2)), jars[1], {"percent": 60.0}, NOW)
    seen = asked(book, today, LOCAL).looks
    weeks = asked(book, today, LOCAL + days(12)).looks
    end_jar(book, hand(NOW), jars[2], "spoiled", NOW)
    (spoiled,) = asked(book, today, LOCAL).spoiled
    (line,) = asked(book, page_of_batches, LOCAL).rows

    assert [(each.batch, each.jars) for each in first] == [(entered, 3)]
    assert [each.jars for each in seen] == [1]
    assert [each.jars for each in weeks] == [3]
    assert (spoiled.step.title, len(spoiled.codes)) == ("Move it away, shut", 1)
    assert (line.here, line.spoiled, line.has_jars) == (2, 1, True)


def test_the_calendar_and_the_wish_of_a_batch(book, batch):
    """A month by the grower's days; what is done is known when it is planned anew."""
    found = asked(book, month, month_named("2026-11", LOCAL), LOCAL)
    december = asked(book, month, month_named("2026-12", LOCAL), LOCAL)
    finish_task(book, hand(NOW), task(book, batch, "make-lids").task.id, NOW)
    finish_task(book, hand(NOW), task(book, batch, "soak-1").task.id, NOW)
    told = asked(book, wish_of_batch, batch, LOCAL)

    assert [each.task.key for each in found.days[23].steps] == ["make-lids", "soak-1", "wash-jars"]
    assert [each["id"] for each in december.ready] == [batch]
    assert (told["jar"], told["grain"], told["fill"]) == ("quart", "rye", 0.7)
    assert told["under_way"]["lids_cured"] == "7"
    assert told["under_way"]["soaking_since"] == "2026-11-25T10:30"


def test_taking_in_is_one_step(book):
    """Sent twice it is kept once; undone, nothing of it is left."""
    jars = Standing("Old", 4, "quart", NOW - days(2), "blue-oyster")
    sent = hand(NOW)
    entered = take_in_jars(book, sent, jars, NOW)
    undo(book, hand(NOW), entered.kept.step, NOW)

    assert asked(book, is_undone, entered.record)
    assert asked(book, today, LOCAL).is_empty
    with pytest.raises(Unusable, match="cannot be taken in at once"):
        take_in_jars(book, hand(NOW), Standing("x", 501, "quart", NOW, "blue-oyster"), NOW)
