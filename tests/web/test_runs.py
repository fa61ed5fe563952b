"""Runs of the canner on pages: begun with jars, noted, worked out, closed."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import text

from spawnwright.actions.book import run as book_run
from spawnwright.actions.book.jars import Hand, fill_jars
from spawnwright.records.run_log import EVENTS, RunEvent
from spawnwright.units import PSI_PA
from spawnwright.web.pages.runs import DEEDS, NEXT
from tests.web.conftest import NOW, step_of


def hand(minutes_ago=0.0):
    return Hand("Ada", "this computer", NOW - timedelta(minutes=minutes_ago))


@pytest.fixture
def jars(desk):
    """Seven quarts that were just filled: ids by code."""
    return fill_jars(desk.book, hand(120), 7, {"jar_kind": "quart", "fill": 0.7}, NOW)


@pytest.fixture
def run(desk, jars):
    """A run that reached pressure 48 minutes ago."""
    about = {"gauge_pa": 103_421.0, "hold_min": 90.0, "elevation_m": 450.0}
    begun = book_run.begin_run(desk.book, hand(80), about, dict.fromkeys(jars.values(), ""), NOW)
    for minutes, what in ((78, "heat on"), (64, "steady jet"), (54, "vent closed"),
                          (48, "pressure reached")):  # fmt: skip
        event = book_run.event_at(what, NOW - timedelta(minutes=minutes))
        book_run.note_run_event(desk.book, hand(minutes), begun.record, event, NOW)
    return begun.record


def test_every_event_at_the_canner_has_words_and_a_place():
    """A new event of the clock cannot be forgotten on the page."""
    at_canner = set(EVENTS) - {"soak begun", "simmer begun", "spread to dry"}

    assert set(DEEDS) == at_canner
    assert {name for names in NEXT.values() for name in names} == at_canner


def test_loading_ticks_jars_and_begins_a_run(client, jars):
    """From the form to the run's page, with all jars in it."""
    page = client.get("/runs/new").text
    form = {"step": step_of(page), "jar": list(jars.values()), "gauge": "15", "hold": "90",
            "elevation": "450"}  # fmt: skip

    answer = client.post("/runs/new", data=form)

    assert answer.status_code == 200
    assert "7 jars · hold 90 min at 15.0 psi" in answer.text
    assert "Burner is lit" in answer.text


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"hold": "0"}, "sterilizes nothing"),
        ({"hold": "ninety"}, "ninety"),
        ({"gauge": ""}, "Pressure and hold are needed"),
        ({"jar": []}, "No jar is ticked"),
        ({"gauge": "15 bananas"}, "bananas"),
    ],
)
def test_nonsense_is_refused_and_what_was_typed_stays(client, jars, changed, said):
    """The page comes again with the sentence and the other fields as they were."""
    form = {"step": "0123456789abcdef", "jar": list(jars.values())[:3], "gauge": "15",
            "hold": "90", "elevation": "777"} | changed  # fmt: skip

    answer = client.post("/runs/new", data=form)

    assert answer.status_code == 422
    assert said in answer.text
    assert 'value="777"' in answer.text


def test_the_page_of_a_running_run_says_how_long_is_left(client, run):
    """90 planned, 48 gone: 42 left, whatever the heat does."""
    page = client.get(f"/runs/{run}").text

    assert f'data-until="{(NOW + timedelta(minutes=42)).isoformat()}"' in page
    assert "Coldest point, F0 so far" in page
    assert "Never leave a canner on the heat alone" in page
    assert page.index("Tap it when it happens") < page.index("Heat in the jars")
    assert page.count("Turn the heat off.") == 1
    assert "note &#39;" not in page  # the words of the terminal, which has no buttons


def test_an_event_is_noted_and_changes_what_may_come_next(client, run):
    """Pressure lost: the two clocks stand side by side, and the only way on is back or off."""
    page = client.get(f"/runs/{run}").text
    form = {"step": step_of(page), "what": "pressure lost"}

    answer = client.post(f"/runs/{run}/events", data=form)

    assert "Back at pressure" in answer.text
    assert "The rule for canned food" in answer.text
    assert "Kept: pressure lost" in answer.text


def test_an_event_sent_twice_is_kept_once(client, desk, run):
    """A phone that got no answer sends again; the second must not be refused either."""
    form = {"step": "aaaabbbbccccdddd", "what": "pressure lost"}

    first = client.post(f"/runs/{run}/events", data=form, headers={"X-Outbox": "1"})
    second = client.post(f"/runs/{run}/events", data=form, headers={"X-Outbox": "1"})

    with desk.book.read() as connection:
        noted = [each.name for each in book_run.run_events(connection, run)]
    assert (first.status_code, second.status_code) == (200, 200)
    assert noted.count("pressure lost") == 1


def test_what_cannot_have_happened_is_refused(client, run):
    """Opened before the gauge was at zero."""
    form = {"step": "0123456789abcdef", "what": "opened"}

    answer = client.post(f"/runs/{run}/events", data=form)

    assert answer.status_code == 422
    assert "never open a canner before the gauge is at zero" in answer.text


