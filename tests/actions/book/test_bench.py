"""Cultures, inoculation, the end of jars and blocks: what is entered, and what is refused."""

from __future__ import annotations

from datetime import date

import pytest

from spawnwright.actions.book.culture import (
    cultures,
    end_culture,
    measure_left,
    new_culture,
    say_test,
)
from spawnwright.actions.book.end import (
    add_harvest,
    end_block,
    end_jar,
    make_block,
    move_away,
    use_jars,
)
from spawnwright.actions.book.inoculate import grain_to_grain, inoculate
from spawnwright.actions.book.jars import load_run
from spawnwright.errors import Contradiction, UnknownName, Unusable
from spawnwright.store.book.history import history_of, seen_of
from spawnwright.store.book.lineage import ancestors, generations
from spawnwright.store.book.shelf import story_of
from tests.actions.book.entering import HAND, filled, hand, row, sent
from tests.store.book.entering import START, change, enter

LC = {"name": "LC 1", "form": "liquid culture", "volume_ml": 100}


def lines(book, **how):
    with book.read() as connection:
        return {each.row["name"]: each for each in cultures(connection, **how)}


def test_a_culture_comes_with_its_strain_and_hands_it_on(book):
    """One step for both; a syringe drawn from it is of the same strain."""
    by = sent()
    strain = {"name": "Blue 3", "species": "blue-oyster"}
    first = new_culture(book, by, LC, START, strain).record
    assert new_culture(book, by, LC, START, strain).record == first
    drawn = new_culture(
        book, HAND, {"name": "S 1", "form": "syringe", "parent": first}, START
    ).record

    assert row(book, drawn)["strain"] == row(book, first)["strain"]
    found = lines(book)
    assert found["S 1"].strain["name"] == "Blue 3"
    assert (found["LC 1"].transfers, found["S 1"].transfers) == (0, 1)
    with pytest.raises(Unusable, match="of one strain"):
        new_culture(book, HAND, LC | {"strain": row(book, first)["strain"]}, START, strain)


def test_what_is_left_of_a_culture_counts_the_doses(book):
    """From the volume first, then from what was measured."""
    culture = new_culture(book, HAND, LC, START).record
    jars = filled(book, 4)
    inoculate(book, hand(1), culture, jars[:3], START, {"dose_ml": 2})
    assert lines(book)["LC 1"].left_ml == 94

    measure_left(book, hand(2), culture, 80, START)
    inoculate(book, hand(3), culture, jars[3:], START, {"dose_ml": 2})
    end_jar(book, hand(300), jars[0], "spoiled", START)

    line = lines(book)["LC 1"]
    assert (line.left_ml, line.jars, line.spoiled) == (78, 4, 1)


def test_a_tested_and_an_ended_culture(book):
    culture = new_culture(book, HAND, LC, START).record
    (jar,) = filled(book, 1)
    say_test(book, HAND, culture, "spoiled", START)
    assert row(book, culture)["tested_on"] == "2026-01-10"
    with pytest.raises(Contradiction, match="would spoil every jar"):
        inoculate(book, HAND, culture, [jar], START)

    say_test(book, HAND, culture, "clean", START, on=date(2026, 1, 12))
    end_culture(book, HAND, culture, START)
    with pytest.raises(Contradiction, match="ended on 2026-01-10"):
        inoculate(book, HAND, culture, [jar], START)
    assert lines(book) == {}
    assert lines(book, ended=True)["LC 1"].row["test"] == "clean"


def test_jars_are_inoculated_in_their_order(book):
    """The order tells later whether a needle went bad."""
    culture = new_culture(book, HAND, LC, START).record
    jars, by = filled(book, 3), sent(5)
    about = {"dose_ml": 2, "worked_where": "still air box", "way": "spread"}

    inoculate(book, by, culture, jars, START, about)
    assert inoculate(book, by, culture, jars, START, about).was_there

    with book.read() as connection:
        found = [story_of(connection, jar)["inoculation"] for jar in jars]
    assert [len(each) for each in found] == [1, 1, 1]
    assert [each[0]["number"] for each in found] == [1, 2, 3]
    assert (found[0][0]["who"], found[0][0]["worked_where"]) == ("Ada", "still air box")


def test_which_jars_are_not_inoculated(book):
    """Twice, with an outcome, a control jar, none."""
    culture = new_culture(book, HAND, LC, START).record
    done, ended, control = filled(book, 3)
    inoculate(book, HAND, culture, [done], START)
    end_jar(book, HAND, ended, "discarded", START)
    change(book, "jar", control, is_control=True)

    for jar, says in ((done, "inoculated already"), (ended, "discarded already"),
                      (control, "stays uninoculated")):  # fmt: skip
        with pytest.raises(Contradiction, match=says):
            inoculate(book, HAND, culture, [jar], START)
    for jars in ([], [done, done]):
        with pytest.raises(Unusable, match="each once"):
            inoculate(book, HAND, culture, jars, START)
    with pytest.raises(UnknownName):
        inoculate(book, HAND, "no-such-culture", [done], START)


