"""First start to first batch in a browser, without reading anything; and what axe says."""

from __future__ import annotations

import re

import pytest

from spawnwright.actions.planning.asked import planned
from spawnwright.web.pages import plan as plan_pages
from tests.browser.conftest import LAPTOP, PHONE, faults, opened
from tests.web.planned_book import started

KEPT = plan_pages.Plans()
"""One plan for all tests of this file: the clock stands still, and so does the wish."""


@pytest.fixture
def bench(served, monkeypatch):
    """A server whose sums are done in its own process; tests/web plans with the worker."""
    monkeypatch.setattr(plan_pages, "PLANS", KEPT)
    monkeypatch.setattr(
        type(served.desk.compute), "answer", lambda _, work, *arguments: planned(*arguments)
    )
    return served


@pytest.mark.parametrize(
    ("size", "scripts"), [(PHONE, True), (PHONE, False), (LAPTOP, True), (LAPTOP, False)]
)
def test_from_an_empty_book_to_the_first_step(bench, browser, size, scripts):
    """Three taps to a batch; its first step done, and undone again."""
    with opened(browser, size, scripts=scripts) as page:
        page.goto(bench.home)
        page.get_by_role("link", name="Plan a first batch").click()
        page.get_by_role("button", name="Plan it").click()
        page.get_by_role("heading", name="5 good jars of blue oyster").wait_for()
        page.get_by_role("button", name="Make this my batch").click()

        page.get_by_role("heading", level=1, name=re.compile("Blue oyster for")).wait_for()
        assert re.search(r"/batches/[0-9a-f]{16}", page.url)
        step = page.locator("li[aria-current=step]")
        assert step.get_by_role("heading").inner_text() == "Test the culture"
        step.get_by_role("button", name="Done").click()
        page.get_by_text("Kept: done: Test the culture").wait_for()
        assert page.locator("li[aria-current=step] h3").inner_text() == "Make 7 lids"
        page.get_by_role("button", name="Undo").click()
        page.get_by_text("Kept: undo").wait_for()
        assert page.locator("li[aria-current=step] h3").inner_text() == "Test the culture"


def test_a_wait_is_said(bench, browser):
    """While a plan is worked out the page says so, and the button rests; not on the way back."""
    with opened(browser, PHONE) as page:
        page.goto(f"{bench.home}/plan")
        button = page.get_by_role("button", name="Plan it")
        # The event alone: a real answer would take the page away while it is looked at.
        page.evaluate(
            "() => document.querySelector('form.wish').dispatchEvent(new Event('submit'))"
        )
        page.get_by_text("Working it out").wait_for()
        page.wait_for_function("() => document.querySelector('form.wish .deed button').disabled")
        page.evaluate("() => dispatchEvent(new Event('pageshow'))")
        assert button.is_enabled()
        assert not page.get_by_text("Working it out").is_visible()


def test_jars_that_stand_already(bench, browser):
    """The other way in: codes to write on lids, and the shelf has them."""
    with opened(browser, PHONE) as page:
        page.goto(bench.home)
        page.get_by_role("link", name="I have jars already").click()
        page.get_by_label("How many").fill("3")
        page.get_by_label("Inoculated on").fill("2026-11-20")
        page.get_by_label("Filled on").fill("2026-11-18")
        page.get_by_role("button", name="Take them in").click()
        page.get_by_role("heading", name="Write these on the lids").wait_for()
        assert page.locator("ol.codes .code").count() == 3
        assert faults(page) == []


@pytest.mark.parametrize(("size", "dark"), [(PHONE, False), (LAPTOP, True)])
def test_pages_have_no_faults(bench, browser, size, dark):
    """Axe at WCAG 2.2 AA, and nothing scrolls sideways: empty and full."""
    with opened(browser, size, dark) as page:
        found = {}
        for path in ("/", "/batches", "/jars/new"):
            page.goto(bench.home + path)
            found[f"empty {path}"] = faults(page)
        batch = started(bench.desk.book)
        for path in ("/", "/batches", "/calendar", f"/batches/{batch}", f"/plan?batch={batch}",
                     f"/batches/{batch}/codes"):  # fmt: skip
            page.goto(bench.home + path)
            page.evaluate("() => document.querySelectorAll('details').forEach(e => e.open = true)")
            found[path] = faults(page)
    assert {path: each for path, each in found.items() if each} == {}


def test_twice_as_large_and_printed(bench, browser):
    """At 200 % zoom nothing is cut off; on paper the calendar is a month without buttons."""
    started(bench.desk.book)
    with opened(browser, (640, 400)) as page:
        for path in ("/", "/calendar", "/plan", "/batches"):
            page.goto(bench.home + path)
            assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth + 1")
    with opened(browser, LAPTOP) as page:
        page.goto(f"{bench.home}/calendar")
        page.emulate_media(media="print")
        assert not page.get_by_role("link", name="Month after").is_visible()
        assert page.get_by_text("Make 7 lids").is_visible()
