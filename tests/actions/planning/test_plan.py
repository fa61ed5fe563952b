"""From a wish to a dated batch: what the chain holds, and what changes it."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import product

import pytest

from spawnwright.actions.planning.choose import with_controls
from spawnwright.actions.planning.facts import facts_of
from spawnwright.actions.planning.losses import losses_of
from spawnwright.actions.planning.lots import Begun, layout
from spawnwright.actions.planning.plan import plan
from spawnwright.errors import Contradiction, Unusable
from tests.actions.wishes import ALL_DAYS, NOW, planned, step, steps, wish, wish_table
from tests.plan_checker.checker import check

CHAIN = [
    "make_lids", "culture_test", "wash_jars", "soak", "rinse", "simmer", "drain", "surface_dry",
    "weigh", "fill", "load", "heat_up", "vent", "hold", "pressure_drop", "cool_down", "inoculate",
    "shelf", "look", "shake", "ready", "use_by", "wash_up",
]  # fmt: skip


def utc(when: datetime) -> datetime:
    return when.astimezone(UTC)


def test_the_chain_is_whole_dated_and_breaks_no_rule():
    found = planned()

    assert found.feasible
    assert {each.kind for each in found.steps} == set(CHAIN)
    order = [each.kind for each in found.steps if each.kind in CHAIN[3:17]]
    assert order == CHAIN[3:17]
    assert found.jars_to_make == 7
    assert check(wish_table(), found, NOW.replace(tzinfo=found.steps[0].at.tzinfo)) == []


def test_the_same_wish_at_the_same_instant_gives_the_same_plan():
    assert planned() == planned()


def test_with_a_date_it_begins_late_and_with_a_start_at_once():
    late = planned()
    early = planned(wish={"ready_by": None, "start": date(2026, 11, 26)})
    sooner = planned(wish={"ready_by": date(2027, 1, 8)})

    assert step(early, "soak").at < step(sooner, "soak").at < step(late, "soak").at
    assert step(late, "inoculate").at - step(sooner, "inoculate").at >= timedelta(days=6)
    assert step(early, "soak").at < datetime(2026, 11, 28, tzinfo=late.steps[0].at.tzinfo)


def test_a_start_and_a_date_hold_both():
    found = planned(wish={"start": date(2026, 12, 10)})

    assert min(utc(each.at) for each in found.steps) >= datetime(2026, 12, 9, 23, tzinfo=UTC)
    assert found.chance_in_time > 0.7


def test_the_chance_is_enough_good_jars_times_in_time():
    found = planned()

    assert found.chance_of_meeting == pytest.approx(found.chance_of_enough * found.chance_in_time)
    assert found.chance_of_meeting >= 0.70
    (chosen,) = [each for each in found.choices if each.is_chosen]
    assert chosen.chance == found.chance_of_meeting


def test_own_losses_win_over_the_programs():
    """One run, seven jars, nothing lost but whole runs: 1 - 0.2 × (all killed)."""
    own = {"jar": "0%", "run": "20%", "run_kill": "100%", "culture": "0%"}
    found = planned(losses=own)

    assert found.chance_of_enough == pytest.approx(0.8)


def test_the_control_jar_has_its_place_and_says_what_it_proves():
    plain = planned()
    new_lot = planned(grain={"new_lot": True})

    assert (plain.controls, plain.jars_to_make) == (0, 7)
    assert (new_lot.controls, new_lot.jars_to_make) == (1, 6)
    assert new_lot.sterilizer_runs[0].jars == 7
    assert "A7 is the control jar" in step(new_lot, "fill").detail
    # Bayes with the stated priors: 0.08 × 0.3 / (0.08 × 0.3 + 0.92)
    assert any("falls from 8.0% to 2.5%" in each for each in new_lot.notes)


def test_a_control_jar_takes_the_place_that_the_culture_leaves():
    found = planned(culture={"volume": "12 mL", "dose": "2 mL"})

    assert (found.jars_to_make, found.controls) == (6, 1)


def test_more_jars_than_the_canner_holds_split_the_soak_over_two_days():
    found = planned(wish={"jars": 9}, kit={"jars_free": 14})

    soaks, runs = steps(found, "soak"), found.sterilizer_runs
    assert [run.jars for run in runs] == [7, 7]
    assert len(soaks) == 2
    assert runs[1].at.date() > runs[0].at.date()
    assert found.dry_grain_kg == pytest.approx(
        sum(each.amounts["dry_grain_kg"] for each in soaks), rel=1e-9
    )


def test_opened_warm_a_long_day_takes_two_runs():
    """Drained grain would wait for the second run past 6 h, so each has its own soak."""
    free = [{"days": ALL_DAYS, "from": time(5), "until": time(23, 30)}]
    jars = {"jar": "pint", "jars_free": 18}
    shut = planned(wish={"jars": 12}, kit=jars, free=free)
    warm = planned(wish={"jars": 12}, kit=jars | {"cooling": "opened warm"}, free=free)

    days = [[run.at.date() for run in each.sterilizer_runs] for each in (shut, warm)]
    assert (days[0][1] - days[0][0]).days >= 1
    assert days[1][0] == days[1][1]
    assert len(steps(warm, "unload")) == 2
    assert steps(warm, "load")[1].at >= steps(warm, "unload")[0].until


def test_a_cold_place_parts_cooking_and_canner_over_two_evenings():
    evenings = [{"days": ALL_DAYS, "from": time(16), "until": time(22)}]
    without = planned(free=evenings)
    cold = planned(free=evenings, kit={"cold_place": True})

    assert not without.feasible
    assert any("refrigerator" in each.would_free for each in without.binding)
    assert step(cold, "fill").at.date() < step(cold, "load").at.date()
    assert utc(cold.sterilizer_runs[0].at) - utc(step(cold, "drain").at) <= timedelta(hours=24)
    assert "refrigerator" in step(cold, "fill").detail
    assert check(wish_table(free=evenings, kit={"cold_place": True}), cold, _now(cold)) == []


def _now(found) -> datetime:
    return NOW.replace(tzinfo=found.steps[0].at.tzinfo)


def test_kilograms_become_jars_and_the_date_is_the_first_harvest():
    found = planned(wish={"jars": None, "fresh_mushrooms": "2 kg", "ready_by": date(2027, 4, 1)})
    more = planned(wish={"jars": None, "fresh_mushrooms": "9 kg", "ready_by": date(2027, 4, 1)},
                   kit={"jars_free": 14})  # fmt: skip

    use, harvest = step(found, "use"), step(found, "first_harvest")
    assert found.jars_wanted < more.jars_wanted
    assert found.ready.likely < use.at < harvest.at
    assert (harvest.at - use.at).days == pytest.approx(34.7, abs=1.5)  # Fayssal 2020, table 2
    assert harvest.at < datetime(2027, 4, 2, tzinfo=harvest.at.tzinfo)
    assert "biological efficiency" in use.detail
    assert "flush" in harvest.detail
    table = wish_table(wish={"jars": None, "fresh_mushrooms": "2 kg",
                             "ready_by": date(2027, 4, 1)})  # fmt: skip
    assert check(table, found, _now(found)) == []


def test_durations_are_true_in_the_night_that_the_clocks_change():
    """28 March 2027 has 23 hours in Warsaw: an hour on the wall is no hour in the pot."""
    night = [{"days": ALL_DAYS, "from": time(20), "until": time(19)}]

    def begun(on: date):
        return planned(
            datetime.combine(on, time(5)), wish={"ready_by": None, "start": on},
            grain={"soak": "14 h"}, free=night, under_way={"lids_cured": 7, "jars_washed": 7},
        )  # fmt: skip

    usual, changed = begun(date(2027, 3, 20)), begun(date(2027, 3, 27))
    soak, (run,) = step(changed, "soak"), changed.sterilizer_runs
    assert {soak.at.utcoffset(), run.until.utcoffset()} == {timedelta(hours=1), timedelta(hours=2)}
    for kind in CHAIN[3:16]:
        lengths = [utc(step(each, kind).until) - utc(step(each, kind).at) for each in
                   (usual, changed)]  # fmt: skip
        assert lengths[0] == lengths[1], kind
    assert utc(soak.until) - utc(soak.at) == timedelta(hours=14)
    assert utc(run.until) - utc(soak.at) == utc(usual.sterilizer_runs[0].until) - utc(
        step(usual, "soak").at
    )


def test_a_small_pot_scale_and_few_trays_mean_portions_and_a_longer_block():
    usual = planned()
    small = planned(kit={"pot": "4 L", "scale_max": "1 kg", "trays": 1})

    assert step(usual, "simmer").amounts["portions"] == 1
    assert step(small, "simmer").amounts["portions"] == 3
    assert step(small, "weigh").amounts["portions"] == 4
    assert "3 portions" in step(small, "simmer").detail
    assert "4 portions" in step(small, "weigh").detail
    longer = [
        utc(step(each, "fill").until) - utc(step(each, "rinse").at) for each in (usual, small)
    ]
    assert longer[1] - longer[0] >= timedelta(minutes=45)


def test_a_culture_that_was_tested_needs_no_test_and_is_surer():
    untested = planned(wish={"ready_by": None, "start": date(2026, 11, 26)})
    tested = planned(wish={"ready_by": None, "start": date(2026, 11, 26)},
                     culture={"tested": date(2026, 11, 20)})  # fmt: skip

    assert not steps(untested, "culture_test")
    assert any("not tested" in each for each in untested.notes)
    assert tested.chance_of_enough / untested.chance_of_enough == pytest.approx(
        (1 - 0.05 * 0.2 / (0.05 * 0.2 + 0.95)) / 0.95
    )


def test_a_test_is_seven_to_ten_days_before_the_needle():
    found = planned()
    days = (step(found, "inoculate").at.date() - step(found, "culture_test").at.date()).days

    assert 7 <= days <= 10


@pytest.mark.parametrize(
    ("changes", "differs"),
    [
        ({"wish": {"jars": 5, "chance": "65%"}}, lambda p: p.jars_wanted),
        ({"kit": {"jars_free": 6}}, lambda p: (p.jars_to_make, p.dry_grain_kg, p.water_l)),
        ({"place": {"shelf_temperature": "26 C"}}, lambda p: p.ready),
        ({"place": {"elevation": "2000 m"}}, lambda p: p.sterilizer_runs[0].hold_min),
        ({"grain": {"target": "50%"}}, lambda p: p.water_l / p.dry_grain_kg),
        ({"wish": {"species": "golden oyster"}}, lambda p: p.ready),
        ({"losses": {"run": "20%"}}, lambda p: (p.chance_of_meeting, p.choices)),
    ],
    ids=lambda each: str(each)[:40],
)
def test_what_is_promised_changes_with_what_is_asked(changes, differs):
    assert differs(planned(**changes)) != differs(planned())


def test_a_full_jar_is_warned_of():
    assert any("75%" in each or "80% full" in each for each in planned(kit={"fill": "80%"}).notes)


def test_cautions_stand_at_their_steps():
    found = planned()

    def said(kind: str) -> str:
        each = step(found, kind)
        return f"{each.detail} {' '.join(each.cautions)}"

    assert "steady jet first" in said("vent")
    assert "from the moment" in said("hold")
    assert "again from zero" in said("hold")
    assert "No water, no wet cloth" in said("pressure_drop")
    assert "vacuum" in said("cool_down")
    assert "before any flame" in said("inoculate")
    assert "first drop" in said("inoculate")
    assert "Fans off" in said("inoculate")
    assert "in doubt is not shaken" in said("shake")
    assert "only a reminder" in said("shake")
    assert "paper towel" in said("weigh")
    assert "vinegar" in said("make_lids")
    assert "maker's manual" in said("cool_down")


def test_jars_that_do_not_fit_and_soaks_that_sour_are_refused():
    with pytest.raises(Contradiction, match="do not fit"):
        planned(kit={"jar": "half-gallon"})
    with pytest.raises(Contradiction, match="sours"):
        planned(grain={"soak": "24 h"}, place={"room_temperature": "28 C"})


def test_a_date_that_nobody_could_meet_is_refused_with_the_first_day_that_could_be():
    with pytest.raises(Unusable, match=r"too near: .* no sooner than \w{3} \d+ Dec"):
        planned(wish={"ready_by": date(2026, 11, 28)})


def test_a_later_plan_of_the_same_batch_keeps_its_keys():
    first = planned(wish={"ready_by": None, "start": date(2026, 11, 26)})
    soak = step(first, "soak")
    later = soak.at.replace(tzinfo=None) + timedelta(hours=8)
    again = planned(
        later, wish={"ready_by": None, "start": date(2026, 11, 26)},
        under_way={
            "soaking": f"{soak.amounts['dry_grain_kg'] + 1e-4:.4f} kg",
            "soaking_since": soak.at.replace(tzinfo=None), "lids_cured": 7, "jars_washed": 7,
        },
    )  # fmt: skip

    both = {each.key for each in first.steps} & {each.key for each in again.steps}
    assert {each.key for each in first.steps if each.at >= again.steps[1].at} <= both
    assert step(again, "soak").at == soak.at
    assert not steps(again, "make_lids")


def test_the_record_of_a_wish_is_not_changed():
    asked = wish(wish_table())
    before = replace(asked)
    plan(asked)

    assert asked == before


@pytest.mark.parametrize("new_lot", [False, True])
@pytest.mark.parametrize("volume", ["6 mL", "20 mL", None])
def test_jars_are_shared_out_without_one_lost_or_made_up(new_lot, volume):
    """Whatever is under way, and however many runs: as many jars as were asked for."""
    facts = facts_of(
        wish(
            wish_table(
                wish={"jars": 2},
                grain={"new_lot": new_lot},
                culture={"volume": volume, "dose": "2 mL"},
                under_way={
                    "soaking": "2 kg", "soaking_since": datetime(2026, 11, 25, 8),
                    "drained": "1 kg", "drained_since": datetime(2026, 11, 25, 15),
                    "sterile_jars": 3, "sterile_since": datetime(2026, 11, 24, 8),
                },
            )
        )
    )  # fmt: skip
    for sterile, drained, soaking, runs in product(range(4), range(3), range(4), range(3)):
        begun = Begun(sterile, drained, soaking)
        jars, controls = with_controls(facts, begun, runs)
        if jars < facts.wanted:
            continue
        shared = layout(facts, begun, jars, runs, 1, controls)

        assert shared.to_make == jars
        assert shared.controls <= controls
        assert all(run.jars <= facts.per_load for run in shared.runs)
        assert all(run.controls < run.jars for run in shared.runs)
        assert [run.number for run in shared.runs] == list(range(1, len(shared.runs) + 1))


def test_a_weaker_run_is_never_held_shorter():
    """At 5 psi, or high up, no hold is sure enough: then the longest that the water allows."""
    usual, weak, high = (
        facts_of(wish(wish_table(kit={"gauge": gauge}, place={"elevation": elevation}))).heat
        for gauge, elevation in (("15 psi", "450 m"), ("5 psi", "450 m"), ("15 psi", "3500 m"))
    )

    assert usual.answer.hold_is == "recommended"
    assert weak.answer.hold_is == high.answer.hold_is == "longest"
    assert min(weak.hold_min, high.hold_min) >= usual.hold_min
    assert weak.hold_min <= weak.answer.longest_hold_s / 60


def test_jars_that_heat_leaves_alive_are_not_counted_as_good():
    """Where heat leaves a survivor in 17 jars of 20, no plan counts on more than 3 good ones."""
    shares = losses_of(wish(wish_table()), 0.85).untested

    assert shares.run * shares.run_kill == pytest.approx(0.85)
