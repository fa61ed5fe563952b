"""Conduction in a filled jar: worked examples, exactness, one trajectory for every hold."""

from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import spawnwright.model.heat.conduction as conduction
import spawnwright.model.heat.modal_march as modal_march
import spawnwright.model.heat.modes as modes
from spawnwright.errors import OutOfRange, Unusable
from spawnwright.model.heat.bed import Bed
from spawnwright.model.heat.conduction import conduct, conduct_and_keep, continue_from
from spawnwright.model.sterilizing.lethality import lethality_curve_min
from tests.model.reference_jar import QUART, reference_cycle
from tests.published import half_last_digit, rows

INSULATED = 1e-4  # W/(m² K): a Biot number of 1e-5


@pytest.mark.parametrize("row", rows("geankoplis_5_3_pea_can"), ids=lambda row: row["ends"])
def test_can_of_pea_puree(row):
    """GEANKOPLIS1993: the exact value to its digits; the chart's own reading carries 2 °C."""
    end = 4540.0 if row["ends"] == "heated" else INSULATED
    can = Bed(0.0681 / 2, 0.1016, 4540.0, end, end, 0.830 / 2.007e-7)

    center = conduct(can, 2.007e-7, 29.4, [0.0, 2700.0], [115.6, 115.6]).core_c[0, -1]

    assert center == pytest.approx(float(row["exact_c"]), abs=half_last_digit(row["exact_c"]))
    assert center == pytest.approx(float(row["chart_c"]), abs=2.0)


@pytest.mark.parametrize("row", rows("cengel_4_8_brass"), ids=lambda row: row["place"])
def test_short_brass_cylinder_that_cools(row):
    """CENGEL2003: center and middle of the top; the book's charts are read to 1 °C."""
    brass = Bed(0.05, 0.12, 60.0, 60.0, 60.0, 110 / 3.39e-5)
    height = {"center": 0.5, "top": 1.0}[row["place"]]

    history = conduct(brass, 3.39e-5, 120.0, [0.0, 900.0], [25.0, 25.0], core_at=height)

    found = history.core_c[0, -1]
    assert found == pytest.approx(float(row["exact_c"]), abs=half_last_digit(row["exact_c"]))
    assert found == pytest.approx(float(row["chart_c"]), abs=0.5 + half_last_digit(row["chart_c"]))


def scenarios(seed, count):
    """Jars and cycles of all kinds: small and large, slow and quick, cold and hot-packed."""
    rng = np.random.default_rng(seed)
    radius = rng.uniform(0.03, 0.055, count)
    films = [10 ** rng.uniform(low, 3.7, count) for low in (1.5, 1.5, 0.0)]
    bed = Bed(
        radius, radius * rng.uniform(1.0, 4.0, count), *films, rng.uniform(1.6e6, 3.5e6, count)
    )
    return bed, 10 ** rng.uniform(-7.2, -6.5, count), rng.uniform(15.0, 98.0, count)


def rise_and_fall(start, until_boiling, until_pressure, off, cooling, time):
    """Start to boiling, 10 min there, to 121 °C, steam off, cooling with a time constant."""
    bends = [0, until_boiling, until_boiling + 600, until_pressure]
    up = np.array([np.interp(time, bends, [min(s, 99.0), 100, 100, 121]) for s in start])
    return np.where(time <= off, up, 25 + 96 * np.exp(-np.maximum(time - off, 0) / cooling))


STEPS = {
    "steam at once, knots of 60 s": np.arange(0, 7201, 60.0),
    "steam at once, early knots of 5 s": np.r_[np.arange(0, 300, 5.0), np.arange(300, 7201, 60.0)],
}
CYCLES = {
    "a canner's cycle": (900, 1800, 7200, 8520, np.r_[0:7201:60, 7320:25000:120] * 1.0),
    "a hasty cycle": (300, 1000, 3600, 1500, np.arange(0, 9001, 30.0)),
}


