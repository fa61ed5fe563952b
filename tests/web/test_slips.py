"""Slips of the finger: what cannot be is said in a sentence, and what was typed stays."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import text

from spawnwright.actions.book.jars import Hand, fill_jars
from tests.web.conftest import NOW
from tests.web.planned_book import started, tasks

YEARS = [("0026-11-20", "too long ago"), ("1900-01-01", "too long ago"),
         ("2300-01-01", "yet to come"), ("9999-12-31", "yet to come")]  # fmt: skip
FORMS = {
    "/costs": ({"what": "rye", "amount": "31", "unit": "EUR"}, "spent_on"),
    "/lots": ({"name": "Rye, sack 2", "what": "grain"}, "bought_on"),
    "/cultures/new": (
        {"name": "Blue LC 2", "form": "liquid culture", "species": "blue-oyster"}, "made_on",
    ),
    "/jars/new": ({"count": "3", "jar": "quart", "species": "blue-oyster"}, "filled"),
}  # fmt: skip


@pytest.mark.parametrize(("day", "said"), YEARS)
@pytest.mark.parametrize("path", FORMS)
def test_a_year_that_cannot_be(client, path, day, said):
    """A year of which a sign is missing, as browsers send it, would make a jar 730,000 days old."""
    fields, name = FORMS[path]
    answer = client.post(path, data=fields | {name: day})

    assert answer.status_code == 422
    assert said in answer.text
    assert f'value="{day}"' in answer.text
    assert client.post(path, data=fields | {name: "2026-11-20"}).status_code == 200


@pytest.mark.parametrize(
    ("typed", "kept"), [("eur", "31.00 EUR"), ("H", "31.0 h"), ("hours", "31.0 h")]
)
def test_one_currency_is_one_sum(client, typed, kept):
    """Small letters once, capitals another time."""
    client.post("/costs", data={"what": "rye", "amount": "31", "unit": typed})

    assert kept in client.get("/costs").text


@pytest.mark.parametrize(("unit", "amount"), [("€", "31"), ("a lot", "31"), ("EUR", "1e26")])
def test_what_is_no_sum_of_money(client, unit, amount):
    """Refused, with what was typed still there."""
    answer = client.post("/costs", data={"what": "rye", "amount": amount, "unit": unit})

    assert answer.status_code == 422
    assert f'value="{unit}"' in answer.text


def test_grain_that_weighs_nothing(client, desk):
    """A scale that was not read is left out; 0 kg would be kept as a wish fulfilled."""
    batch = started(desk.book)
    task = next(each for each in tasks(desk.book, batch, desk.now()).values()
                if each.kind == "weigh")  # fmt: skip
    answer = client.post(f"/batches/{batch}/weigh/{task.id}", data={"drained": "0", "dry": "2"})

    assert answer.status_code == 422
    assert "The drained grain is 0" in answer.text


@pytest.mark.parametrize(
    ("zone", "now", "day"),
    [("America/New_York", "2026-11-26T01:30Z", "2026-11-25"),
     ("Europe/Berlin", "2026-11-25T23:30Z", "2026-11-26")],
)  # fmt: skip
def test_today_is_the_day_of_the_kit(client, desk, zone, now, day):
    """An evening in New York is tomorrow by UTC; without scripts a page knows no other clock."""
    desk.clock = lambda: datetime.fromisoformat(now).astimezone(UTC)
    desk.zone = lambda: ZoneInfo(zone)
    client.post("/costs", data={"what": "rye", "amount": "31", "unit": "EUR"})

    with desk.book.read() as connection:
        assert connection.execute(text("SELECT spent_on FROM costs")).scalar() == day


@pytest.mark.parametrize("value", ["", "white", "[", "1 2", "\ud800"])
def test_a_value_to_settle_that_no_page_offers(client, value):
    """No mistake of the program."""
    said = {"field": "percent", "value": value.encode("utf-8", "replace").decode()}

    assert client.post("/record/0123456789abcdef/settle", data=said).status_code == 422


def test_more_than_there_are_do_not_break(client):
    """A zero too many would leave a household with minus so many jars."""
    stock = {"item": "quart", "reason": "bought", "count": "12"}
    client.post("/stock", data=stock)
    answer = client.post("/stock", data=stock | {"reason": "broken", "count": "20"})

    assert answer.status_code == 422
    assert "The book has 12 of these" in answer.text
    for count in ("2", "10"):
        answer = client.post("/stock", data=stock | {"reason": "broken", "count": count})
        assert answer.status_code == 200


def test_a_code_that_was_typed_twice_does_not_halve_the_spawn(client, desk):
    """All of 400 g came from the one jar."""
    made = fill_jars(desk.book, Hand("Ada", "phone", NOW), 2, {"jar_kind": "quart"}, NOW)
    first, second = made
    form = {"name": "Bucket", "container": "bucket", "spawn": "400 g"}
    answer = client.post("/blocks/new", data=form | {"jars": f"{first} {first.lower()}"})
    assert answer.status_code == 200
    with desk.book.read() as connection:
        assert connection.execute(text("SELECT spawn_kg FROM uses")).scalars().all() == [0.4]

    client.post("/blocks/new", data=form | {"jars": second})
    with desk.book.read() as connection:
        assert connection.execute(text("SELECT sum(spawn_kg) FROM uses")).scalar() == 0.8


@pytest.mark.parametrize(
    ("path", "name"),
    [("/look", "code"), ("/round", "codes"), ("/blocks/new", "jars"), ("/jars/new", "filled"),
     ("/doubt/quarantine", "record"), ("/kit", "time_zone")],
)  # fmt: skip
def test_what_is_far_too_long_is_named_by_its_beginning(client, path, name):
    """Something pasted by mistake: not five thousand letters above the form."""
    form = {"count": "3", "why": "smells", "percent": "5", "name": "Bucket", "container": "bucket"}
    answer = client.post(path, data=form | {name: "x" * 5000})

    assert answer.status_code == 422
    alert = re.search(r'(?s)<main.*', answer.text)[0]  # fmt: skip
    said = re.sub(r'value="x+"|<textarea[^>]*>[^<]*</textarea>', "", alert)
    assert "xxxxx" in said
    assert "x" * 100 not in said
