"""What a label says follows from the book, on both databases."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from spawnwright.actions.book.culture import new_culture
from spawnwright.actions.book.end import end_jar
from spawnwright.actions.book.inoculate import grain_to_grain, inoculate
from spawnwright.actions.printing.jar_names import active, batch_meant, strains_of
from spawnwright.actions.printing.labels import labels_of
from spawnwright.store.book.history import current
from tests.actions.book.entering import HAND, filled, hand
from tests.store.book.entering import START, enter

WARSAW = ZoneInfo("Europe/Warsaw")


def printed(book, jars, *how):
    with book.read() as connection:
        rows = current(connection, jars)
        return labels_of(connection, [rows[jar] for jar in jars], WARSAW, *how)


def test_a_label_names_the_strain_also_after_grain_to_grain(book):
    """Through two generations of jars; a culture without a strain gives its own name."""
    strain = enter(book, "strain", name="Blue 3", species="blue-oyster")
    known = new_culture(
        book, HAND, {"name": "LC 1", "form": "syringe", "volume_ml": 10, "strain": strain}, START
    ).record
    nameless = new_culture(
        book, HAND, {"name": "LC 2", "form": "syringe", "volume_ml": 10}, START
    ).record
    first, second, third, other, bare = filled(book, 5)
    inoculate(book, hand(1), known, [first], START, {"dose_ml": 2})
    inoculate(book, hand(1), nameless, [other], START, {"dose_ml": 2})
    grain_to_grain(book, hand(400), first, [second], START)
    grain_to_grain(book, hand(800), second, [third], START)

    names = [each.name for each in printed(book, [first, second, third, other, bare])]
    assert names == ["Blue 3", "Blue 3", "Blue 3", "LC 2", ""]


def test_before_inoculation_the_strain_is_that_of_the_batch(book):
    """But not on a control jar: nothing is to grow there."""
    strain = enter(book, "strain", name="Blue 3", species="blue-oyster")
    batch = enter(book, "batch", name="March", strain=strain)
    (jar,) = filled(book, 1, batch=batch)
    (control,) = filled(book, 1, batch=batch, is_control=True)

    first, second = printed(book, [jar, control])
    assert (first.name, first.batch, first.is_control) == ("Blue 3", "March", False)
    assert (second.name, second.batch, second.is_control) == ("", "March", True)


def test_the_day_is_where_the_grower_is(book):
    """18:00 UTC is still Saturday in Warsaw and already Sunday in Auckland."""
    jars = filled(book, 1)
    with book.read() as connection:
        rows = list(current(connection, jars).values())
        there = labels_of(connection, rows, ZoneInfo("Pacific/Auckland"), None, True)

    assert printed(book, jars)[0].filled == "Sat 10 Jan 2026"
    assert there[0].filled == "2026-01-11"


def test_the_qr_code_is_as_large_as_the_jar_lets_it_be(book):
    """Three tenths of the diameter, at most 30 mm; 24 mm where the catalog has no such jar."""
    kinds = {"half-pint": None, "half-gallon": 0.030, "a bag of mine": 0.024}
    found = {}
    for kind in kinds:
        (jar,) = filled(book, 1, jar_kind=kind)
        found[kind] = printed(book, [jar], "http://spawn.local:8377")[0]

    assert found["half-gallon"].largest_qr_m == 0.030
    assert found["a bag of mine"].largest_qr_m == 0.024
    assert 0.015 < found["half-pint"].largest_qr_m < 0.024
    one = found["half-pint"]
    assert one.content == f"http://spawn.local:8377/j/{one.code}"


def test_the_active_jars_are_all_that_have_no_outcome(book, monkeypatch):
    """Page after page, first filled first; of one batch if it is named."""
    monkeypatch.setattr("spawnwright.actions.printing.jar_names.PAGE", 3)
    batch = enter(book, "batch", name="March")
    jars, others = filled(book, 7), filled(book, 2, batch=batch)
    end_jar(book, hand(300), jars[0], "used", START)

    with book.read() as connection:
        assert {each["id"] for each in active(connection)} == {*jars[1:], *others}
        meant = batch_meant(connection, "march")
        assert [each["id"] for each in active(connection, meant)] == sorted(
            others, key=lambda jar: current(connection, [jar])[jar]["code"]
        )
        assert strains_of(connection, active(connection)) == {}