@pytest.mark.parametrize("crowd", [False, True], ids=["few beds", "many beds"])
@pytest.mark.parametrize("name", [*STEPS, *CYCLES])
def test_modes_left_out_change_f0_by_less_than_half_a_percent(name, crowd, monkeypatch):
    """Against eight times the modes, none dropped, at every knot and however small F0 is."""
    bed, diffusivity, start = scenarios(1, 40)
    if name in STEPS:
        time = STEPS[name]
        vessel = np.full((start.size, time.size), 121.0)
    else:
        time = CYCLES[name][-1]
        vessel = rise_and_fall(start, *CYCLES[name])

    monkeypatch.setattr(modal_march, "_FEW", 1 if crowd else 10**9)
    found = conduct(bed, diffusivity, start, time, vessel)
    monkeypatch.setattr(modal_march, "_FEW", 10**9)
    monkeypatch.setattr(modes, "KEPT", 4000.0)
    monkeypatch.setattr(conduction, "_UNFELT", 0.003)  # so many modes serve from there
    exact = conduct(bed, diffusivity, start, time, vessel)

    f0, true = (lethality_curve_min(time, each.core_c)[:, 1:] for each in (found, exact))
    total, true_total = (
        lethality_curve_min(time, each.coldest_c)[:, -1] for each in (found, exact)
    )
    assert np.abs(f0 / true - 1).max() < 0.005
    assert np.abs(total / true_total - 1).max() < 0.005


def test_a_straight_piece_may_be_cut_anywhere():
    """No error of time-stepping: knots on straight lines, taken out, change nothing."""
    few = np.array([0.0, 900.0, 1500.0, 1800.0, 7200.0])
    bends = [20.0, 99.97, 99.97, 120.95, 120.95]
    many = np.unique(np.r_[few, np.arange(0, 7201, 50.0)])

    coarse = conduct(QUART, 1.3e-7, 20.0, few, bends)
    fine = conduct(QUART, 1.3e-7, 20.0, many, np.interp(many, few, bends))

    there = np.searchsorted(many, few)
    assert fine.core_c[0, there] == pytest.approx(coarse.core_c[0], abs=1e-3)
    assert fine.mean_c[0, there] == pytest.approx(coarse.mean_c[0], abs=1e-2)


def test_scenarios_together_are_as_each_alone():
    """More than one batch of them, each with its own bed, start and vessel curve."""
    bed, diffusivity, start = scenarios(2, 600)
    time = np.arange(0, 5401, 180.0)
    vessel = rise_and_fall(start, 900, 1800, 4500, 8520, time)

    together = conduct(bed, diffusivity, start, time, vessel)

    for place in (0, 511, 512, 599):
        own = Bed(*(getattr(bed, each.name)[place] for each in fields(bed)))
        alone = conduct(own, diffusivity[place], start[place], time, vessel[place])
        assert together.core_c[place] == pytest.approx(alone.core_c[0], abs=0.03)
        assert together.coldest_c[place] == pytest.approx(alone.coldest_c[0], abs=0.03)
        assert together.coldest_height_m[place] == pytest.approx(
            alone.coldest_height_m[0], abs=2e-4
        )


def test_one_trajectory_serves_every_hold():
    """Heated once to the longest hold, continued from any instant, as if run for itself."""
    diffusivity = np.array([1.0e-7, 1.6e-7, 2.5e-7])
    time, vessel, _ = reference_cycle(120.95, 99.97, hold_min=180, cooling_min=0)
    offs = np.array([1800 + 20 * 60.0, 1800 + 61.5 * 60, 1800 + 180 * 60])

    _, state = conduct_and_keep(QUART, diffusivity, 20.0, time, vessel, offs)
    since = np.arange(0, 7201, 60.0)
    cooling = 25 + 95.95 * np.exp(-since / 8520)
    cooled = continue_from(state, since, cooling)

    assert cooled.core_c.shape == (3, 3, since.size)
    for hold, off in enumerate(offs):
        whole = np.r_[time[time < off], off + since]
        driven = np.r_[vessel[time < off], cooling]
        alone = conduct(QUART, diffusivity, 20.0, whole, driven)
        after = whole >= off
        assert cooled.core_c[:, hold] == pytest.approx(alone.core_c[:, after], abs=0.01)
        assert cooled.mean_c[:, hold] == pytest.approx(alone.mean_c[:, after], abs=0.02)
        assert state.core_c[:, hold] == pytest.approx(cooled.core_c[:, hold, 0])


def test_steam_may_be_cut_while_the_vessel_still_warms():
    """The beds then lag behind a rising vessel, and the bend is all the sharper."""
    time, vessel, _ = reference_cycle(120.95, 99.97, cooling_min=0)
    offs = np.array([700.0, 1650.0])
    _, state = conduct_and_keep(QUART, 2.0e-7, 20.0, time, vessel, offs)
    since = np.arange(0, 3601, 60.0)
    then = state.vessel_c[0][:, None]
    cooling = 25 + (then - 25) * np.exp(-since / 8520)

    cooled = continue_from(state, since, cooling[None])

    for hold, off in enumerate(offs):
        whole = np.r_[time[time < off], off + since]
        driven = np.r_[vessel[time < off], cooling[hold]]
        alone = conduct(QUART, 2.0e-7, 20.0, whole, driven)
        assert cooled.core_c[0, hold] == pytest.approx(alone.core_c[0, whole >= off], abs=0.02)
        assert cooled.mean_c[0, hold] == pytest.approx(alone.mean_c[0, whole >= off], abs=0.05)


