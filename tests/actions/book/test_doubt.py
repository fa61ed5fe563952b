"""Quarantine and what descends; a mock recall by whatever name somebody has for it."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from spawnwright.actions.book.doubt import (
    in_doubt,
    lift,
    mock_recall,
    quarantine,
    quarantines_of,
)
from spawnwright.actions.book.end import add_harvest, end_jar, use_jars
from spawnwright.actions.book.inoculate import grain_to_grain, inoculate
from spawnwright.actions.book.jars import fill_jars
from spawnwright.errors import Contradiction, UnknownName, Unusable
from tests.actions.book.entering import HAND, filled, hand, row, sent
from tests.store.book.entering import START, enter


@pytest.fixture
def lab(book):
    """A sack, a culture, a run; two jars from the culture, one more grain-to-grain, a bucket."""
    made = {"sack": enter(book, "lot", name="Rye, 25 kg", what="grain")}
    made["grain"] = enter(book, "grain batch", made_at=START, grain="rye", lot=made["sack"])
    made["batch"] = enter(book, "batch", name="January")
    made["culture"] = enter(book, "culture", name="LC 7", form="syringe", volume_ml=20)
    made["run"] = enter(book, "sterilizer run", started_at=START, purpose="sterilize")
    codes = fill_jars(
        book, HAND, 3,
        {"jar_kind": "quart", "grain_batch": made["grain"], "batch": made["batch"]}, START,
    )  # fmt: skip
    made["codes"], made["jars"] = list(codes), list(codes.values())
    for jar in made["jars"]:
        enter(book, "load", run=made["run"], jar=jar)
    inoculate(book, HAND, made["culture"], made["jars"][:2], START, {"dose_ml": 2})
    grain_to_grain(book, hand(400), made["jars"][0], made["jars"][2:], START, {"dose_g": 60})
    made["bucket"] = use_jars(
        book, hand(800), {made["jars"][2]: 0.6}, {"name": "B1", "container": "bucket"}, START
    ).record
    add_harvest(book, hand(1200), made["bucket"], 0.8, START, flush=1)
    return made


def recalled(book, named, zone=None):
    with book.read() as connection:
        return mock_recall(connection, named, zone)


def test_a_mock_recall_of_a_culture_names_jars_buckets_and_what_was_picked(book, lab):
    found = recalled(book, "lc 7")

    assert (found.name, found.recall.kind) == ("LC 7", "culture")
    assert [(each["code"], each["outcome"]) for each in found.jars] == [
        (lab["codes"][1], None),
        *sorted((code, "used") for code in (lab["codes"][0], lab["codes"][2])),
    ]
    assert found.recall.still_here == (lab["codes"][1],)
    assert [(each["name"], each["harvest_kg"]) for each in found.blocks] == [("B1", 0.8)]


@pytest.mark.parametrize(
    ("named", "jars"),
    [
        ("Rye, 25 kg", 3), ("  rye,  25 KG ", 3), ("January", 3), ("last run", 3),
        ("run of 2026-01-10", 3), ("2026-01-10", 3), ("B1", 0),
    ],
)  # fmt: skip
def test_a_recall_by_name(book, lab, named, jars):
    """Of a lot, a batch, the last run, a run by its day, a bucket."""
    assert len(recalled(book, named).jars) == jars


def test_a_recall_by_a_jars_code_or_an_id(book, lab):
    """The jar itself is called back too."""
    code = lab["codes"][0]

    by_code, by_id = recalled(book, code.lower()), recalled(book, lab["grain"])

    assert {each["code"] for each in by_code.jars} == {code, lab["codes"][2]}
    assert len(by_id.jars) == 3
    assert by_id.name == "grain of 2026-01-10"


def test_a_runs_day_is_the_growers_day(book, lab):
    """18:00 UTC is the next morning in Auckland."""
    auckland = ZoneInfo("Pacific/Auckland")

    assert len(recalled(book, "run of 2026-01-11", auckland).jars) == 3
    with pytest.raises(UnknownName):
        recalled(book, "run of 2026-01-10", auckland)


def test_a_name_that_none_or_several_have(book, lab):
    enter(book, "lot", name="LC 7", what="culture")
    with pytest.raises(Contradiction, match=r"2 are called 'LC 7': culture .*, lot .* by its id"):
        recalled(book, "LC 7")
    with pytest.raises(UnknownName, match="Did you mean January"):
        recalled(book, "Janury")


def test_a_quarantine_holds_for_all_that_descends_and_for_what_will(book, lab):
    """A bad sack: the jars from it, and the one that is inoculated from one of those tomorrow."""
    made = quarantine(book, HAND, lab["sack"], "weevils", START).record
    (later,) = filled(book, 1)

    with book.read() as connection:
        (doubt,) = in_doubt(connection)
        over = quarantines_of(connection, [*lab["jars"], later])
    assert (doubt.name, doubt.kind, doubt.quarantine["why"]) == ("Rye, 25 kg", "lot", "weevils")
    assert doubt.recall.still_here == (lab["codes"][1],)
    assert set(over) == set(lab["jars"])
    assert over[lab["jars"][0]][0]["name"] == "Rye, 25 kg"

    grain_to_grain(book, hand(900), lab["jars"][1], [later], START, in_spite=True)
    with book.read() as connection:
        assert set(quarantines_of(connection, [later])) == {later}

    lift(book, HAND, lab["sack"], "sieved", START)
    assert row(book, made)["lifted_why"] == "sieved"
    with book.read() as connection:
        assert in_doubt(connection) == []
        assert quarantines_of(connection, [later]) == {}


def test_what_is_in_quarantine_is_not_used_by_mistake(book, lab):
    """Only if the grower says so."""
    quarantine(book, HAND, lab["culture"], "cloudy", START)
    fresh = filled(book, 2)

    with pytest.raises(Contradiction, match=r"In doubt because of LC 7 \(cloudy\)"):
        inoculate(book, HAND, lab["culture"], fresh, START)
    with pytest.raises(Contradiction, match="In doubt because of LC 7"):
        use_jars(book, HAND, {lab["jars"][1]: None}, lab["bucket"], START)
    with pytest.raises(Contradiction, match="In doubt because of LC 7"):
        grain_to_grain(book, HAND, lab["jars"][1], fresh, START)
    inoculate(book, HAND, lab["culture"], fresh, START, in_spite=True)


def test_a_quarantine_is_entered_once_and_lifted_once(book, lab):
    by = sent()
    first = quarantine(book, by, lab["run"], "pressure lost", START)
    assert quarantine(book, by, lab["run"], "pressure lost", START).record == first.record
    with pytest.raises(Contradiction, match="run of 2026-01-10 is in quarantine already"):
        quarantine(book, HAND, lab["run"], "again", START)

    lift(book, HAND, first.record, None, START + timedelta(days=1))
    with pytest.raises(Contradiction, match="there is none to lift"):
        lift(book, HAND, first.record, None, START)
    with pytest.raises(UnknownName):
        quarantine(book, HAND, "no-such-record", "why", START)
    with pytest.raises(Unusable, match="is empty"):
        quarantine(book, HAND, lab["run"], " ", START)


def test_a_jar_that_was_given_away_says_to_whom(book, lab):
    """That is who has to be told."""
    end_jar(book, hand(900), lab["jars"][1], "given away", START, note="to Grace")

    found = recalled(book, "LC 7")

    assert found.recall.still_here == ()
    assert "to Grace" in [each["outcome_note"] for each in found.jars]
