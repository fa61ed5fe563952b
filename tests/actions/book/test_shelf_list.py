"""What the shelf list says of each jar, from both databases."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

from spawnwright.actions.book.culture import new_culture
from spawnwright.actions.book.end import end_jar
from spawnwright.actions.book.inoculate import inoculate
from spawnwright.actions.printing.shelf_list import shelf_list_lines
from tests.actions.book.entering import HAND, filled, hand, row
from tests.store.book.entering import START, at, enter

WARSAW = ZoneInfo("Europe/Warsaw")


def listed(book, days: float, batch: str | None = None):
    with book.read() as connection:
        return shelf_list_lines(
            connection, (START + timedelta(days=days)).astimezone(WARSAW), batch
        )


def test_a_jar_with_all_that_is_known_of_it(book):
    """Age from inoculation; the last look counts, its day where the grower is."""
    strain = enter(book, "strain", name="Blue 3", species="blue-oyster")
    culture = new_culture(
        book, HAND, {"name": "LC 1", "form": "syringe", "volume_ml": 10, "strain": strain}, START
    ).record
    batch = enter(book, "batch", name="March")
    (jar,) = filled(book, 1, batch=batch, stored_where="cellar")
    inoculate(book, hand(36), culture, [jar], START, {"dose_ml": 2})
    enter(book, "look", jar=jar, at=at(60 * 24 * 8), percent=20.0, sign="white")
    enter(book, "look", jar=jar, at=at(60 * (24 * 9 + 5.5)), percent=35.0, sign="green")
    enter(book, "quarantine", record=culture, at=at(60 * 24 * 10), why="another jar of it is green")

    (line,) = listed(book, 12)
    assert line.code == row(book, jar)["code"]
    assert line.age_days == 10
    assert (line.look, line.sign) == ("Tue 20 Jan, 35 %", "⚠ green: keep it shut")
    assert (line.strain, line.batch, line.where) == ("Blue 3", "March", "cellar")
    assert line.marks == ("IN DOUBT",)


def test_hardly_anything_is_known(book):
    """Age from filling; a jar waits for culture, a control jar does not."""
    (jar,), (control,) = filled(book, 1), filled(book, 1, is_control=True)
    enter(book, "look", jar=control, at=at(60 * 24), sign="drops")

    lines = {line.code: line for line in listed(book, 2.9)}
    bare, watched = (lines[row(book, each)["code"]] for each in (jar, control))
    assert (bare.age_days, bare.look, bare.sign, bare.where) == (2, "", "", "")
    assert (bare.marks, watched.marks) == (("no culture",), ("control",))
    assert (watched.look, watched.sign) == ("Sun 11 Jan", "drops: watch it")


def test_by_place_and_the_oldest_first(book):
    """Jars without a place come last; jars that are gone, and those of other batches, never."""
    batch = enter(book, "batch", name="March")
    places = {}
    for where, hours in (("shed", 0), ("Cellar", 0), ("shed", -48), (None, -99), ("cellar", -24)):
        about = {"stored_where": where, "filled_at": START + timedelta(hours=hours)}
        (jar,) = filled(book, 1, batch=None if where else batch, **about)
        places[row(book, jar)["code"]] = (where, hours)
    (gone,) = filled(book, 1)
    end_jar(book, hand(1), gone, "used", START)

    assert [places[line.code] for line in listed(book, 30)] == [
        ("cellar", -24), ("Cellar", 0), ("shed", -48), ("shed", 0), (None, -99),
    ]  # fmt: skip
    assert [places[line.code] for line in listed(book, 30, batch)] == [(None, -99)]
