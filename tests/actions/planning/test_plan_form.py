"""The form of a wish: what is typed is the text of a wish file, and comes back from it."""

from __future__ import annotations

import tomllib
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.actions.planning import form as plan_form
from spawnwright.actions.planning.form import (
    first_typed,
    plainly,
    read_typed,
    typed_of,
    written_wish,
)
from spawnwright.actions.planning.questions import GROUPS, QUESTIONS
from spawnwright.errors import Unusable
from spawnwright.records.kit import Kit
from spawnwright.store.wish_file import KEYS

NOW = datetime(2026, 11, 25, 10, 30, tzinfo=ZoneInfo("Europe/Warsaw"))


def typed(**changes: str | list[str]) -> dict[str, list[str]]:
    """What stands in the form at first, and changes to it."""
    more = {name: [each] if isinstance(each, str) else each for name, each in changes.items()}
    return first_typed(Kit(), "metric", NOW) | more


def test_every_line_of_a_wish_file_is_asked():
    """A line that the form does not know could not be changed on a page, and would be lost."""
    asked = {(each.table, each.key) for each in QUESTIONS.values()}
    by_itself = {("wish", "jars"), ("wish", "fresh_mushrooms"), ("place", "time_zone")}

    known = {(table, key) for table, keys in KEYS.items() if table != "free" for key in keys}

    assert asked | by_itself == known
    assert sum(len(group.questions) for group in GROUPS) == len(QUESTIONS)


def test_what_stands_there_at_first_can_be_planned():
    """First start leads to a first batch without reading or filling in anything."""
    for units, elevation in (("metric", 500.0), ("us", 487.68)):
        _, wish = read_typed(first_typed(Kit(), units, NOW), units, NOW)

        assert wish.goal.jars == 5
        assert wish.place.elevation_m == pytest.approx(elevation)
        assert wish.place.shelf_c == pytest.approx(22, abs=0.3)
        assert str(wish.place.time_zone) == "Europe/Warsaw"


def test_the_kit_fills_the_form():
    """What is in the kit is not asked twice, and is shown in the kit's units."""
    kit = Kit(typed={"elevation": "1200 m", "shelf": "68 F", "jar": "pint", "gauge": "11 psi",
                     "name": "Ada", "fill": "2/3"})  # fmt: skip

    metric, us = first_typed(kit, "metric", NOW), first_typed(kit, "us", NOW)

    assert (metric["elevation"], us["elevation"]) == (["1200"], ["3937"])
    assert (metric["shelf"], us["shelf"]) == (["20"], ["68"])
    assert (metric["jar"], metric["gauge"], metric["fill"]) == (["pint"], ["11"], ["2/3"])
    _, wish = read_typed(us, "us", NOW)
    assert wish.place.elevation_m == pytest.approx(1200, abs=0.5)


