"""A round on a phone: one tap for all, exceptions, scripts on and off, without the network."""

from __future__ import annotations

import pytest

from tests.browser.conftest import LAPTOP, PHONE, faults, opened
from tests.web.shelf_book import ShelfBook


@pytest.fixture
def shelf(served):
    """Four jars with culture, one waiting, one control."""
    made = ShelfBook(served.desk)
    made.forecast()
    return made


@pytest.mark.parametrize("scripts", [True, False])
def test_one_tap_for_all(served, shelf, browser, scripts):
    """From the batch's shelf; five looks."""
    with opened(browser, scripts=scripts) as page:
        page.goto(f"{served.home}/shelf?batch={shelf.batch}")
        page.get_by_role("link", name="Round").click()
        page.get_by_role("button", name="All 5 as expected").click()
        page.get_by_text("Kept: round of 5 jars").wait_for()

    assert [len(shelf.looks(place)) for place in range(6)] == [1, 1, 1, 1, 0, 1]


@pytest.mark.parametrize("scripts", [True, False])
def test_an_exception_and_one_left_out(served, shelf, browser, scripts):
    """Opened, filled in, kept with the rest in one step."""
    with opened(browser, scripts=scripts) as page:
        page.goto(f"{served.home}/round/{shelf.batch}")
        odd = page.get_by_role("listitem").filter(has_text=shelf.codes[1])
        odd.get_by_text("Something differs").click()
        odd.get_by_label("Sign").select_option("slime")
        odd.get_by_role("textbox", name="White").fill("30")
        away = page.get_by_role("listitem").filter(has_text=shelf.codes[2])
        away.get_by_text("Something differs").click()
        away.get_by_label("Not looked at").check()
        page.get_by_role("button", name="Keep the round").click()
        page.get_by_text("Kept: round of 4 jars").wait_for()
        page.get_by_text("Slime seen").wait_for()

    assert shelf.looks(1)[0]["percent"] == 30
    assert shelf.looks(2) == []


def test_without_the_network_it_waits(served, shelf, browser):
    """And arrives once."""
    with opened(browser) as page:
        page.goto(f"{served.home}/round/{shelf.batch}")
        page.context.set_offline(True)
        page.get_by_role("button", name="All 5 as expected").click()
        page.get_by_text("Kept on this device").wait_for()
        assert shelf.looks(0) == []
        page.context.set_offline(False)
        page.wait_for_function("() => document.querySelector('#waiting').hidden")

    assert [len(shelf.looks(place)) for place in range(6)] == [1, 1, 1, 1, 0, 1]


def test_codes_are_checked_while_they_are_scanned(served, shelf, browser):
    """A scanner types a line and a return; a wrong one is named."""
    with opened(browser) as page:
        page.goto(f"{served.home}/round")
        box = page.get_by_label("Codes")
        box.fill(f"{shelf.codes[0]}\n2223")
        page.get_by_role("heading", name="Round by codes").click()
        page.get_by_text("2223: One sign is wrong").wait_for()
        box.fill(f"{shelf.codes[0]}\n{shelf.codes[1]}")
        page.get_by_role("button", name="Keep the round").click()
        page.get_by_text("Kept: round of 2 jars").wait_for()


@pytest.mark.parametrize(("size", "dark"), [(PHONE, False), (LAPTOP, True)])
def test_nothing_is_in_the_way_of_anybody(served, shelf, browser, size, dark):
    """Axe finds nothing, with an exception open as well; no page scrolls sideways."""
    shelf.look(0, percent=60, sign="green")
    with opened(browser, size, dark) as page:
        page.goto(f"{served.home}/round/{shelf.batch}")
        page.get_by_text("Something differs").nth(1).click()
        assert faults(page) == []
