"""The shelf: how jars stand against their forecast, which ask for somebody, paging, being empty."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from spawnwright.actions.book.forecast import work_out
from spawnwright.store.book.forecasts import get_forecast
from tests.web.shelf_book import CURVE, ShelfBook, ago, change, hand, record


@pytest.fixture
def shelf(desk):
    """Four jars on day 10 with their forecast (30 to 100 %, likely 80), one waiting, a control."""
    made = ShelfBook(desk)
    made.forecast()
    return made


def tile(page: str, code: str) -> str:
    """What the page shows of one jar."""
    found = re.search(rf'<li><a href="/j/{code}">.*?</a></li>', page, re.DOTALL)
    assert found, f"{code} is not on the page"
    return " ".join(re.sub(r"<[^>]+>", " ", found[0]).replace("\u00a0", " ").split())


def test_an_empty_book_leads_on(client):
    """Nobody is left on an empty page."""
    page = client.get("/shelf").text

    assert "No jar stands here yet" in page
    assert 'href="/plan"' in page


def test_a_jar_says_how_it_stands_in_words(client, shelf):
    """Age, last look, forecast of today and of the end, place: all as text."""
    shelf.look(0, days=2, percent=60, sign="as expected")

    said = tile(client.get("/shelf").text, shelf.codes[0])

    assert "Day 10" in said
    assert "As forecast" in said
    assert "Seen 2 days ago: 60 %" in said
    assert "30 to 100 % white, likely 80 %" in said
    assert "Ready in 1 to 14 days, likely in 7" in said
    assert "shelf 2" in said


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        ({"percent": 15, "sign": "as expected"}, "Behind the forecast"),
        ({"percent": 25, "sign": "as expected"}, "As forecast"),  # an eye is 10 points off
        ({"percent": 60, "sign": "green"}, "Green seen: keep it shut, take it away"),
        ({"percent": 60, "sign": "drops"}, "Drops seen: look again soon"),
        ({"sign": "as expected"}, "Seen as expected"),
        ({"note": "moved"}, "Cannot tell yet: no look says how far"),
    ],
)
def test_a_verdict_follows_from_the_last_look(client, shelf, seen, words):
    """Low is 30 % on day 10; behind is below that by more than an eye may be off."""
    shelf.look(0, **seen)

    assert words in tile(client.get("/shelf").text, shelf.codes[0])


def test_a_bad_sign_is_not_forgotten_by_a_look_without_one(client, shelf):
    """A later look that only says how far it is does not clear mold."""
    shelf.look(0, days=1, percent=60, sign="green")
    shelf.look(0, percent=70)

    assert "Green seen" in tile(client.get("/shelf").text, shelf.codes[0])


def test_pink_is_usual_for_pink_oyster_only(client, desk):
    """What is normal for a species is no alarm."""
    shelf = ShelfBook(desk)
    shelf.forecast()
    shelf.look(0, percent=60, sign="pink")
    before = tile(client.get("/shelf").text, shelf.codes[0])
    with desk.book.read() as connection:
        from spawnwright.store.book.history import current

        seen = tuple(current(connection, [shelf.strain])[shelf.strain]["seen"].split())
    from spawnwright.actions.book.jars import enter
    from spawnwright.records.book.steps import Entry

    entry = Entry(shelf.strain, "strain", {"species": "pink-oyster"}, seen)
    enter(desk.book, hand(), "correct", (entry,), ago(0))
    shelf.forecast()

    assert "Pink seen" in before
    assert "Pink seen" not in tile(client.get("/shelf").text, shelf.codes[0])


def test_white_all_round_waits_for_the_inside(client, shelf):
    """Ready follows white by what the forecast leaves between them: 17 less 14 days."""
    shelf.look(0, days=1, percent=100, sign="white")
    shelf.look(1, days=4, percent=100, sign="white")
    page = client.get("/shelf").text

    assert "ready in about 2 days" in tile(page, shelf.codes[0])
    assert "Ready to use" in tile(page, shelf.codes[1])


def test_a_jar_that_nobody_saw_for_long_asks(client, shelf):
    """Four days without a look."""
    shelf.look(0, days=5, percent=20, sign="as expected")

    assert "Not looked at for 5 days" in tile(client.get("/shelf").text, shelf.codes[0])


def test_waiting_and_control_jars_have_no_forecast(client, shelf):
    """Nothing is to be expected of them."""
    page = client.get("/shelf").text

    assert "Waits for its culture" in tile(page, shelf.waiting)
    assert "Control, not looked at yet Control" in tile(page, shelf.control)


def test_growth_in_a_control_is_trouble(client, shelf):
    """Nothing was put into it."""
    shelf.look(-1, percent=5)

    assert "A control, and something grows in it" in tile(client.get("/shelf").text, shelf.control)


def test_what_needs_somebody_is_found(client, shelf):
    """The bad sign first, then the late one; not the good one."""
    shelf.look(0, percent=60, sign="green")
    shelf.look(1, percent=60, sign="as expected")
    shelf.look(2, days=1, percent=5, sign="as expected")
    page = client.get("/shelf?which=asking").text

    assert tile(page, shelf.codes[0])
    assert tile(page, shelf.codes[2])
    assert page.index(f"/j/{shelf.codes[0]}") < page.index(f"/j/{shelf.codes[2]}")
    assert f"/j/{shelf.codes[1]}" not in page


def test_nothing_to_do_is_said(client, shelf):
    """The empty list of what needs somebody is good news, and says so."""
    for place in range(4):
        shelf.look(place, percent=60, sign="as expected")

    assert "None of 6 jars needs you" in client.get("/shelf?which=asking").text


def test_a_quarantine_upstream_marks_the_jars(client, shelf):
    """Doubt about the culture is doubt about its jars, by word and shape."""
    record(shelf.book, "quarantine", {"record": shelf.culture, "at": ago(1), "why": "sour"}, 1)
    page = client.get("/shelf").text

    assert "In doubt: sour" in tile(page, shelf.codes[0])
    assert "In doubt" not in tile(page, shelf.waiting)
    assert f"/j/{shelf.codes[0]}" in client.get("/shelf?which=asking").text


def test_one_batch_alone(client, shelf):
    """With its name and a way to its round."""
    from spawnwright.actions.book.jars import fill_jars

    other = fill_jars(shelf.book, hand(1), 1, {"jar_kind": "pint"}, ago(1))
    page = client.get(f"/shelf?batch={shelf.batch}").text

    assert "Shelf: November" in page
    assert f'href="/round/{shelf.batch}"' in page
    assert f"/j/{next(iter(other))}" not in page
    assert f"/j/{next(iter(other))}" in client.get("/shelf").text


def test_a_hundred_a_page_and_no_jar_twice(client, desk):
    """Every jar comes once, whatever page it is on."""
    shelf = ShelfBook(desk, count=248)
    met, address = [], "/shelf"
    for _ in range(5):
        page = client.get(address).text
        met.append(re.findall(r'<li><a href="/j/([A-Z0-9]+)">', page))
        following = re.search(r'rel="next" href="([^"]+)"', page)
        if not following:
            break
        address = following[1].replace("&amp;", "&")

    assert [len(each) for each in met] == [100, 100, 50]
    assert sorted(code for each in met for code in each) == sorted(shelf.codes)


def test_those_in_need_are_found_beyond_the_first_page(client, desk):
    """A page looks through 150 jars, says so, and leads on to the rest."""
    shelf = ShelfBook(desk, count=198)
    shelf.forecast()
    last = min(shelf.codes)  # filled in one instant, so the codes give the order
    shelf.look(shelf.codes.index(last), percent=100, sign="white")
    page = client.get("/shelf?which=ready").text
    following = re.search(r'rel="next" href="([^"]+)"', page)

    assert "None of the 150 jars looked through so far" in page
    assert following
    assert f"/j/{last}" in client.get(following[1].replace("&amp;", "&")).text


def test_past_jars_have_their_outcome(client, shelf):
    """On a page of their own, by outcome."""
    change(shelf.book, shelf.jars[0], {"outcome": "used", "outcome_at": ago(1)}, 1)
    change(shelf.book, shelf.jars[1], {"outcome": "spoiled", "outcome_at": ago(1)}, 1)
    all_, spoiled = client.get("/shelf/past").text, client.get("/shelf/past?outcome=spoiled").text

    assert f"/j/{shelf.codes[0]}" in all_
    assert f"/j/{shelf.codes[1]}" in all_
    assert f"/j/{shelf.codes[0]}" not in spoiled
    assert f"/j/{shelf.codes[1]}" in spoiled
    assert f"/j/{shelf.codes[0]}" not in client.get("/shelf").text


def test_a_forecast_is_begun_once_and_shown_when_it_is_there(client, desk):
    """The page does not wait; jars that are alike share one question; the answer is kept."""
    shelf = ShelfBook(desk)
    first = client.get("/shelf").text
    ((key, asked),) = desk.compute.asked.items()
    desk.compute.ready[key] = json.dumps(CURVE)
    second = client.get("/shelf").text

    assert "Forecast being worked out" in tile(first, shelf.codes[0])
    assert "data-again" in first
    assert asked[0] is work_out
    assert "Ready in 1 to 14 days" in tile(second, shelf.codes[0])
    assert "data-again" not in second
    with desk.book.read() as connection:
        assert get_forecast(connection, key) is not None


def test_without_a_forecast_a_jar_is_drawn_as_it_was_seen(client, desk):
    """Bare grain beside "seen: 80 %" would say two things."""
    shelf = ShelfBook(desk)
    shelf.look(0, days=0.5, percent=80)

    page = client.get("/shelf").text

    assert "Forecast being worked out" in tile(page, shelf.codes[0])
    assert 'aria-label="Seen last: 80 % white"' in page


def test_what_the_model_refuses_is_said_and_not_asked_again(client, desk):
    """A species that no catalog has."""
    shelf = ShelfBook(desk)
    shelf.forecast(problem="There is no such species.", day=[])
    page = client.get(f"/j/{shelf.codes[0]}").text

    assert "There is no such species." in page
    assert not desk.compute.asked


def test_shelf_of_a_strange_address_is_no_mistake(client, shelf):
    """What somebody types into the address is answered, or has no match, but breaks nothing."""
    for query in ("after=x", "after=a%20b", "which=nonsense", "batch=nonesuch", "after=%00%20%00"):
        assert client.get(f"/shelf?{query}").status_code == 200
    assert client.get("/shelf?batch=a%00b").status_code == 404
    assert client.get("/round/a%00b").status_code == 404


_SERVES = """
import sys
from starlette.testclient import TestClient
from spawnwright.store.book.engine import open_book
from spawnwright.web.app import make_app
from spawnwright.web.desk import Address, Desk
from tests.web.conftest import HOME, NOW
from tests.web.shelf_book import ShelfBook

