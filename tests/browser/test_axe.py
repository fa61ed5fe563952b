"""Every page on a book with a season in it: accessible, in both lights, at both sizes, on paper."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime

import pytest

from spawnwright.actions.demo.season import BOOK
from tests.browser.conftest import LAPTOP, PHONE, Served, faults, opened

NOW = datetime(2026, 11, 25, 10, 30, tzinfo=UTC)
PLACES = (
    "/", "/plan", "/batches", "/calendar", "/shelf", "/look", "/runs", "/runs/new", "/cultures",
    "/cultures/new", "/inoculate", "/blocks", "/blocks/new", "/doubt?named=Blue+syringe+3",
    "/stock", "/lots", "/costs", "/history", "/settle", "/kit", "/files", "/unsent", "/phones",
    "/paper", "/more", "/find?code=CT37", "/no-such-page",
)  # fmt: skip
INSIDE = (
    ("/batches", "/batches/"), ("/batches", "/round/"), ("/shelf", "/j/"), ("/runs", "/runs/"),
    ("/cultures", "/cultures/"), ("/blocks", "/blocks/"),
)  # fmt: skip
"""A list, and how addresses of its single pages begin."""


@pytest.fixture(scope="module")
def served(season, tmp_path_factory):
    """A server with a copy of the season's book."""
    folder = tmp_path_factory.mktemp("axe")
    shutil.copy(season / BOOK, folder / "record-book.db")
    made = Served(folder, lambda: NOW)
    yield made
    made.stop()


@pytest.fixture(scope="module")
def addresses(served, browser):
    """All places, and one page of each kind inside them; a jar with all that can be done to it."""
    found = list(PLACES)
    with opened(browser) as page:
        page.goto(f"{served.home}/shelf")
        for _ in range(60):  # until all forecasts are there, the shelf shows itself anew
            if "being worked out" not in page.content():
                break
            page.wait_for_timeout(500)
            page.goto(f"{served.home}/shelf")
        for outer, inner in INSIDE:
            page.goto(served.home + outer)
            links = page.eval_on_selector_all(
                "main a[href]", "links => links.map(link => link.getAttribute('href'))"
            )
            first = next((each for each in links if each.startswith(inner)
                          and not each.endswith(("/new", "/codes"))), None)  # fmt: skip
            if first is not None:
                found.append(first)
            if first is not None and inner == "/j/":
                found += [f"{first}/look", f"{first}/outcome"]
    return found


@pytest.mark.parametrize(
    ("size", "dark"), [(PHONE, False), (LAPTOP, True)], ids=["phone in light", "laptop in dark"]
)
def test_axe_finds_nothing(served, browser, addresses, size, dark):
    """WCAG 2.2 AA and best practice; and no page scrolls sideways."""
    found = {}
    with opened(browser, size, dark) as page:
        for address in addresses:
            page.set_viewport_size({"width": size[0], "height": size[1]})
            page.goto(served.home + address)
            wrong = faults(page)
            if wrong:
                found[address] = wrong

    assert not found


def test_nothing_is_lost_at_twice_the_size(served, browser, addresses):
    """A window of 320 px, which is 400 % on a laptop (WCAG 1.4.10), and 195, 200 % on a phone."""
    wide = []
    for width in (320, 195):
        with opened(browser, (width, 640)) as page:
            for address in addresses:
                page.goto(served.home + address)
                if page.evaluate("() => document.documentElement.scrollWidth > innerWidth + 1"):
                    wide.append((width, address))

    assert not wide


def test_targets_for_thumbs_are_large_enough(served, browser, addresses):
    """44 px for every button, tick and row that is tapped; links within a sentence are text."""
    small = {}
    with opened(browser) as page:
        for address in addresses:
            page.goto(served.home + address)
            found = page.evaluate("""() => [...document.querySelectorAll(
                "button, .button, summary, .places a, .rows .tap > a, select, .pick label, "
                + "input:not([type=hidden], [type=radio], [type=checkbox], [type=file])")]
                .filter(each => each.offsetParent && each.getBoundingClientRect().height < 43.5)
                .map(each => each.outerHTML.slice(0, 80))""")
            if found:
                small[address] = found

    assert not small


def test_paper_shows_the_page_and_nothing_to_tap(served, browser, addresses):
    """Printed, the places and all forms are gone, the heading stays."""
    with opened(browser, LAPTOP) as page:
        page.emulate_media(media="print")
        for address in ("/", "/shelf", addresses[-1]):
            page.goto(served.home + address)

            assert not page.locator(".places").is_visible()
            assert page.locator("h1").first.is_visible()
            assert page.locator("button:visible").count() == 0
