"""The story of a jar, the last steps with what can be undone, and disputes."""

from __future__ import annotations

import pytest

from spawnwright.actions.book import past as book_past
from spawnwright.actions.book.doubt import quarantine
from spawnwright.actions.book.end import add_harvest, end_jar, move_away, use_jars
from spawnwright.actions.book.inoculate import grain_to_grain, inoculate
from spawnwright.actions.book.jars import fill_jars, load_run, put_back, undo
from spawnwright.actions.book.looks import add_look, add_photo, add_shake
from spawnwright.actions.book.past import disputes, history_of, recent_steps, settle
from spawnwright.actions.book.story import jar_story
from spawnwright.errors import Contradiction, UnknownName
from spawnwright.records.book.codes import code_of
from spawnwright.store.book.history import seen_of
from tests.actions.book.entering import HAND, filled, hand, row
from tests.actions.book.test_looks import jpeg
from tests.store.book.entering import START, change, enter


def story(book, code: str):
    with book.read() as connection:
        return jar_story(connection, code)


@pytest.fixture
def season(book):
    """One jar with everything that can happen to a good jar; gives ids by what they are."""
    made = {"batch": enter(book, "batch", name="January")}
    made["culture"] = enter(book, "culture", name="LC 1", form="syringe")
    made["run"] = enter(book, "sterilizer run", started_at=hand(2).at, purpose="sterilize",
                        f0_low_min=12, f0_likely_min=16, f0_high_min=22)  # fmt: skip
    codes = fill_jars(book, HAND, 2, {"jar_kind": "quart", "batch": made["batch"]}, START)
    (made["code"], made["jar"]), (made["next code"], made["next"]) = codes.items()
    load_run(book, hand(2), made["run"], {made["jar"]: "lower 1", made["next"]: ""}, START)
    inoculate(book, hand(30), made["culture"], [made["jar"]], START, {"dose_ml": 2})
    made["look"] = add_look(book, hand(100), made["jar"], {"percent": 10}, START).record
    add_photo(book, hand(100.1), made["jar"], made["look"], jpeg(40, 30), START)
    add_photo(book, hand(120), made["jar"], None, jpeg(30, 40), START)
    add_shake(book, hand(150), [made["jar"]], START)
    grain_to_grain(book, hand(300), made["jar"], [made["next"]], START, is_emptied=False)
    made["bucket"] = use_jars(
        book, hand(301), {made["jar"]: 0.4}, {"name": "B 1", "container": "bucket"}, START
    ).record
    add_harvest(book, hand(900), made["bucket"], 0.8, START)
    with book.read() as connection:
        seen = seen_of(connection, made["jar"])
    put_back(book, hand(302), made["jar"], "washed", "binned", seen, START)
    return made


def test_the_story_of_a_jar_is_told_in_the_order_of_time(book, season):
    found = story(book, season["code"].lower())

    assert [each.what for each in found.events] == [
        "filled", "loaded", "inoculated", "look", "photo", "shake", "gave spawn", "used", "outcome",
        "jar back", "harvest",
    ]  # fmt: skip
    by_kind = {each.what: each for each in found.events}
    assert by_kind["loaded"].row["f0_likely_min"] == 16
    assert by_kind["loaded"].row["position"] == "lower 1"
    assert by_kind["inoculated"].row["culture_name"] == "LC 1"
    assert [each["width"] for each in by_kind["look"].photos] == [40]
    assert by_kind["photo"].row["width"] == 30
    assert by_kind["gave spawn"].row["code"] == season["next code"]
    assert by_kind["used"].row["block_name"] == "B 1"
    assert by_kind["harvest"].row["mass_kg"] == 0.8
    assert found.origin["batch"]["name"] == "January"


def test_a_story_has_generation_and_lineage_both_ways(book, season):
    first, second = story(book, season["code"]), story(book, season["next code"])

    assert (first.generation, second.generation) == (1, 2)
    assert {(kin.name, kin.steps) for kin in first.came_from} == {
        ("LC 1", 1), ("January", 1), ("run of 2026-01-10", 1),
    }  # fmt: skip
    assert [(kin.kind, kin.steps) for kin in first.came_of_it] == [
        ("block", 1), ("jar", 1), ("harvest", 2),
    ]  # fmt: skip
    assert first.came_of_it_count == 3
    assert ("LC 1", 2) in {(kin.name, kin.steps) for kin in second.came_from}


