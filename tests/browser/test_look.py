"""Looking at jars on a phone: three taps, scripts on and off, without the network, many codes."""

from __future__ import annotations

import io
import json

import pytest
from PIL import Image

from spawnwright.records.book.codes import SIGNS, code_of
from tests.browser.conftest import LAPTOP, PHONE, faults, opened
from tests.web.shelf_book import CURVE, ShelfBook


@pytest.fixture
def shelf(served):
    """Four jars on day 10 of an invented batch, with their forecast."""
    made = ShelfBook(served.desk)
    made.forecast()
    made.look(0, days=2, percent=40, sign="as expected")
    return made


def waits(page, text):
    """What the page says about entries that wait."""
    page.locator("#waiting", has_text=text).wait_for()


@pytest.mark.parametrize("scripts", [True, False])
def test_three_taps(served, shelf, browser, scripts):
    """From the shelf to the jar, look, how far, sign, done; the same with scripts off."""
    code = shelf.codes[1]
    with opened(browser, scripts=scripts) as page:
        page.goto(f"{served.home}/shelf")
        page.get_by_role("link", name=code).click()
        page.locator("main").get_by_role("link", name="Look", exact=True).click()
        page.get_by_label("Less white").check()
        page.get_by_label("White", exact=True).check()
        page.get_by_role("button", name="Keep the look").click()
        page.get_by_text("Kept: look at").wait_for()

    (look,) = shelf.looks(1)
    assert (look["percent"], look["sign"]) == (15, "white")


@pytest.mark.parametrize("scripts", [True, False])
def test_a_mold_sign_brings_the_caution_and_takes_the_smell_away(served, shelf, browser, scripts):
    """At once, on the page itself, scripts or not; and leads to what to do."""
    code = shelf.codes[1]
    with opened(browser, scripts=scripts) as page:
        page.goto(f"{served.home}/j/{code}/look")
        page.locator("summary", has_text="Note, photo").click()
        assert page.get_by_label("A smell").is_visible()
        assert page.get_by_role("note").count() == 0
        page.get_by_label("Blue-green").check()
        page.get_by_role("note").get_by_text("do not smell at it").wait_for()
        assert not page.get_by_label("A smell").is_visible()
        page.get_by_role("button", name="Keep the look").click()
        page.get_by_role("heading", name="What became of").wait_for()
        assert page.get_by_label("Spoiled").is_checked()


def test_many_looks_without_the_network(served, shelf, browser):
    """A wrong code is refused on the phone; good ones wait there and arrive once each."""
    with opened(browser) as page:
        page.goto(f"{served.home}/look")
        page.context.set_offline(True)
        box = page.get_by_label("Code of the jar")
        box.fill("2223")
        page.get_by_role("button", name="Keep, then").click()
        page.get_by_text("One sign is wrong, or two are swapped").wait_for()
        for place, share in ((0, 50), (1, 75), (2, 25)):
            box.fill(shelf.codes[place].lower())
            page.get_by_label(f"{share} percent").check()
            page.get_by_label("As expected").check()
            page.get_by_role("button", name="Keep, then").click()
            page.get_by_text("Kept on this device").wait_for()
            assert box.input_value() == ""
        waits(page, "3 entries wait")
        assert len(shelf.looks(0)) == 1
        page.context.set_offline(False)
        page.wait_for_function("() => document.querySelector('#waiting').hidden")
        page.get_by_text("Sent: the computer has it now").wait_for()

    assert [shelf.looks(place)[-1]["percent"] for place in range(3)] == [50, 75, 25]
    assert [len(shelf.looks(place)) for place in range(3)] == [2, 1, 1]


def test_the_phone_judges_codes_as_the_book_does(served, shelf, browser):
    """In the browser's own engine: good codes, wrong signs, swaps, letters that no code has."""
    good = [code_of(number) for number in (0, 1, 50, 12_166, 12_167, 200_000)]
    bad = [f"{sign}T36" for sign in SIGNS if sign != "C"] + ["TC36", "CT3", "B222"]
    with opened(browser) as page:
        page.goto(f"{served.home}/look")
        judged = page.evaluate(
            """async (words) => {
                const address = document.querySelector('script[src*="codes.js"]').src;
                const { faultOf } = await import(address);
                return words.map((word) => faultOf(word) === "");
            }""",
            good + bad,
        )

    assert judged == [True] * len(good) + [False] * len(bad)


