"""Cultures, inoculation, blocks, stock, costs, doubt, what was said: from form to book and back."""

from __future__ import annotations

from datetime import timedelta

import pytest

from spawnwright.actions.book import culture as book_culture
from spawnwright.actions.book import inoculate as book_inoculate
from spawnwright.actions.book.doubt import active_quarantines
from spawnwright.actions.book.jars import Hand, fill_jars
from spawnwright.records.book.steps import Entry, Step
from spawnwright.store.book.history import current
from spawnwright.store.book.journal import keep
from tests.web.conftest import NOW, step_of


def hand(hours_ago=0.0, step=""):
    return Hand("Ada", "this computer", NOW - timedelta(hours=hours_ago), step)


@pytest.fixture
def culture(desk):
    """A liquid culture of blue oyster, 100 mL."""
    about = {"name": "LC 1", "form": "liquid culture", "volume_ml": 100.0}
    strain = {"name": "Blue 7", "species": "blue-oyster"}
    return book_culture.new_culture(desk.book, hand(200), about, NOW, strain).record


@pytest.fixture
def jars(desk, culture):
    """Four quarts inoculated from it: ids by code."""
    made = fill_jars(desk.book, hand(150), 4, {"jar_kind": "quart", "fill": 0.7}, NOW)
    book_inoculate.inoculate(desk.book, hand(100), culture, list(made.values()), NOW,
                             {"dose_ml": 2.0})  # fmt: skip
    return made


@pytest.mark.parametrize(
    "path",
    ["/more", "/cultures", "/cultures/new", "/inoculate", "/doubt", "/blocks", "/blocks/new",
     "/stock", "/costs", "/lots", "/history", "/settle", "/runs", "/runs/new"],
)  # fmt: skip
def test_each_page_is_there_when_the_book_is_empty(client, path):
    """An empty state says what to do first, and is no error."""
    answer = client.get(path)

    assert answer.status_code == 200
    assert "<h1>" in answer.text


def test_a_culture_with_a_new_strain_is_entered(client):
    """Name, form, species are enough; the next page offers to undo it."""
    form = {"step": step_of(client.get("/cultures/new").text), "name": "Lion LC", "form": "syringe",
            "species": "blue-oyster", "volume": "12"}  # fmt: skip

    answer = client.post("/cultures/new", data=form)

    assert "12 mL" in answer.text
    assert "Kept: culture Lion LC" in answer.text


def test_a_culture_without_strain_is_refused(client):
    """Of what species it is decides everything later."""
    form = {"step": "0123456789abcdef", "name": "Nameless", "form": "agar"}

    answer = client.post("/cultures/new", data=form)

    assert answer.status_code == 422
    assert "of which species" in answer.text
    assert 'value="Nameless"' in answer.text


def test_inoculation_takes_doses_off_the_culture(client, desk, culture):
    """Three jars at 2 mL leave 94 of 100."""
    made = fill_jars(desk.book, hand(5), 3, {"jar_kind": "quart", "fill": 0.7}, NOW)
    form = {"step": "0123456789abcdef", "culture": culture, "jar": list(made.values()),
            "dose": "2", "way": "spread"}  # fmt: skip

    client.post("/inoculate", data=form)

    assert "94 mL" in client.get(f"/cultures/{culture}").text


def test_grain_to_grain_names_a_jar_by_its_code(client, desk, jars):
    """The jar it is from is used up by it, and the generation follows."""
    fresh = fill_jars(desk.book, hand(5), 2, {"jar_kind": "quart", "fill": 0.7}, NOW)
    source = next(iter(jars))
    form = {"step": "0123456789abcdef", "from_jar": source.lower(), "jar": list(fresh.values()),
            "dose_g": "60"}  # fmt: skip

    client.post("/inoculate", data=form)

    with desk.book.read() as connection:
        assert current(connection, [jars[source]])[jars[source]]["outcome"] == "used"


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ({"jar": ["abcdefgh"]}, "From which culture"),
        ({"culture": "abcdefgh"}, "No jar is ticked"),
        ({"culture": "abcdefgh", "from_jar": "CT36", "jar": ["x"]}, "both named"),
        ({"from_jar": "CT37", "jar": ["abcdefgh"]}, "no code of a jar"),
    ],
)
def test_an_inoculation_that_cannot_be_is_refused(client, form, said):
    """With the sentence, and nothing kept."""
    answer = client.post("/inoculate", data={"step": "0123456789abcdef"} | form)

    assert answer.status_code == 422
    assert said in answer.text or "no culture in the book" in answer.text


def test_spawn_is_used_and_a_harvest_counted(client, desk, jars):
    """From jars to a bucket to a flush: the page says what was picked of the substrate."""
    first, second, *_ = jars
    form = {"step": "0123456789abcdef", "jars": f"{first} {second}", "spawn": "1100",
            "name": "Straw 1", "container": "bucket", "substrate_kg": "10"}  # fmt: skip

    page = client.post("/blocks/new", data=form)
    block = str(page.url).rsplit("/", 1)[-1].split("?")[0]
    harvest = {"step": "0123456789abcdea", "mass": "1250", "flush": "1"}
    answer = client.post(f"/blocks/{block}/harvest", data=harvest)

    assert "spawn rate 11.0" in page.text
    assert "1.25 kg" in answer.text
    assert "12 % of the wet substrate" in answer.text