def test_a_story_tells_of_quarantines_and_of_what_a_spoiled_jar_needs(book, season):
    quarantine(book, HAND, season["culture"], "cloudy", START)
    end_jar(book, hand(400), season["next"], "spoiled", START)

    found = story(book, season["next code"])

    assert [(each["name"], each["why"]) for each in found.quarantines] == [("LC 1", "cloudy")]
    assert found.next_step.title == "Move it away, shut"
    move_away(book, hand(401), season["next"], START)
    assert story(book, season["next code"]).next_step.title.startswith("Sterilize it shut")
    assert story(book, season["code"]).next_step is None
    with pytest.raises(UnknownName):
        story(book, code_of(900))


def test_what_was_undone_is_no_part_of_the_story_but_of_the_history(book, season):
    with book.read() as connection:
        (made,) = history_of(connection, season["look"])
    with pytest.raises(Contradiction, match="later steps rest on it"):
        undo(book, HAND, made.id, START)  # a photo was taken at that look
    late = add_look(book, hand(200), season["jar"], {"percent": 90}, START)

    undo(book, HAND, late.kept.step, START)

    found = story(book, season["code"])
    assert [each.row["percent"] for each in found.events if each.what == "look"] == [10]
    with book.read() as connection:
        assert [each.title for each in history_of(connection, late.record)] == [
            f"look at {season['code']}", "undo",
        ]  # fmt: skip
        with pytest.raises(UnknownName):
            history_of(connection, "no-such-record")


def test_the_last_steps_say_what_can_be_undone(book):
    """A filling on which a look rests cannot; the look can; what is undone cannot again."""
    (jar,) = filled(book, 1)
    look = add_look(book, HAND, jar, {"percent": 5}, START)
    gone = add_look(book, HAND, jar, {"percent": 6}, START)
    undo(book, HAND, gone.kept.step, START)

    with book.read() as connection:
        undoing, undone, stands, filling = recent_steps(connection)
        assert [each.step.id for each in recent_steps(connection, 1)] == [undoing.step.id]
        older = recent_steps(connection, before=undone.step.received)

    assert (undoing.is_undone, undoing.why_not) == (False, "")
    assert undone.is_undone
    assert "is undone already" in undone.why_not
    assert (stands.step.id, stands.why_not) == (look.kept.step, "")
    assert "later steps rest on it, such as what was said of the look" in filling.why_not
    assert [each.step.id for each in older] == [stands.step.id, filling.step.id]


def test_a_step_of_very_many_entries_is_not_looked_at(book, monkeypatch):
    """An imported notebook is one step; the list of the last steps does not wait for it."""
    monkeypatch.setattr(book_past, "MOST_CHECKED", 2)
    (jar,) = filled(book, 1)
    filled(book, 3)
    add_look(book, HAND, jar, {"percent": 5}, START)

    with book.read() as connection:
        found = recent_steps(connection)

    assert [each.why_not is None for each in found] == [False, True, False]
    assert "later steps rest on it" in found[2].why_not


def test_a_dispute_is_shown_with_who_said_what_and_settled_by_a_new_entry(book):
    (jar,) = filled(book, 1)
    with book.read() as connection:
        seen = seen_of(connection, jar)
    change(book, "jar", jar, "phone", seen, stored_where="upper shelf")
    change(book, "jar", jar, "tablet", seen, stored_where="fridge")

    with book.read() as connection:
        (found,) = disputes(connection)
    values = found.fields["stored_where"]
    assert [(each.device, each.value) for each in values] == [
        ("phone", "upper shelf"), ("tablet", "fridge"),
    ]  # fmt: skip
    assert (found.kind, found.name) == ("jar", row(book, jar)["code"])

    settle(book, HAND, jar, {"stored_where": "upper shelf"}, START, found.seen)

    assert row(book, jar)["stored_where"] == "upper shelf"
    with book.read() as connection:
        assert disputes(connection) == []
    with pytest.raises(Contradiction, match="Nothing is disputed"):
        settle(book, HAND, jar, {"stored_where": "fridge"}, START)