def test_a_photo_from_the_album(served, shelf, browser):
    """The file box asks for no camera, so that the phone offers both; the photo is in the story."""
    file = io.BytesIO()
    Image.new("RGB", (600, 400), (90, 140, 90)).save(file, "JPEG")
    code = shelf.codes[1]
    with opened(browser) as page:
        page.goto(f"{served.home}/j/{code}/look")
        page.locator("summary", has_text="Note, photo").click()
        box = page.get_by_label("Photos")
        assert box.get_attribute("capture") is None
        box.set_input_files(
            {"name": "jar.jpg", "mimeType": "image/jpeg", "buffer": file.getvalue()}
        )
        page.get_by_label("As drawn").check()
        page.get_by_role("button", name="Keep the look").click()
        page.get_by_role("img", name=f"Photo of jar {code}").wait_for()


def test_a_forecast_appears_by_itself(served, browser):
    """The page shows itself again while one is worked out, and only then."""
    shelf = ShelfBook(served.desk)
    with opened(browser) as page:
        page.goto(f"{served.home}/j/{shelf.codes[0]}")
        page.get_by_text("being worked out").wait_for()
        (key,) = served.desk.compute.asked
        served.desk.compute.ready[key] = json.dumps(CURVE)
        page.get_by_text("Ready in 1 to 14 days").wait_for()
        assert page.get_by_text("being worked out").count() == 0


def test_the_worker_works_it_out(served, browser):
    """With the process beside the server, and the models in it."""
    from spawnwright.web.compute import Compute

    shelf = ShelfBook(served.desk)
    served.desk.compute = Compute()
    with opened(browser) as page:
        page.goto(f"{served.home}/j/{shelf.codes[0]}")
        for _ in range(60):
            if page.get_by_role("heading", name="Forecast").count():
                break
            page.wait_for_timeout(250)
            page.reload()
        page.get_by_text("White to the last corner").wait_for()


def test_a_chart_is_drawn_beside_its_tables(served, shelf, browser):
    """Lines and points on a canvas of the page's width; the tables say the same."""
    with opened(browser) as page:
        page.goto(f"{served.home}/j/{shelf.codes[0]}/chart")
        page.locator(".chart canvas").wait_for()
        wide = page.locator(".chart canvas").bounding_box()["width"]
        assert 250 < wide <= PHONE[0]
        assert page.get_by_role("table").count() >= 2
        assert faults(page) == []


PATHS = ("/shelf", "/shelf?which=asking", "/shelf/past", "/look", "/round")


@pytest.mark.parametrize(("size", "dark"), [(PHONE, False), (LAPTOP, True)])
def test_nothing_is_in_the_way_of_anybody(served, shelf, browser, size, dark):
    """Axe finds nothing on any of these pages, full or empty; no page scrolls sideways."""
    code = shelf.codes[0]
    own = [f"/j/{code}", f"/j/{code}/look", f"/j/{code}/outcome?outcome=spoiled"]
    shelf.look(1, percent=60, sign="green", place="at the lid")
    found = {}
    with opened(browser, size, dark) as page:
        for path in (*PATHS, *own, f"/j/{shelf.codes[1]}", f"/j/{shelf.waiting}"):
            page.goto(f"{served.home}{path}")
            found[path] = faults(page)

    assert found == {path: [] for path in found}


def test_empty_pages_are_good_to_everybody(served, browser):
    """Before the first jar."""
    with opened(browser) as page:
        for path in PATHS:
            page.goto(f"{served.home}{path}")
            assert faults(page) == [], path


def test_what_is_tapped_is_large_enough(served, shelf, browser):
    """44 pixels, on a phone; and no box is so small that a phone zooms in."""
    with opened(browser) as page:
        page.goto(f"{served.home}/j/{shelf.codes[0]}/look")
        page.locator("summary", has_text="Note, photo").click()
        small = page.evaluate(
            """() => [...document.querySelectorAll(
                'main :is(button, summary, .pick label, input:not([type=hidden], [type=radio]))',
            )]
              .filter((each) => each.checkVisibility())
              .filter((each) => each.getBoundingClientRect().height < 43.5)
              .map((each) => each.outerHTML.slice(0, 80))"""
        )
        sizes = page.evaluate(
            """() => [...document.querySelectorAll('main input, main textarea, main select')]
              .map((each) => parseFloat(getComputedStyle(each).fontSize))"""
        )

    assert small == []
    assert min(sizes) >= 16