def test_the_coldest_point_of_any_hold_is_one_of_two():
    """The coldest of the heating, or the end that is heated less, which cools first."""
    diffusivity = np.array([0.7e-7, 1.0e-7, 1.6e-7, 2.5e-7])
    time, vessel, _ = reference_cycle(120.95, 99.97, hold_min=240, cooling_min=0)
    offs = 1800 + 60 * np.array([30.0, 90, 240])
    since = np.arange(0, 14401, 60.0)
    cooling = 25 + 95.95 * np.exp(-since / 8520)
    heated, state = conduct_and_keep(QUART, diffusivity, 20.0, time, vessel, offs)
    cooled = continue_from(state, since, cooling)

    for hold, off in enumerate(offs):
        until = np.searchsorted(time, off)
        totals = [
            lethality_curve_min(time, before)[:, until]
            + lethality_curve_min(since, after[:, hold])[:, -1]
            for before, after in (
                (heated.coldest_c, cooled.coldest_c), (heated.end_c, cooled.end_c),
            )
        ]  # fmt: skip
        whole, driven = np.r_[time[:until], off + since], np.r_[vessel[:until], cooling]
        own = conduct(QUART, diffusivity, 20.0, whole, driven)
        least = lethality_curve_min(whole, own.coldest_c)[:, -1]

        assert np.min(totals, axis=0) == pytest.approx(least, rel=0.003)
        assert np.all(own.end_c[:, -1] < own.core_c[:, -1])


def test_each_scenario_may_have_its_own_instants_and_cooling():
    """Pressure is reached at other times in other scenarios, and canners cool differently."""
    diffusivity = np.array([1.3e-7, 2.0e-7])
    time, vessel, _ = reference_cycle(120.95, 99.97, hold_min=120, cooling_min=0)
    offs = np.array([[4000.0, 5000.0], [6000.0, 7000.0]])
    since = np.arange(0, 3601, 60.0)
    constants = np.array([[3000.0, 4000.0], [5000.0, 6000.0]])
    cooling = 25 + 95.95 * np.exp(-since / constants[..., None])

    _, state = conduct_and_keep(QUART, diffusivity, 20.0, time, vessel, offs)
    cooled = continue_from(state, since, cooling)

    for place in np.ndindex(2, 2):
        off = offs[place]
        whole = np.r_[time[time < off], off + since]
        driven = np.r_[vessel[time < off], cooling[place]]
        alone = conduct(QUART, diffusivity[place[0]], 20.0, whole, driven)
        assert cooled.core_c[place] == pytest.approx(alone.core_c[0, whole >= off], abs=0.01)


def test_steam_let_go_at_once_is_a_step():
    """The vessel may fall to 100 °C between two knots; the bed cannot."""
    time, vessel, off = reference_cycle(120.95, 99.97, cooling_min=0)
    _, state = conduct_and_keep(QUART, 2.0e-7, 20.0, time, vessel, [off])

    cooled = continue_from(state, [0.0, 600.0, 3600.0], [99.97, 99.97, 99.97])

    assert cooled.core_c[0, 0, 0] == pytest.approx(state.core_c[0, 0])
    assert cooled.core_c[0, 0, 1] == pytest.approx(state.core_c[0, 0], abs=2.0)
    assert cooled.core_c[0, 0, 2] < state.core_c[0, 0] - 5


def test_the_coldest_point_lies_between_the_core_and_the_end_that_is_heated_less():
    """And upside down, when the top is heated better than the bottom."""
    time, vessel, _ = reference_cycle(120.95, 99.97)
    turned = Bed(0.043, 0.114, 250.0, 5.0, 250.0, 2.06e6)

    upright, inverted = (conduct(bed, 1.6e-7, 20.0, time, vessel) for bed in (QUART, turned))
    coldest, core = (
        lethality_curve_min(time, each)[0, -1] for each in (upright.coldest_c, upright.core_c)
    )

    assert 0.057 <= upright.coldest_height_m[0] <= 0.114
    assert inverted.coldest_height_m[0] == pytest.approx(0.114 - upright.coldest_height_m[0])
    assert inverted.coldest_c == pytest.approx(upright.coldest_c, abs=1e-6)
    assert 0.85 * core < coldest < core


