"""Plans that go on from what has been done: soaking, drained or sterile, and what can wait."""

from datetime import UTC, date, datetime, time, timedelta

from tests.actions.wishes import ALL_DAYS, NOW, planned, step, steps, wish_table
from tests.plan_checker.checker import check

AT_ONCE = {"ready_by": None, "start": date(2026, 11, 24)}
DAY = [{"days": ALL_DAYS, "from": time(8), "until": time(22)}]


def at(hour: int, minute: int = 0, day: int = 25) -> datetime:
    return datetime(2026, 11, day, hour, minute)


def going_on(now: datetime = NOW, *, free=DAY, kit=None, wish=None, **under_way):
    changes = {
        "wish": AT_ONCE | (wish or {}), "kit": kit or {}, "free": free, "under_way": under_way,
    }  # fmt: skip
    found = planned(now, **changes)
    if found.steps:
        zone = found.steps[0].at.tzinfo
        assert check(wish_table(**changes), found, now.replace(tzinfo=zone)) == []
    return found


def hours(later, earlier) -> float:
    return (later.astimezone(UTC) - earlier.astimezone(UTC)).total_seconds() / 3600


def test_grain_that_soaks_is_not_soaked_again_and_is_cooked_in_time():
    found = going_on(
        at(9, day=26), soaking="1.8 kg", soaking_since=at(21), lids_cured=7, jars_washed=7
    )
    soak = step(found, "soak")

    assert (soak.at.hour, soak.at.day) == (21, 25)
    assert 12 <= hours(step(found, "rinse").at, soak.at) <= 24
    assert found.dry_grain_kg == 1.8
    assert not steps(found, "make_lids") + steps(found, "wash_jars")
    assert any("begin as late as" in each for each in found.notes)


def test_two_hours_late_is_said_by_the_clock_and_moves_what_follows():
    in_time = going_on(at(9, day=26), soaking="1.8 kg", soaking_since=at(21), lids_cured=7)
    late = going_on(at(11, day=26), soaking="1.8 kg", soaking_since=at(21), lids_cured=7)

    assert step(late, "soak").at == step(in_time, "soak").at
    assert hours(step(late, "rinse").at, step(in_time, "rinse").at) == 2


def test_how_late_the_cooking_may_begin_is_the_last_start_that_can_be_planned():
    """The instant that the note names can still be planned from; a quarter hour later cannot."""
    state = {"soaking": "1.8 kg", "soaking_since": at(21), "lids_cured": 7, "jars_washed": 7}
    found = going_on(at(9, day=26), **state)
    (note,) = [each for each in found.notes if "begin as late as" in each]
    hour, minute = map(int, note.rstrip(".").split()[-1].split(":"))
    last = at(hour, minute, 26)

    assert step(going_on(last, **state), "soak").at.day == 25
    after = going_on(last + timedelta(minutes=15), **state)
    assert any("soaking for" in each and "not in this plan" in each for each in after.notes)
    assert step(after, "soak").at > step(found, "soak").at


def test_five_cured_lids_make_five_jars_of_the_grain_that_soaks():
    """New lids would cure for a day, and the grain sours before: the rest comes from a new soak."""
    found = going_on(
        at(9, day=26), soaking="1.9 kg", soaking_since=at(21), lids_cured=5, wish={"jars": 5},
        kit={"jars_free": 14},
    )  # fmt: skip

    assert found.sterilizer_runs[0].jars == 5
    assert "left over" in steps(found, "fill")[0].detail
    assert found.jars_to_make > 5
    assert step(found, "make_lids").until < steps(found, "fill")[1].at


def test_soaked_too_long_is_left_out_and_said():
    found = going_on(at(22, day=26), soaking="1.8 kg", soaking_since=at(21), lids_cured=7)

    assert step(found, "soak").at.day >= 26
    assert any("not in this plan" in each for each in found.notes)


def test_drained_grain_goes_to_the_canner_within_six_hours():
    found = going_on(at(10), drained="3.4 kg", drained_since=at(9, 30), lids_cured=7)

    assert not steps(found, "soak") + steps(found, "simmer")
    assert hours(found.sterilizer_runs[0].at, step(found, "weigh").at) < 6
    assert found.dry_grain_kg == 0
    late = going_on(at(16), drained="3.4 kg", drained_since=at(9, 30), lids_cured=7)
    assert steps(late, "soak")
    assert any("Throw it away" in each for each in late.notes)


def test_drained_grain_in_the_cold_keeps_a_day():
    found = going_on(
        at(9, day=26), drained="3.4 kg", drained_since=at(14), cold=True, lids_cured=7,
        kit={"cold_place": True},
    )  # fmt: skip

    assert not steps(found, "soak")
    assert found.sterilizer_runs[0].at.day == 26


def test_sterile_jars_are_inoculated_within_seven_days():
    found = going_on(at(9), sterile_jars=7, sterile_since=at(20, day=20))

    inoculate = step(found, "inoculate")
    assert not found.sterilizer_runs
    assert (found.jars_to_make, found.controls, found.dry_grain_kg) == (7, 0, 0)
    assert inoculate.until < datetime(2026, 11, 27, 20, tzinfo=inoculate.at.tzinfo)
    assert "S1" in inoculate.detail
    old = going_on(at(21, day=27), sterile_jars=7, sterile_since=at(20, day=20))
    assert old.sterilizer_runs
    assert any("Sterilize again" in each for each in old.notes)


def test_everything_under_way_at_once():
    found = going_on(
        at(9, day=26), sterile_jars=3, sterile_since=at(20, day=24), soaking="1 kg",
        soaking_since=at(20), lids_cured=9, jars_washed=4, wish={"jars": 8},
        kit={"jars_free": 14},
    )  # fmt: skip

    assert found.feasible
    assert [run.jars for run in found.sterilizer_runs] == [3, 7], "of the kilogram, and anew"
    assert found.jars_to_make == 3 + 3 + 7
    assert steps(found, "soak")[0].amounts["dry_grain_kg"] == 1.0