def test_opening_keeps_the_lethality_that_the_core_got(client, desk, run):
    """The band stands on the run for good, and rises from low to high."""
    for minutes, what in ((6, "heat off"), (3, "zero pressure")):
        event = book_run.event_at(what, NOW - timedelta(minutes=minutes))
        book_run.note_run_event(desk.book, hand(minutes), run, event, NOW)
    form = {"step": "0123456789abcdef", "what": "opened"}

    answer = client.post(f"/runs/{run}/events", data=form)

    with desk.book.read() as connection:
        story = book_run.run_story(connection, run)
    assert answer.status_code == 200
    assert 0 < story["f0_low_min"] < story["f0_likely_min"] < story["f0_high_min"]
    assert story["opened_at"] is not None


def test_the_curve_is_given_for_the_chart(client, run):
    """As many values as instants, and the core never above the steam by more than rounding."""
    curve = client.get(f"/runs/{run}/curve").json()

    assert len(curve["steam_c"]) == len(curve["minute"]) == len(curve["f0_low_min"])
    assert curve["f0_low_min"][-1] <= curve["f0_likely_min"][-1] <= curve["f0_high_min"][-1]
    assert curve["now_minute"] > 48


def test_a_jar_is_not_sterilized_twice_nor_a_spoiled_one_with_others(desk, jars, run):
    """Both would make the book say what cannot be."""
    about = {"gauge_pa": 103_421.0, "hold_min": 90.0}
    jar = next(iter(jars.values()))

    with pytest.raises(ValueError, match="was in a run already"):
        book_run.begin_run(desk.book, hand(), about, {jar: ""}, NOW)
    with pytest.raises(ValueError, match="not spoiled"):
        book_run.begin_run(desk.book, hand(), about | {"purpose": "spoiled jars"}, {jar: ""}, NOW)


def test_a_run_that_cannot_be_worked_out_still_takes_events(client, desk, jars):
    """Forty quarts fit no canner: the page says so, and goes on keeping the book."""
    many = fill_jars(desk.book, hand(120), 40, {"jar_kind": "quart", "fill": 0.7}, NOW)
    about = {"gauge_pa": 103_421.0, "hold_min": 90.0}
    run = book_run.begin_run(desk.book, hand(9), about, dict.fromkeys(many.values(), ""), NOW)

    page = client.get(f"/runs/{run.record}")
    answer = client.post(
        f"/runs/{run.record}/events", data={"step": "0123456789abcdef", "what": "heat on"}
    )

    assert "The clock cannot work this run out" in page.text
    assert answer.status_code == 200
    assert "Steam blows in a steady jet" in answer.text


def test_an_event_of_no_known_name_is_refused():
    """Also if it does not come from our own form."""
    with pytest.raises(ValueError, match="no event 'party'"):
        book_run.event_at("party", NOW)


def test_events_are_sorted_by_time_and_entry(desk, run):
    """The clock refuses events out of order, so the book must give them in order."""
    with desk.book.read() as connection:
        noted = book_run.run_events(connection, run)

    assert all(isinstance(each, RunEvent) for each in noted)
    assert [each.name for each in noted][-1] == "pressure reached"


@pytest.mark.parametrize(("psi", "elevation_m"), [(5, 0.0), (10, 3000.0), (1, 0.0)])
@pytest.mark.parametrize("minutes", [0, 50])
def test_a_run_that_is_too_weak_has_its_page(client, desk, jars, psi, elevation_m, minutes):
    """Where the target is out of reach, the minutes until it are not known: that is said."""
    about = {"gauge_pa": psi * PSI_PA, "hold_min": 30.0, "elevation_m": elevation_m}
    begun = book_run.begin_run(desk.book, hand(60), about, dict.fromkeys(jars.values(), ""), NOW)
    event = book_run.event_at("pressure reached", NOW - timedelta(minutes=minutes))
    book_run.note_run_event(desk.book, hand(minutes), begun.record, event, NOW)
    answer = client.get(f"/runs/{begun.record}")

    assert answer.status_code == 200
    assert "over 3 h" in answer.text
    assert client.get(f"/runs/{begun.record}/now").status_code == 200


@pytest.mark.parametrize(
    ("changed", "said"), [({"gauge": "0"}, "boiling water"), ({"hold": "0.001"}, "no minutes")]
)
def test_a_run_that_cannot_be_meant_is_not_begun(client, jars, changed, said):
    """Not found out by its page, which could then work nothing out."""
    form = {"jar": list(jars.values())[:3], "gauge": "15", "hold": "90"} | changed
    answer = client.post("/runs/new", data=form)

    assert answer.status_code == 422
    assert said in answer.text


def test_a_jar_with_culture_in_it_is_not_sterilized(client, desk, jars):
    """Jars that stood already when the book was begun were in no run of it, but they grow."""
    growing = client.post("/jars/new", data={
        "count": "2", "jar": "quart", "species": "blue-oyster", "filled": "2026-11-01",
        "inoculated": "2026-11-02",
    })  # fmt: skip
    batch = growing.url.path.split("/")[2]
    with desk.book.read() as connection:
        ids = connection.execute(
            text("SELECT id FROM jars WHERE batch = :batch"), {"batch": batch}
        ).scalars().all()  # fmt: skip

    for page in ("/runs/new", f"/runs/new?batch={batch}"):
        assert ids[0] not in client.get(page).text
    assert next(iter(jars.values())) in client.get("/runs/new").text
    answer = client.post("/runs/new", data={"jar": ids, "gauge": "15", "hold": "90"})
    assert answer.status_code == 422
    assert "culture in it" in answer.text