@pytest.mark.parametrize("diffusivity", [0.7e-7, 1.0e-7, 1.6e-7, 2.5e-7])
def test_no_point_of_the_axis_is_less_lethal_than_the_coldest(diffusivity):
    """Fifty heights, looked at one by one; the coldest may miss the least by 0.3 %."""
    time, vessel, _ = reference_cycle(120.95, 99.97)
    heights = np.linspace(0.02, 1.0, 50)

    every = conduct(QUART, diffusivity, 20.0, time, vessel, core_at=heights)

    f0 = lethality_curve_min(time, every.core_c)[:, -1]
    assert lethality_curve_min(time, every.coldest_c)[0, -1] < f0.min() * 1.003


temperatures = st.floats(10, 125)


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0.02, 0.08), st.floats(0.5, 4), st.floats(-7.3, -6.3),
    st.tuples(*[st.floats(0.5, 3.7)] * 3), temperatures,
    st.lists(temperatures, min_size=3, max_size=8),
)  # fmt: skip
def test_a_bed_never_outruns_its_vessel(radius, slimness, power, films, start, curve):
    """At no time is any point hotter than the hottest there was, or colder than the coldest."""
    bed = Bed(radius, radius * slimness, *(10.0**film for film in films), 2.5e6)
    time = np.arange(0, 7201, 60.0)
    vessel = np.interp(time, np.linspace(0, 7200, len(curve)), curve)

    history = conduct(bed, 10.0**power, start, time, vessel)

    hottest = np.maximum(start, np.maximum.accumulate(vessel))
    coldest = np.minimum(start, np.minimum.accumulate(vessel))
    for seen in (history.core_c[0], history.coldest_c[0]):
        assert np.all(seen < hottest + 0.25)
        assert np.all(seen > coldest - 0.25)


@settings(max_examples=40, deadline=None)
@given(st.floats(-7.2, -6.4), st.floats(15, 95), st.floats(112, 125), st.floats(0.5, 8))
def test_a_hotter_vessel_never_gives_less(power, start, steam, more):
    """In F0 at the core and at the coldest point, with the same cycle a little hotter."""
    time, cooler, _ = reference_cycle(steam, 99.97, start_c=start)
    _, hotter, _ = reference_cycle(steam + more, 99.97, start_c=start)

    history = conduct(QUART, 10.0**power, start, time, np.array([cooler, hotter]))

    for seen in (history.core_c, history.coldest_c):
        less, greater = lethality_curve_min(time, seen)[:, -1]
        assert greater > less


@settings(max_examples=40, deadline=None)
@given(st.floats(-7.2, -6.4), st.floats(0.03, 0.05), st.floats(1.02, 1.6), st.floats(1.0, 3.0))
def test_a_larger_jar_never_gets_hotter(power, radius, larger, slimness):
    """While it heats, and in F0 at steam off: the same shape, every length longer."""
    time, vessel, _ = reference_cycle(120.95, 99.97, cooling_min=0)
    size = radius * np.array([1.0, larger])

    history = conduct(
        Bed(size, size * slimness, 250.0, 250.0, 5.0, 2.06e6), 10.0**power, 20.0, time, vessel
    )

    small, large = history.core_c
    assert np.all(large < small + 0.1)
    assert lethality_curve_min(time, large)[-1] < lethality_curve_min(time, small)[-1]


def test_what_cannot_be_is_refused():
    """One sentence each, naming what is wrong."""
    with pytest.raises(Unusable, match="later than the one before"):
        conduct(QUART, 1e-7, 20.0, [0.0, 60.0, 60.0], [20.0, 30.0, 40.0])
    with pytest.raises(Unusable, match="one value for each of the 3 instants"):
        conduct(QUART, 1e-7, 20.0, [0.0, 60.0, 120.0], [20.0, 30.0])
    with pytest.raises(Unusable, match="must be a number"):
        conduct(QUART, 1e-7, 20.0, [0.0, 60.0], [20.0, float("nan")])
    with pytest.raises(Unusable, match="depth_m must be above zero"):
        Bed(0.04, 0.0, 250.0, 250.0, 5.0, 2e6)
    with pytest.raises(OutOfRange, match="steam off"):
        conduct_and_keep(QUART, 1e-7, 20.0, [0.0, 60.0], [20.0, 30.0], [90.0])
