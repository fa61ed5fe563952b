"""A run under way on the page: it counts down by itself, whatever becomes of the server."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta

import pytest

from spawnwright.actions.book import run as book_run
from spawnwright.actions.book.jars import Hand, fill_jars
from tests.browser.conftest import LAPTOP, PHONE, opened


@pytest.fixture
def clock():
    """The true time: the page goes by its own clock as well."""
    return lambda: datetime.now(UTC)


@pytest.fixture
def run(served):
    """A run that reached pressure ten minutes ago, of a 90 min hold."""
    now, book = datetime.now(UTC), served.desk.book

    def hand(minutes):
        return Hand("Ada", "this computer", now - timedelta(minutes=minutes))

    jars = fill_jars(book, hand(60), 7, {"jar_kind": "quart", "fill": 0.7}, now)
    about = {"gauge_pa": 103_421.0, "hold_min": 90.0, "elevation_m": 450.0}
    begun = book_run.begin_run(book, hand(45), about, dict.fromkeys(jars.values(), ""), now)
    for minutes, what in ((41, "heat on"), (10, "pressure reached")):
        event = book_run.event_at(what, now - timedelta(minutes=minutes))
        book_run.note_run_event(book, hand(minutes), begun.record, event, now)
    return begun.record


def left(page) -> int:
    """The seconds that the page says are left."""
    hours, minutes, seconds = page.locator("[data-until]").inner_text().split(" ")[0].split(":")
    return 3600 * int(hours) + 60 * int(minutes) + int(seconds)


def ask_again(page) -> None:
    """As when the phone is taken up again."""
    page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["phone", "laptop"])
def test_the_page_counts_down_and_draws_its_chart(served, browser, run, size):
    """80 minutes are left, second by second; the chart has a table that says the same."""
    with opened(browser, size) as page:
        page.goto(f"{served.home}/runs/{run}")
        page.get_by_text("left").first.wait_for()
        first, began = left(page), time.monotonic()
        page.wait_for_timeout(2200)
        page.locator("#curve canvas").first.wait_for()
        page.get_by_text("The same as a table").click()
        passed, second = time.monotonic() - began, left(page)

        assert 78 * 60 < first <= 80 * 60
        assert passed - 2 <= first - second <= time.monotonic() - began + 2
        assert page.locator("#curve table tr").count() > 10


def test_a_dead_server_stops_neither_clock_nor_entries(served, browser, run):
    """It says since when nothing was heard; reloaded, the page is still there; what was tapped
    arrives when the server is back, once, with the time of the tap.
    """
    with opened(browser) as page:
        page.goto(f"{served.home}/runs/{run}")
        page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
        page.reload()
        page.get_by_text("left").first.wait_for()
        page.wait_for_timeout(300)
        before, seen = left(page), time.monotonic()
        served.stop()
        ask_again(page)
        page.get_by_text("No answer from the computer").wait_for()
        page.reload()
        page.get_by_text("left").first.wait_for()

        assert before - (time.monotonic() - seen) - 2 <= left(page) <= before

        page.get_by_role("button", name="Pressure lost").click()
        page.get_by_text("waits on this phone").or_(page.get_by_text("1 entry")).first.wait_for()
        served.start()
        ask_again(page)
        page.evaluate("() => dispatchEvent(new Event('online'))")
        page.get_by_role("button", name="Back at pressure").wait_for()
        with served.desk.book.read() as connection:
            noted = [each.name for each in book_run.run_events(connection, run)]

        assert noted.count("pressure lost") == 1


def test_without_scripts_the_page_says_when_it_ends(served, browser, run):
    """A time of day instead of a countdown; an event is a plain form."""
    with opened(browser, scripts=False) as page:
        page.goto(f"{served.home}/runs/{run}")
        ends = datetime.now(UTC) + timedelta(minutes=80)

        assert f"it ends at {ends:%H:%M}" in page.inner_text("#now")

        page.get_by_role("button", name="Pressure lost").click()

        page.get_by_role("button", name="Back at pressure").wait_for()
        page.get_by_text("The rule for canned food").first.wait_for()
