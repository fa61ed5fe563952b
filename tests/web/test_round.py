"""A round: one look for each jar in one step, exceptions with their own, what is left out."""

from __future__ import annotations

import re

import pytest

from spawnwright.actions.book.past import recent_steps
from tests.web.conftest import step_of
from tests.web.shelf_book import ShelfBook


@pytest.fixture
def shelf(desk):
    """Four jars with culture, one waiting, one control; all have their forecast."""
    made = ShelfBook(desk)
    made.forecast()
    return made


def post(client, shelf, jars=None, **fields):
    """Post the round as its page's form would: each jar in a hidden box."""
    page = client.get(f"/round/{shelf.batch}").text
    listed = re.findall(r'name="jar" value="([0-9a-f]+)"', page)
    step = fields.pop("step", None) or step_of(page)
    data = {"step": step, "jar": listed if jars is None else jars, **fields}
    return client.post(f"/round/{shelf.batch}", data=data)


def test_the_round_shows_each_jar_with_its_drawing(client, shelf):
    """Jars with culture and the control; not the one that waits."""
    page = client.get(f"/round/{shelf.batch}").text

    assert "All 5 as expected" in page
    assert f"/j/{shelf.control}" in page
    assert f"/j/{shelf.waiting}" not in page
    assert page.count('class="glyph"') == 5


def test_one_tap_keeps_a_look_for_each_jar_as_one_step(client, shelf, desk):
    """Five looks, one step, one undo."""
    answer = post(client, shelf)
    with desk.book.read() as connection:
        last = recent_steps(connection, 1)[0].step

    assert [len(shelf.looks(place)) for place in range(6)] == [1, 1, 1, 1, 0, 1]
    assert {look["sign"] for place in range(4) for look in shelf.looks(place)} == {"as expected"}
    assert last.title == "round of 5 jars"
    assert answer.url.path == "/shelf"


def test_an_exception_is_kept_as_what_it_is(client, shelf):
    """Its own share, sign and note; the others as expected; mold leads to who needs somebody."""
    jar = shelf.jars[1]
    answer = post(
        client, shelf,
        **{f"percent-{jar}": "40", f"sign-{jar}": "green", f"note-{jar}": "at the lid"},
    )  # fmt: skip
    (look,) = shelf.looks(1)

    assert (look["percent"], look["sign"], look["note"]) == (40, "green", "at the lid")
    assert shelf.looks(0)[0]["sign"] == "as expected"
    assert "which=asking" in str(answer.url)


def test_a_jar_may_be_left_out(client, shelf):
    """Not looked at: no look."""
    post(client, shelf, **{f"skip-{shelf.jars[2]}": "1"})

    assert shelf.looks(2) == []
    assert len(shelf.looks(0)) == 1


def test_a_jar_with_a_bad_sign_is_not_cleared_by_one_tap(client, shelf):
    """It is left out unless somebody says otherwise."""
    shelf.look(0, days=1, percent=50, sign="green")
    page = client.get(f"/round/{shelf.batch}").text

    assert "The other 4 as expected" in page
    assert re.search(rf'name="skip-{shelf.jars[0]}" value="1" checked', page)


def test_sent_twice_is_kept_once(client, shelf):
    """The step's id is the key."""
    step = step_of(client.get(f"/round/{shelf.batch}").text)
    for _ in range(2):
        post(client, shelf, step=step)

    assert len(shelf.looks(0)) == 1


def test_what_cannot_be_refuses_the_whole_round(client, shelf):
    """A share of 400 %: nothing is kept, and what was typed is there."""
    jar = shelf.jars[1]
    answer = post(client, shelf, **{f"percent-{jar}": "400", f"note-{jar}": "dense"})

    assert answer.status_code == 422
    assert "dense" in answer.text
    assert shelf.looks(0) == shelf.looks(1) == []


def test_a_hundred_and_twenty_jars(client, desk):
    """One page, one step."""
    shelf = ShelfBook(desk, count=120)
    answer = post(client, shelf)

    assert answer.status_code == 200
    assert sum(len(shelf.looks(place)) for place in range(120)) == 120


def test_more_jars_than_a_page_come_on_the_next(client, desk):
    """Two rounds, no jar twice."""
    shelf = ShelfBook(desk, count=160)
    page = client.get(f"/round/{shelf.batch}").text
    more = re.search(r'name="more" value="([A-Z0-9]+)"', page)
    assert more
    answer = post(client, shelf, more=more[1])
    rest = re.findall(r'name="jar" value="([0-9a-f]+)"', answer.text)

    assert answer.url.path == f"/round/{shelf.batch}"
    assert len(rest) == 161 - 150
    assert all(shelf.looks(shelf.jars.index(jar)) == [] for jar in rest)


def test_by_codes(client, shelf):
    """One code a line, as a scanner types them; one wrong code refuses all."""
    step = step_of(client.get("/round").text)
    codes = "\r\n".join([shelf.codes[0].lower(), f"http://x.local/j/{shelf.codes[1]}"])
    bad = client.post("/round", data={"step": step, "codes": f"{codes} 2223", "sign": "white"})
    good = client.post(
        "/round", data={"step": step, "codes": codes, "sign": "white", "percent": "60"}
    )

    assert bad.status_code == 422
    assert "2223" in bad.text
    assert good.status_code == 200
    assert [shelf.looks(place)[0]["percent"] for place in (0, 1)] == [60, 60]


def test_an_empty_round_says_so(client, shelf):
    """No jar of the batch, or no such batch."""
    from tests.web.shelf_book import record

    other = record(shelf.book, "batch", {"name": "Later"})

    assert "No jar of this batch" in client.get(f"/round/{other}").text
    assert client.get("/round/nonesuch").status_code == 404
