"""From the wish's form to a plan, and from a plan to a batch."""

from __future__ import annotations

import pickle
import re
from datetime import timedelta
from html import unescape

import pytest

from spawnwright.actions.book.batches import finish_task
from spawnwright.actions.planning.asked import planned
from spawnwright.errors import SpawnwrightError, Unusable
from spawnwright.web.pages import plan as plan_pages
from tests.web.conftest import NOW, step_of
from tests.web.planned_book import hand, started, tasks, wish_and_plan

WISH = {"amount": "5", "amount_of": "jars", "species": "blue-oyster", "ready_by": "2026-12-31",
        "jar": "quart", "jars_free": "7", "grain": "rye", "canner": "two-layer",
        "elevation": "500", "sat_from": "08:00", "sat_until": "22:00", "sun_from": "08:00",
        "sun_until": "22:00", "mon_from": "08:00", "mon_until": "22:00", "tue_from": "17:00",
        "tue_until": "22:00"}  # fmt: skip


@pytest.fixture
def asked(desk, monkeypatch):
    """The worker's sums done here, and counted: only one test needs the worker itself."""
    calls = []

    def answer(work, *arguments):
        calls.append(work)
        try:
            return planned(*arguments)
        except SpawnwrightError as problem:
            raise Unusable(str(problem)) from None

    monkeypatch.setattr(desk.compute, "answer", answer)
    monkeypatch.setattr(plan_pages, "PLANS", KEPT)
    return calls


KEPT = plan_pages.Plans()
"""Shared by the tests of this file: each wish is planned once."""


def hidden(page: str, name: str) -> str:
    """The value of a hidden field."""
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    assert found, f"the page carries no {name}"
    return unescape(found[1])


def made(client, page: str, **changes: str):
    """Take the plan on a page."""
    form = {"step": step_of(page), "wish": hidden(page, "wish"), "as_of": hidden(page, "as_of")}
    return client.post("/plan", data=form | {"name": "First"} | changes)


def test_the_form_is_filled_in_from_the_kit(client, desk):
    """Nobody is asked twice; what the kit does not know has a usual value."""
    from spawnwright.actions.own_kit.kit import change_kit

    change_kit({"elevation": "1200 m", "jar": "pint", "canner": "one-layer"})

    page = client.get("/plan").text

    assert re.search(r'name="elevation" value="1200"', page)
    assert '<option value="pint" selected>' in page
    assert '<option value="one-layer" selected>' in page
    assert '<option value="blue-oyster" selected>' in page


def test_a_wish_that_can_be_met(client, asked):
    """Chance, band, amounts, runs, dated steps with their cautions."""
    page = client.get("/plan", params=WISH).text

    assert asked == [plan_pages.WORK]
    assert "<h1>5 good jars of blue oyster</h1>" in page
    assert re.search(r"Chance of meeting it</dt><dd>(8\d|9\d) %", page)
    assert re.search(r"<svg[^>]* aria-label=\"Ready between \w{3} \d+ Dec and", page)
    assert re.search(r"Dry grain</dt><dd>1\.\d\d kg", page)
    assert "Hold 135 min at 15 psi" in page
    assert "The gauge cannot tell air from steam" in page
    assert "Make this my batch" in page


def test_a_wish_that_cannot_be_met(client, asked):
    """What binds and what would free it, in words of the form; the form keeps what was typed."""
    page = client.get("/plan", params=WISH | {"jars_free": "4"}).text

    assert "Not as things stand." in page
    assert "4 jars and 4 lids" in page
    assert "7 of each on the day" in page
    assert re.search(r'name="jars_free" value="4"', page)
    assert "Make this my batch" not in page


def test_what_is_wrong_is_said_and_nothing_is_lost(client, asked):
    """The sums are not even asked."""
    answer = client.get("/plan", params=WISH | {"elevation": "5 apples", "amount": "6"})

    assert answer.status_code == 422
    assert "Your elevation above the sea: " in answer.text
    assert re.search(r'name="elevation" value="5 apples"', answer.text)
    assert re.search(r'name="amount"[^>]* value="6"', answer.text)
    assert asked == []


def test_what_the_planner_refuses_is_said(client, asked):
    """A day on which nobody could be ready."""
    answer = client.get("/plan", params=WISH | {"ready_by": "2026-11-28"})

    assert answer.status_code == 422
    assert "That day is too near" in answer.text


def test_a_plan_becomes_a_batch_in_one_tap(client, desk, asked):
    """The plan that was seen, not another one; sent twice, it is kept once."""
    page = client.get("/plan", params=WISH).text
    before = len(asked)

    first = made(client, page)
    again = made(client, page)

    assert first.status_code == 200
    assert first.url.path == again.url.path
    assert "<h1>First</h1>" in first.text
    assert "Kept: start the batch First" in first.text
    assert len(asked) == before
    assert len(tasks(desk.book, first.url.path.rsplit("/", 1)[1], NOW)) > 20


def test_a_plan_of_another_day_is_not_taken(client, desk, asked, monkeypatch):
    """Its first steps may be past by then."""
    page = client.get("/plan", params=WISH).text
    monkeypatch.setattr(desk, "clock", lambda: NOW + timedelta(days=2))

    answer = made(client, page)

    assert answer.status_code == 422
    assert "made on another day" in answer.text
    assert re.search(r'name="jars_free" value="7"', answer.text)


@pytest.mark.parametrize("changes", [{"as_of": "soon"}, {"as_of": "2026-11-25T09:30"},
                                     {"wish": "[wish]"}, {"wish": ""}, {"name": ""}])  # fmt: skip
def test_a_form_that_was_tampered_with_is_refused(client, desk, asked, changes):
    """With a sentence, and nothing is kept."""
    page = client.get("/plan", params=WISH).text

    answer = made(client, page, **changes)

    assert answer.status_code == 422
    assert "Not kept." in answer.text
    assert "No batch goes on" in client.get("/batches").text


def test_a_batch_is_planned_anew_from_where_it_stands(client, desk, asked):
    """What is done stays; what the book knows to be done is filled in."""
    batch = started(desk.book)
    before = tasks(desk.book, batch, NOW)
    for key in ("make-lids", "wash-jars", "soak-1"):
        finish_task(desk.book, hand(NOW), before[key].id, NOW)

    form = client.get("/plan", params={"batch": batch}).text

    assert re.search(r'name="lids_cured" value="7"', form)
    assert re.search(r'name="jars_washed" value="7"', form)
    assert re.search(r'name="soaking" value="1\.\d\d"', form)
    assert re.search(r'name="soaking_since" value="2026-11-25T09:30"', form)
    page = client.get("/plan", params=WISH | {"batch": batch, "lids_cured": "7",
                                              "jars_washed": "7"}).text  # fmt: skip
    answer = made(client, page, batch=batch)
    after = tasks(desk.book, batch, NOW)
    assert answer.url.path == f"/batches/{batch}"
    assert after["soak-1"].done_at == NOW
    assert after["hold-1"].at > before["hold-1"].at


def test_a_plan_comes_back_in_plain_numbers():
    """Taking it from the worker loads no NumPy; test_today.py does so with a real worker."""
    _, found = wish_and_plan()

    assert found.feasible
    assert b"numpy" not in pickle.dumps(found)
