"""The live clock: against published cycles, and in the order that physics demands."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from spawnwright.errors import Contradiction, Unusable
from spawnwright.model.watch.run_cautions import cautions_at
from spawnwright.model.watch.run_clock import SCENARIOS, kitchen_of, run_clock, state_at
from spawnwright.model.watch.run_events import AFTER, check_event
from spawnwright.records.run_log import EVENTS, RunEvent, RunLog
from spawnwright.units import PSI_PA
from tests.model.watched_run import at, conduction, log, question, state
from tests.published import rows

REACHED = ("pressure reached", 0)
REFERENCE = (("heat on", -30), ("steady jet", -15), ("vent closed", -5), REACHED)


@pytest.mark.parametrize("row", rows("finitevolume2026_cycle")[1:5], ids=lambda r: r["diffusivity"])
def test_a_pinned_run_with_the_reference_times_is_the_reference_cycle(row):
    """Heat on, jet, vent closed at 15, 10 and 5 minutes: the published cycle, by finite volumes.

    Its way to boiling is straight, the balance's is bent: worth up to 15 % of F0 at steam off.
    The cooling is the canner's own instead of 142 min, the table counts an hour of it: 10 %.
    """
    found = state(log(*REFERENCE, asked=conduction(float(row["diffusivity"]))), 90)

    assert found.f0_min.likely == pytest.approx(float(row["sea_off"]), rel=0.15)
    assert found.f0_with_cooling_min.likely == pytest.approx(float(row["sea_total"]), rel=0.1)


def test_the_clock_says_what_the_sterilizer_model_says():
    """The same run by the same inputs in 2,000 scenarios: the likely values agree to 10 %.

    What is compared is worked out on another path: table of holds, fine grid, surrogate.
    """
    from spawnwright.actions.sterilizing.sterilize import sterilize

    asked = question(grain_state="pours", effort="quick", wants_causes=False)
    table = sterilize(asked)
    found = state(log(REACHED, asked=asked), 90, SCENARIOS)

    assert found.f0_min.likely == pytest.approx(table.f0_at_steam_off_min.likely, rel=0.1)
    assert found.f0_with_cooling_min.likely == pytest.approx(table.f0_total_min.likely, rel=0.1)
    assert found.f0_min.high == pytest.approx(table.f0_at_steam_off_min.high, rel=0.15)


def _f0(run, minutes):
    band = state(run, minutes).f0_min
    return band.low, band.likely, band.high


LOST = (REACHED, ("pressure lost", 40), ("back at pressure", 60))


def test_lost_pressure_costs_lethality_but_not_all_of_it():
    """Less than not lost, more than beginning cold at the return: the jars keep their heat."""
    kept = _f0(log(REACHED), 110)
    lost = _f0(log(*LOST), 110)
    cold = _f0(log(("pressure reached", 60)), 110)

    for ends in zip(cold, lost, kept, strict=True):
        assert ends[0] < ends[1] < ends[2]


def test_the_deeper_and_the_longer_the_fall_the_less():
    """A reading of 2 psi is worse than one of 12; thirty minutes are worse than ten."""
    by_reading = [
        _f0(log(REACHED, ("pressure lost", 40, psi), ("back at pressure", 60)), 110)[1]
        for psi in (0, 4, 12)
    ]
    by_length = [
        _f0(log(REACHED, ("pressure lost", 40), ("back at pressure", 40 + minutes)), 110)[1]
        for minutes in (30, 10, 1)
    ]

    assert by_reading == sorted(by_reading)
    assert by_length == sorted(by_length)
    assert by_length[-1] == pytest.approx(_f0(log(REACHED), 110)[1], rel=0.05)


def test_the_vessel_is_as_hot_as_the_reading_says():
    """5 psi at sea level is 108.39 °C; a true gauge, pinned. It fell there before it was seen."""
    asked = conduction(1.6e-7)
    run = log(REACHED, ("pressure lost", 40, 5), asked=asked)

    assert state(run, 40).vessel_c.likely == pytest.approx(108.39, abs=0.02)
    assert 108.5 < state(run, 35).vessel_c.likely < 120.5


def test_both_clocks_are_shown():
    """Forty minutes before, twenty after: thirty are left, or seventy by the cautious rule."""
    found = state(log(*LOST), 80)

    assert found.hold_left_min == pytest.approx(30)
    assert found.restarted_hold_left_min == pytest.approx(70)
    assert found.minutes_at_pressure == pytest.approx(60)
    assert found.restarted_hold_ends_at - found.hold_ends_at == timedelta(minutes=40)


def test_while_pressure_is_lost_the_whole_hold_is_ahead_by_the_cautious_rule():
    """And the vessel is cooler each minute, while hold and its end move on."""
    run = log(REACHED, ("pressure lost", 40))
    early, late = state(run, 45), state(run, 60)

    assert early.restarted_hold_left_min == late.restarted_hold_left_min == 90
    assert early.hold_left_min == late.hold_left_min == pytest.approx(50)
    assert late.vessel_c.likely < early.vessel_c.likely - 3
    assert late.hold_ends_at - early.hold_ends_at == timedelta(minutes=15)


def test_the_estimate_rises_and_the_rest_falls():
    """Minute by minute in one run; what was wanted is reached when none is left to it."""
    run = log(REACHED)
    seen = [state(run, minutes) for minutes in (10, 40, 70, 89)]

    likely = [each.f0_min.likely for each in seen]
    left = [each.to_target_min.likely for each in seen]
    assert likely == sorted(likely)
    assert left == sorted(left, reverse=True)
    assert left[-1] == 0
    assert likely[-1] > run.setup.target_min
    assert [each.hold_left_min for each in seen] == pytest.approx([80, 50, 20, 1])


def test_the_coldest_point_is_never_ahead_of_the_core():
    """Nor the core of the steam while it heats."""
    for minutes in (20, 70):
        found = state(log(REACHED), minutes)
        assert found.coldest_f0_min.likely <= found.f0_min.likely
        assert found.core_c.likely <= found.vessel_c.likely


def test_cooling_adds_and_then_ends():
    """Heat off: the core gathers more for a while; opened: nothing counts any more."""
    off = (REACHED, ("heat off", 90))
    at_off, later = (state(log(*off), minutes) for minutes in (90, 130))
    opened = log(*off, ("zero pressure", 120), ("opened", 131))

    assert later.f0_min.low > at_off.f0_min.low
    assert later.hold_left_min is None
    assert state(opened, 200).f0_min == state(opened, 131).f0_min
    assert later.f0_min.likely <= later.f0_with_cooling_min.likely + 1e-9


LONG_AGO = {
    "opened": ((REACHED, ("heat off", 90), ("zero pressure", 120), ("opened", 131)), 131),
    "never opened": ((REACHED, ("heat off", 90)), 24 * 60 + 90),
    "opened months later": (
        (REACHED, ("heat off", 90), ("zero pressure", 120), ("opened", 300 * 24 * 60)),
        24 * 60 + 120,
    ),
    "heat off never noted": ((REACHED,), 24 * 60 + 1),
    "never brought back": ((REACHED, ("pressure lost", 40)), 24 * 60 + 41),
}


@pytest.mark.parametrize(("events", "over_after"), LONG_AGO.values(), ids=LONG_AGO.keys())
def test_a_run_of_last_year_is_not_followed_until_today(events, over_after):
    """It gave what it gave; asking for it again a year later takes no more instants to solve."""
    run, year = log(*events), 365 * 24 * 60
    kitchen = kitchen_of(run, 8)
    then, later = (run_clock(run, at(minute), kitchen) for minute in (over_after, year))

    assert later.time_s.size <= then.time_s.size
    assert state_at(later, at(year)).f0_min.likely == pytest.approx(
        state_at(then, at(over_after)).f0_min.likely, rel=1e-5)  # fmt: skip
    assert later.good_until > at(2 * year)


def test_a_hold_without_an_end_counts_for_what_was_planned():
    """More heat than was noted is no comfort, and a canner of last year is not at 120 °C."""
    year = 365 * 24 * 60
    noted = state(log(REACHED, ("heat off", 90)), year)
    found = state(log(REACHED), year)
    lost = state(log(REACHED, ("pressure lost", 40)), year)

    assert found.f0_min.likely == pytest.approx(noted.f0_min.likely, rel=1e-3)
    assert found.core_c is None
    assert found.minutes_at_pressure == pytest.approx(90)
    assert lost.f0_min.likely < found.f0_min.likely / 2
    assert "Nothing was noted of this run for 365 d" in found.cautions[0]
    assert state(log(REACHED), 100).cautions == cautions_at("holding")


@pytest.mark.parametrize("name", ["heat off", "pressure lost"])
def test_what_was_forgotten_for_months_is_not_noted_as_of_now(name):
    """A burner that was on for 14 months would make a run of half a million minutes."""
    held, late = log(REACHED), 425 * 24 * 60

    with pytest.raises(Unusable, match=r"425 d after 'pressure reached'.*when it was"):
        check_event(held.events, RunEvent(name, at(late)), 15 * PSI_PA, at(late))
    check_event(held.events, RunEvent(name, at(90)), 15 * PSI_PA, at(late))


def test_an_early_zero_is_believed():
    """A canner that was at zero after ten minutes cooled faster than the balance has it."""
    off = (REACHED, ("heat off", 90))
    forced = state(log(*off, ("zero pressure", 100)), 130)

    assert forced.f0_min.likely < state(log(*off), 130).f0_min.likely
    assert forced.vessel_c.high < state(log(*off), 130).vessel_c.high
    pinned = log(*off, ("zero pressure", 100), asked=conduction(1.6e-7))
    assert state(pinned, 100).vessel_c.likely == pytest.approx(99.97, abs=0.1)
    assert 105 < state(pinned, 95).vessel_c.likely < 112


def test_a_slow_come_up_that_was_noted_warms_the_jars():
    """An hour on the heat before pressure: more at the same minute of the hold."""
    slow = log(("heat on", -90), ("steady jet", -25), ("vent closed", -10), REACHED)
    quick = log(("heat on", -25), ("steady jet", -16), ("vent closed", -5), REACHED)

    assert _f0(slow, 60)[1] > _f0(quick, 60)[1]


ODD = {
    "all noted at once": (("heat on", 0), ("steady jet", 0), ("vent closed", 0), REACHED),
    "heated all day": (("heat on", -600), REACHED),
    "lost in the first second": (REACHED, ("pressure lost", 0)),
    "back at once": (REACHED, ("pressure lost", 3, 0), ("back at pressure", 3)),
    "off at once": (REACHED, ("heat off", 0), ("zero pressure", 0), ("opened", 0)),
    "off while lost": (REACHED, ("pressure lost", 2), ("heat off", 4)),
    "off before pressure": (("heat on", -20), ("heat off", 3)),
}


@pytest.mark.parametrize("events", ODD.values(), ids=ODD.keys())
def test_odd_runs_are_followed(events):
    """People tap late, twice, or all at once; the clock says what it can."""
    found = state(log(*events), 5)

    if found.f0_min is not None:
        assert 0 <= found.f0_min.low <= found.f0_min.high < 5


def test_one_clock_answers_like_a_new_one():
    """The clock that was solved at the beginning, asked an hour later, and one solved then."""
    run = log(REACHED)
    early = run_clock(run, at(5))

    assert state_at(early, at(65)) == state_at(run_clock(run, at(65)), at(65))


def test_a_hold_that_runs_over_is_followed():
    """Four hours after the planned end the clock still knows how hot the core is."""
    found = state(log(REACHED), 400)

    assert found.hold_left_min == pytest.approx(-310)
    assert found.f0_min.likely > 200


def test_before_pressure_there_is_no_lethality_but_a_chain():
    """What comes and when; nothing about the core."""
    found = state(log(("heat on", 0)), 10)

    assert found.stage == "heating"
    assert found.f0_min is None
    assert [each.name for each in found.chain][:3] == ["heat up", "vent", "come to pressure"]


def test_the_chain_shifts_what_follows():
    """A soak that ends late moves simmer, drying and all the rest; what is due is said."""
    chain = {"soak_s": 3600.0, "simmer_s": 900.0, "dry_s": 1800.0}
    begun = log(("soak begun", 0), **chain)
    planned, late = state(begun, 30).chain, state(begun, 90).chain

    assert [each.name for each in planned][:3] == ["soak", "simmer", "dry"]
    assert not planned[0].is_due
    assert planned[1].begins_at == at(60)
    assert late[0].is_due
    shifts = [new.begins_at - old.begins_at for old, new in zip(planned, late, strict=True)]
    assert shifts == [timedelta(0)] + [timedelta(minutes=30)] * (len(shifts) - 1)


def test_time_lost_moves_the_end_of_the_hold_in_the_chain():
    """Twenty minutes lost, twenty minutes later off."""
    hold = next(each for each in state(log(*LOST), 80).chain if each.name == "hold")

    assert hold.ends_at == at(110)


def test_the_night_of_the_clocks():
    """Pressure reached before summer time ends, looked at after it: a wall clock runs backward.

    On 2027-10-31 clocks in Berlin go from 3:00 back to 2:00. 2:30 to 2:10 is forty minutes.
    """
    berlin = ZoneInfo("Europe/Berlin")
    reached = datetime(2027, 10, 31, 2, 30, tzinfo=berlin, fold=0)
    now = datetime(2027, 10, 31, 2, 10, tzinfo=berlin, fold=1)
    run = RunLog(log(REACHED).setup, (RunEvent("pressure reached", reached),))
    found = state_at(run_clock(run, now), now)
    plain = state(log(REACHED), 40, SCENARIOS)

    assert found.minutes_at_pressure == pytest.approx(40)
    assert found.f0_min == plain.f0_min
    lost = RunEvent("pressure lost", datetime(2027, 10, 31, 2, 50, tzinfo=berlin, fold=0))
    back = RunEvent("back at pressure", datetime(2027, 10, 31, 2, 5, tzinfo=berlin, fold=1))
    run = RunLog(run.setup, (*run.events, lost, back))
    check_event(run.events[:2], back, 15 * PSI_PA)
    found = state_at(run_clock(run, now), now)
    assert found.minutes_at_pressure == pytest.approx(20 + 5)


NONSENSE = {
    "back before lost": ([REACHED], ("back at pressure", 10), "note 'pressure lost' first"),
    "lost before reached": ([("heat on", 0)], ("pressure lost", 10), "while it is held"),
    "lost twice": ([REACHED, ("pressure lost", 5)], ("pressure lost", 10), "cannot follow"),
    "reached twice": ([REACHED], ("pressure reached", 10), "cannot follow"),
    "zero with the heat on": ([REACHED], ("zero pressure", 10), "note 'heat off' first"),
    "opened under pressure": ([REACHED, ("heat off", 9)], ("opened", 10), "never open"),
    "back in time": ([REACHED], ("heat off", -5), "times cannot go back"),
    "in the future": ([REACHED], ("heat off", 700), "in the future"),
    "soak in the canner": ([("heat on", 0)], ("soak begun", 10), "cannot follow"),
    "heat off when all is cold": ([], ("heat off", 10), "cannot follow"),
    "a reading above the hold": ([REACHED], ("pressure lost", 10, 16), "cannot be"),
    "a reading with another event": ([REACHED], ("heat off", 10, 5), "belongs to"),
    "no such event": ([REACHED], ("whistle", 10), "There is no event"),
}


@pytest.mark.parametrize(("before", "event", "why"), NONSENSE.values(), ids=NONSENSE.keys())
def test_what_cannot_have_happened_is_refused(before, event, why):
    """With the reason, and what to note instead."""
    with pytest.raises((Contradiction, Unusable), match=why):
        check_event(log(*before).events, log(event).events[0], 15 * PSI_PA, at(600))


def test_an_instant_without_offset_is_refused():
    """It could be any hour of the world."""
    with pytest.raises(Unusable, match="offset"):
        check_event((), RunEvent("heat on", datetime(2027, 1, 3, 18)), 15 * PSI_PA)


def test_every_event_can_happen_in_its_order():
    """The whole evening, with pressure lost and brought back once."""
    names = [name for name in EVENTS if name not in ("pressure lost", "back at pressure")]
    place = names.index("heat off")
    names[place:place] = ["pressure lost", "back at pressure"]
    events = [(name, 10 * minutes) for minutes, name in enumerate(names)]

    for count in range(len(events)):
        check_event(log(*events[:count]).events, log(events[count]).events[0], 15 * PSI_PA)


@pytest.mark.parametrize(
    ("last", "caution"),
    [
        ("heat on", "Never leave a canner"), ("steady jet", "ten full minutes in a steady jet"),
        ("vent closed", "Never above the rated pressure"), ("pressure reached", "let it run dry"),
        ("pressure lost", "count the whole hold again"), ("heat off", "fall by itself"),
        ("zero pressure", "wait ten minutes"), ("opened", "no proof"),
    ],
)  # fmt: skip
def test_each_caution_stands_at_its_moment(last, caution):
    """Where the hand is about to do something; the first one is the most urgent."""
    assert caution in cautions_at(AFTER[last][1])[0]