def test_nothing_is_harvested_by_mistake(client):
    """No mass is no harvest."""
    answer = client.post("/blocks/abcdefgh/harvest", data={"step": "0123456789abcdef", "mass": "0"})

    assert answer.status_code == 422
    assert "above 0" in answer.text


def test_quarantine_marks_what_came_of_a_culture_and_lifting_frees_it(client, desk, culture, jars):
    """One step marks; the codes still here are named; lifting needs a reason or none."""
    form = {"step": "0123456789abcdef", "record": culture, "why": "two green jars"}

    marked = client.post("/doubt/quarantine", data=form).text
    with desk.book.read() as connection:
        (row,) = active_quarantines(connection)
    lifting = {"step": "0123456789abcdea", "seen": row["seen"], "why": "tested"}
    lifted = client.post(f"/doubt/{row['id']}/lift", data=lifting)

    assert all(code in marked for code in jars)
    assert "two green jars" in marked
    assert "In quarantine now" in lifted.text
    assert "two green jars" not in lifted.text


def test_a_recall_is_asked_by_any_name(client, jars):
    """The strain's name leads to all jars of it; an unknown one offers the nearest."""
    found = client.get("/doubt", params={"named": "blue 7"}).text
    unknown = client.get("/doubt", params={"named": "blue 8"}).text

    assert "4 jars, 4 of them still here" in found
    assert "Did you mean Blue 7" in unknown


def test_the_stock_counts_fillings_by_itself(client, jars):
    """Twelve bought, four out: eight free; counting sets the whole."""
    client.post("/stock", data={"step": "0123456789abcdef", "item": "quart", "count": "12",
                                "reason": "bought"})  # fmt: skip
    counted = client.post("/stock", data={"step": "0123456789abcdea", "item": "quart",
                                          "count": "10", "reason": "counted"}).text  # fmt: skip
    broken = client.post("/stock", data={"step": "0123456789abcdeb", "item": "quart",
                                         "count": "1", "reason": "broken"}).text  # fmt: skip

    assert "<strong>6</strong>" in counted
    assert "<strong>5</strong>" in broken


def test_costs_are_summed_by_year_and_unit(client):
    """Money and hours are never added together."""
    for step, amount, unit in (("a", "14,50", "EUR"), ("b", "5.50", "EUR"), ("c", "3", "h")):
        client.post("/costs", data={"step": f"0123456789abcde{step}", "what": "rye",
                                    "amount": amount, "unit": unit})  # fmt: skip

    page = client.get("/costs").text

    assert "20.00 EUR" in page
    assert "3.0 h" in page


def test_what_two_devices_said_differently_is_shown_and_settled(client, desk, jars):
    """Both values stand with who and where; choosing one ends it."""
    code, jar = next(iter(jars.items()))
    with desk.book.read() as connection:
        seen = tuple(current(connection, [jar])[jar]["seen"].split())
    for step, device, place in (("s1-from-phone", "phone", "cellar"),
                                ("s2-from-laptop", "laptop", "shed")):  # fmt: skip
        entry = Entry(jar, "jar", {"stored_where": place}, seen)
        keep(desk.book, Step(step, NOW.isoformat(), "Ada", device, "move", (entry,)), NOW)

    page = client.get("/settle").text
    with desk.book.read() as connection:
        both = current(connection, [jar])[jar]["seen"]
    form = {"step": "0123456789abcdef", "seen": both, "field": "stored_where", "value": '"shed"'}
    answer = client.post(f"/record/{jar}/settle", data=form)

    assert code in page
    assert "cellar" in page
    assert "shed" in page
    assert "said differently" not in answer.text.split("Entries")[0].split("Kept:")[-1][60:]
    assert "Nothing." in client.get("/settle").text


def test_the_record_page_tells_who_said_what(client, culture):
    """Every entry with device and fields."""
    page = client.get(f"/record/{culture}").text

    assert "What was said of culture LC 1" in page
    assert "this computer" in page
    assert client.get("/record/no-such-record").status_code == 404


def test_lots_and_lids_are_entered_and_counted(client):
    """A box of lids, and lids made from it: the box then has one use."""
    lot = {"step": "0123456789abcdef", "name": "Box of 24", "what": "lids"}
    page = client.post("/lots", data=lot).text
    box = page.split('<option value="')[-1].split('"')[0]
    made = {"step": "0123456789abcdea", "kind": "lids made", "name": "Silicone lids", "lids": "24",
            "port": "silicone", "filter": "0.22 µm", "lot": box}  # fmt: skip

    page = client.post("/lots", data=made).text

    assert "Silicone lids" in page
    assert "1 use<" in page
    assert client.post("/lots", data=made | {"name": ""}).status_code == 422