desk = Desk(open_book(sys.argv[1]), Address(), clock=lambda: NOW)
shelf = ShelfBook(desk)
shelf.forecast()
shelf.look(0, percent=40, sign="green")
code, other = shelf.codes[:2]
with TestClient(make_app(desk), base_url=HOME, client=("127.0.0.1", 1)) as client:
    for path in ("/shelf", "/shelf?which=asking", "/shelf/past", "/look", "/round",
                 f"/j/{code}", f"/j/{code}/look", f"/j/{code}/chart", f"/j/{code}/outcome",
                 f"/round/{shelf.batch}"):
        answer = client.get(path)
        assert answer.status_code == 200, (path, answer.text[:2000])
    sent = client.post(f"/j/{other}/look", data={"step": "a" * 20, "far": "less", "sign": "white"},
                       headers={"Origin": HOME})
    assert sent.status_code == 200, sent.text[:2000]
desk.close()
print(sorted({"numpy", "scipy", "pint"} & set(sys.modules)))
"""


def test_the_server_loads_no_model(tmp_path):
    """In a process of its own, which has drawn every page of the shelf and kept a look."""
    root = Path(__file__).parents[2]
    home = {"SPAWNWRIGHT_HOME": str(tmp_path), "PYTHONPATH": f"{root / 'src'}:{root}", "TZ": "UTC"}
    done = subprocess.run(
        [sys.executable, "-c", _SERVES, str(tmp_path / "book.db")],
        capture_output=True, text=True, env=os.environ | home,
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "[]"
