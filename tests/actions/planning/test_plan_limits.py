"""A wish that cannot be met: the limit that binds is named, and doing what is said frees it."""

import re
from datetime import date, datetime, time, timedelta

import pytest

from spawnwright.actions.planning import hours
from spawnwright.actions.planning.facts import facts_of
from tests.actions.wishes import ALL_DAYS, NOW, planned, wish, wish_table


def freed(found, pattern: str) -> re.Match[str]:
    """The one suggestion that a pattern fits."""
    fits = [re.search(pattern, each.would_free) for each in found.binding]
    matches = [each for each in fits if each]
    assert len(matches) == 1, [each.would_free for each in found.binding]
    return matches[0]


def refused(**changes):
    found = planned(**changes)
    assert not found.feasible
    assert found.binding
    assert (found.steps, found.sterilizer_runs, found.choices, found.ready) == ((), (), (), None)
    return found


def test_too_few_jars_and_lids():
    found = refused(kit={"jars_free": 3})
    needed = int(freed(found, r"(\d+) of each on the day")[1])

    assert planned(kit={"jars_free": needed}).feasible
    assert not planned(kit={"jars_free": needed - 1}).feasible


def test_too_few_lids_alone():
    found = refused(kit={"lids_free": 3})
    needed = int(freed(found, r"(\d+) lids free")[1])

    assert planned(kit={"lids_free": needed}).feasible
    assert not planned(kit={"lids_free": needed - 1}).feasible


def test_too_little_culture():
    found = refused(culture={"volume": "6 mL", "dose": "2 mL"})
    needed = int(freed(found, r"(\d+) mL of culture")[1])

    assert planned(culture={"volume": f"{needed} mL", "dose": "2 mL"}).feasible
    assert not planned(culture={"volume": f"{needed - 2} mL", "dose": "2 mL"}).feasible


def test_too_little_grain():
    found = refused(grain={"in_stock": "900 g"})
    match = freed(found, r"([\d.]+) (kg|g) of dry grain")

    assert planned(grain={"in_stock": f"{match[1]} {match[2]}"}).feasible


def test_too_near_a_date():
    found = refused(wish={"ready_by": date(2026, 12, 9)})
    day = date.fromisoformat(freed(found, r"ready_by = (\d{4}-\d\d-\d\d)")[1])

    assert planned(wish={"ready_by": day}).feasible
    assert not planned(wish={"ready_by": day - timedelta(days=1)}).feasible


def test_too_short_hours_name_the_day_and_how_long():
    evenings = [{"days": ALL_DAYS[:5], "from": time(19), "until": time(21)},
                {"days": ["sun"], "from": time(10), "until": time(14)}]  # fmt: skip
    found = refused(free=evenings)
    match = freed(found, r"(\w+?)s from (\d\d:\d\d) to (\d\d:\d\d)")
    longer = {
        "days": [match[1][:3].lower()], "from": time.fromisoformat(match[2]),
        "until": time.fromisoformat(match[3].replace("24:00", "00:00")),
    }  # fmt: skip

    assert planned(free=[*evenings, longer]).feasible
    assert any("2 h" in each or "4 h" in each for each in found.notes), "what is free now"


def test_a_chance_that_cannot_be_had_says_the_one_that_can():
    """Every run may be bad, and the culture: no number of jars lifts that."""
    own = {"run": "30%", "run_kill": "100%"}
    found = refused(losses=own, wish={"chance": "95%"})
    most = freed(found, r'chance = "(\d+)%"')[1]

    assert float(most) / 100 == pytest.approx(found.chance_of_meeting, abs=0.01)
    assert planned(losses=own, wish={"chance": f"{most}%"}).feasible


def test_a_second_run_is_taken_when_the_chance_needs_it():
    own = {"run": "20%", "run_kill": "100%", "jar": "0%", "culture": "0%"}
    found = planned(losses=own, wish={"chance": "90%"}, kit={"jars_free": 14})

    assert found.feasible
    assert len(found.sterilizer_runs) == 2
    assert found.chance_of_enough == pytest.approx(1 - 0.2**2)


def test_a_shelf_on_which_nothing_grows():
    found = refused(place={"shelf_temperature": "1 C"})

    assert freed(found, r"a shelf of about 27 °C")
    assert "shelf" in found.binding[0].limit


def test_several_limits_are_named_together():
    found = refused(kit={"jars_free": 3}, wish={"ready_by": date(2026, 12, 9)})

    assert len(found.binding) == 2
    assert all("together" in each.would_free for each in found.binding)


def test_no_limit_is_named_that_does_not_bind():
    found = refused(culture={"volume": "6 mL", "dose": "2 mL"})

    said = " ".join(each.limit for each in found.binding)
    assert "jars" not in said.replace("a jar", "")
    assert "ready_by" not in said


def test_a_start_alone_never_fails_for_its_date():
    found = refused(wish={"ready_by": None, "start": date(2026, 11, 26)}, kit={"jars_free": 3})

    assert not [each for each in found.binding if "ready_by" in each.limit + each.would_free]
    assert datetime(2026, 11, 25, 18) == NOW


def test_where_no_one_day_is_enough_each_is_tried_once(monkeypatch):
    """A plan of hundreds of jars takes a second: 84 of them kept the answer for a minute."""
    tried = []

    def solved(facts, weekdays, length_h):
        tried.append(weekdays)
        return "a plan" if len(weekdays) == 7 and length_h >= 1.0 else None

    monkeypatch.setattr(hours, "_solved", solved)

    (only,) = hours.freer_hours(facts_of(wish(wish_table())))

    assert only.would_free == "1 h more on each day of the week"
    assert len([days for days in tried if len(days) == 1]) == 7