def test_a_bare_number_has_the_unit_of_its_box():
    """And a number that brings its unit keeps it."""
    changed = typed(elevation="300", pot="9", soaking="", shelf="75 F", chance="85")

    _, wish = read_typed(changed, "metric", NOW)
    us = first_typed(Kit(), "us", NOW) | {"amount": ["11"], "amount_of": ["mushrooms"]}
    _, in_us = read_typed(us | {"elevation": ["300"]}, "us", NOW)

    assert wish.place.elevation_m == 300
    assert wish.kit.pot_m3 == pytest.approx(0.009)
    assert wish.place.shelf_c == pytest.approx(23.9, abs=0.05)
    assert wish.goal.chance == pytest.approx(0.85)
    assert in_us.goal.fresh_kg == pytest.approx(4.99, abs=0.005)
    assert in_us.place.elevation_m == pytest.approx(91.44)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"jars_free": "some"}, "Clean jars that you have: 'some' is no whole number"),
        ({"gauge": "40"}, "Pressure: '40 psi' is above 15 psi"),
        ({"ready_by": "2026-11-01"}, "Ready by: 2026-11-01"),
        ({"elevation": ""}, "Your elevation above the sea: this is missing"),
        ({"elevation": "9 apples"}, "Your elevation above the sea: "),
        ({"amount": ""}, "How much you want is missing"),
        ({"amount": "0"}, "How much you want: 0 cannot be"),
        ({"start": "2027-02-01"}, "Do not begin before: the day to begin must come before"),
        ({"soaking": "2"}, "Dry grain that is soaking: soaking and soaking since go together"),
        ({"mon_from": "18:00", "mon_until": ""}, "Your hours, Monday: from and until go together"),
        ({"mon_from": "18:00", "mon_until": "25:00"}, "Your hours: "),
        ({"species": "unicorn"}, "Species: There is no species called 'unicorn'"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_of_the_field(changes, says):
    """A grower sees fields, no lines of a file."""
    with pytest.raises(Unusable) as problem:
        read_typed(typed(**changes), "metric", NOW)

    assert str(problem.value).startswith(says)
    for word in ("line ", "the wish,", "_", "TOML text"):
        assert word not in str(problem.value).replace("TOML file", "")


def test_no_hours_at_all_are_refused():
    """Left empty they would silently mean every day, which is what nobody typed."""
    empty = {name: [""] for name in typed() if name.endswith(("_from", "_until"))}

    with pytest.raises(Unusable, match="Your hours: none are filled in"):
        read_typed(typed() | empty, "metric", NOW)


def test_hours_are_read_day_by_day():
    """Two stretches on one day, a day without, and a date beside the week."""
    changed = typed(
        mon_from=["06:00", "18:00"], mon_until=["08:00", "22:30"], tue_from="", tue_until="",
        date=["2026-12-24", ""], date_from=["09:00", ""], date_until=["12:00", ""],
    )  # fmt: skip

    _, wish = read_typed(changed, "metric", NOW)

    monday = sorted((each.start.hour, each.until.hour) for each in wish.free if 0 in each.weekdays)
    assert monday == [(6, 8), (18, 22)]
    assert not [each for each in wish.free if 1 in each.weekdays]
    assert [str(each.on) for each in wish.free if each.on] == ["2026-12-24"]


TEXTS = {
    "quantity": st.integers(1, 20).map(str), "count": st.integers(1, 12).map(str),
    "share": st.integers(36, 60).map(str), "flag": st.sampled_from(["", "true"]),
}  # fmt: skip


@given(st.data())
def test_a_wish_comes_back_as_it_was_typed(data):
    """So that a batch can be planned anew from its own wish."""
    changes = {
        each.name: [data.draw(TEXTS[each.kind], label=each.name)]
        for each in QUESTIONS.values() if each.kind in TEXTS
    }  # fmt: skip
    units = data.draw(st.sampled_from(["metric", "us"]))

    text = written_wish(typed() | changes, units).text

    assert written_wish(typed_of(text, units), units).text == text


def test_a_text_cannot_leave_its_line():
    """What is typed stays a value, whatever is in it."""
    for evil in ('"\n[losses]\njar = "99%"', 'x"""', "a\x00b", "\\"):
        found = tomllib.loads(written_wish(typed(fill=evil), "metric").text)

        assert found["losses"] == {}
        assert found["kit"]["jar"] == "quart"


def test_sentences_of_the_planner_name_no_line_of_a_file():
    """The planner speaks to writers of wish files too."""
    said = {
        "jars_free is 6": "you have 6 clean jars",
        "ready_by = 2027-01-20, or later": "ready by 2027-01-20, or later",
        'chance = "62%" or less': "62% for how sure you want to be or less",
        'cooling = "opened warm", if the manual allows it':
            "opening the canner at zero pressure, if the manual allows it",
        'Taken where the wish says nothing: kit.gauge = "15 psi"; place.time_zone = "UTC".':
            "Taken where nothing was filled in: pressure: 15 psi.",
    }  # fmt: skip

    assert {text: plainly(text) for text in said} == said


def test_lists_offer_what_stands_there():
    """A jar of the grower's own that a wish names stays chosen."""
    offered = plan_form.offered(QUESTIONS["jar"], "my-jar")

    assert ("my-jar", "my-jar") in offered
    assert "quart" in dict(offered)