def test_grain_to_grain_is_the_next_generation_and_uses_the_jar_up(book):
    culture = new_culture(book, HAND, LC, START).record
    source, one, two = filled(book, 3)
    inoculate(book, HAND, culture, [source], START)

    grain_to_grain(book, hand(300), source, [one], START, {"dose_g": 50}, is_emptied=False)
    assert row(book, source)["outcome"] is None
    grain_to_grain(book, hand(301), source, [two], START)

    assert row(book, source)["outcome"] == "used"
    with book.read() as connection:
        assert generations(connection, [source, one, two]) == {source: 1, one: 2, two: 2}
        assert culture in {each.id for each in ancestors(connection, [two])}
    with pytest.raises(Contradiction, match="is used already"):
        grain_to_grain(book, hand(302), source, filled(book, 1), START)
    with pytest.raises(Contradiction, match="from itself"):
        grain_to_grain(book, hand(302), one, [one], START)


def test_an_outcome_is_said_once_and_corrected_knowingly(book):
    """A second one without having seen the first is refused at the keyboard, not overwritten."""
    (jar,) = filled(book, 1)
    end_jar(book, hand(300), jar, "spoiled", START, note="green at the bottom")
    with pytest.raises(Contradiction, match="is spoiled already; undo that, or correct it"):
        end_jar(book, hand(301), jar, "used", START)
    move_away(book, hand(301), jar, START)
    assert row(book, jar)["moved_away_at"] == hand(301).at.isoformat().replace("+00:00", ".000000Z")

    with book.read() as connection:
        seen = seen_of(connection, jar)
    end_jar(book, hand(302), jar, "discarded", START, seen=seen)
    assert (row(book, jar)["outcome"], row(book, jar)["outcome_note"]) == ("discarded", None)
    with pytest.raises(Unusable, match="it can be used, discarded"):
        end_jar(book, hand(303), jar, "lost", START, seen=seen)


def test_spawn_goes_into_a_new_block_and_what_is_left_stays_on_the_shelf(book):
    one, two = filled(book, 2)
    by = sent(400)
    about = {"name": "B 1", "container": "block", "substrate": "straw", "substrate_kg": 5}

    block = use_jars(book, by, {one: 0.6, two: None}, about, START, not_empty=[two]).record
    assert use_jars(book, by, {one: 0.6, two: None}, about, START).record == block

    assert (row(book, one)["outcome"], row(book, two)["outcome"]) == ("used", None)
    with book.read() as connection:
        assert story_of(connection, one)["use"][0]["spawn_kg"] == 0.6
        assert {each.id for each in ancestors(connection, [block])} == {one, two}
    use_jars(book, hand(410), {two: 0.2}, block, START)
    assert row(book, two)["outcome"] == "used"
    with pytest.raises(Contradiction, match="is used already"):
        use_jars(book, hand(420), {one: 0.1}, block, START)
    with pytest.raises(Unusable, match="at least one jar"):
        use_jars(book, HAND, {}, block, START)


def test_a_block_its_harvests_and_its_end(book):
    by = sent(900)
    block = make_block(book, HAND, {"name": "B 2", "container": "bucket"}, START).record
    first = add_harvest(book, by, block, 0.7, START, flush=1).record
    assert add_harvest(book, by, block, 0.7, START, flush=1).record == first
    with pytest.raises(UnknownName):
        add_harvest(book, HAND, "no-such-block", 0.1, START)
    with pytest.raises(Contradiction, match="not a block"):
        add_harvest(book, HAND, first, 0.1, START)

    end_block(book, hand(2000), block, START)

    assert row(book, block)["ended_on"] == "2026-04-04"
    assert row(book, first)["mass_kg"] == 0.7


def test_a_load_that_is_sent_twice_is_kept_once(book):
    """Its records have ids that follow from the step."""
    run = enter(book, "sterilizer run", started_at=START, purpose="sterilize")
    (jar,) = filled(book, 1)
    by = sent()

    load_run(book, by, run, {jar: "top"}, START)

    assert load_run(book, by, run, {jar: "top"}, START).was_there


def test_a_name_of_any_signs_and_length_can_be_entered_and_dealt_with(book):
    """The title of a step is one printable line, whatever somebody is called."""
    name = "👩\u200d🌾 LC\nsecond line " + "x" * 500
    culture = new_culture(book, HAND, LC | {"name": name}, START).record

    measure_left(book, HAND, culture, 5, START)

    with book.read() as connection:
        titles = [each.title for each in history_of(connection, culture)]
    assert all(title.isprintable() and len(title) <= 200 for title in titles)
    assert titles[0].startswith("culture 👩 🌾 LC second line xx")
    assert row(book, culture)["name"] == name
