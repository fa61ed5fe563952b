"""The wet porous bed: vapor's conductivity, convergence, the linear limit, states."""

from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spawnwright.errors import OutOfRange, Unusable
from spawnwright.model.heat.bed import Bed
from spawnwright.model.heat.conduction import conduct
from spawnwright.model.heat.porous_bed import continue_from, heat_wet_bed, heat_wet_bed_and_keep
from spawnwright.model.heat.steam import saturation_pressure_pa, saturation_temperature_c
from spawnwright.model.heat.wet_bed_grid import WetBedGrid
from spawnwright.model.heat.wet_conductivity import (
    HIGHEST_W_MK,
    WetConductivity,
    vapor_conductivity_w_mk,
)
from spawnwright.model.sterilizing.lethality import lethality_curve_min
from tests.model.reference_jar import QUART, SEA, f0_min, pressure_pa, reference_cycle
from tests.published import half_last_digit, rows


@pytest.mark.parametrize("row", rows("finitevolume2026_vapor"), ids=lambda row: str(row))
def test_conductivity_of_the_vapor(row):
    """Ten values from 20 to 115 °C at two pressures, to the printed digits."""
    found = vapor_conductivity_w_mk(float(row["temperature_c"]), float(row["pressure_pa"]))

    assert found == pytest.approx(float(row["vapor_w_mk"]), abs=half_last_digit(row["vapor_w_mk"]))


def looked_up(temperature_c, pressure, resting=0.16, factor=0.1):
    """The table that the solver uses, for one bed."""
    one = WetConductivity(np.array([resting]), np.array([factor]), np.float32)
    out = np.empty((np.size(temperature_c), 1), np.float32)
    one.at(np.float32(temperature_c).reshape(-1, 1), np.float32([pressure]), out)
    return out[:, 0]


def test_the_table_is_the_formula():
    """Below the cap within half a percent; 3 W/(m K) at the cap and past boiling."""
    temperature = np.linspace(5, 130, 1237)

    found = looked_up(temperature, 150_000.0)

    vapor = vapor_conductivity_w_mk(temperature, 150_000.0)
    wanted = np.minimum(0.16 + 0.1 * vapor, HIGHEST_W_MK)
    boiling = saturation_temperature_c(150_000.0)
    # Near the singularity half a step of the table, 0.025 °C, is a larger share.
    share = 0.002 + 0.04 / np.maximum(boiling - temperature, 0.04)
    assert np.all(np.abs(found / wanted - 1) < share)
    assert found[temperature > boiling] == pytest.approx(HIGHEST_W_MK, rel=1e-6)


def test_without_pores_nothing_is_added():
    """A pore factor of zero is resting conductivity at any temperature, past boiling too."""
    assert looked_up(np.linspace(5, 200, 50), 101_325.0, factor=0.0) == pytest.approx(0.16)


CYCLE = reference_cycle(SEA[0], SEA[1])
TIME, VESSEL, OFF = CYCLE
PRESSURE = pressure_pa(VESSEL, SEA[2])


JARS = {"pint": (0.0385, 0.071), "quart": (0.043, 0.114), "half-gallon": (0.0535, 0.147)}


def without_pores(jar, **more):
    """Largest difference of the core [°C] and of F0 [-] from the modal series."""
    resting = np.array([0.2, 0.3, 0.5])
    time, vessel, _ = reference_cycle(SEA[0], SEA[1], cooling_min=90)
    bed = Bed(*JARS[jar], 250.0, 250.0, 5.0, 2.06e6)
    exact = conduct(bed, resting / 2.06e6, 20.0, time, vessel)
    found = heat_wet_bed(bed, resting, 0.0, 20.0, time, vessel, pressure_pa(vessel, SEA[2]), **more)
    f0, true = (lethality_curve_min(time, each.core_c)[:, -1] for each in (found, exact))
    return np.abs(found.core_c - exact.core_c).max(), np.abs(f0 / true - 1).max()


@pytest.mark.parametrize("jar", JARS)
def test_without_pores_it_is_conduction(jar):
    """Against the modal series, on the grid that is used."""
    degrees, share = without_pores(jar)

    assert degrees < 1.8
    assert share < 0.05


def test_without_pores_it_comes_to_conduction():
    """With half the spacing and half the step, to a third of the difference in F0."""
    _, usual = without_pores("quart")
    degrees, fine = without_pores("quart", grid=(14, 20), longest_step_s=30.0)

    assert degrees < 0.6
    assert fine < 0.007
    assert fine < usual / 3


def test_the_grid_and_the_step_have_converged():
    """F0 of a quart, at steam off and after cooling, against finer: 3 % for η of 0.05 to 0.26."""
    factor = np.array([0.05, 0.10, 0.26])
    time, vessel, off = reference_cycle(SEA[0], SEA[1], cooling_min=60)
    bed = (QUART, 0.16, factor, 20.0, time, vessel, pressure_pa(vessel, SEA[2]))

    usual, finer, finest = (
        [f0_min(time, heat_wet_bed(*bed, **more).core_c, end) for end in (off, time[-1])]
        for more in ({}, {"grid": (10, 14)}, {"grid": (16, 24), "longest_step_s": 30.0})
    )

    assert np.abs(np.divide(usual, finest) - 1).max() < 0.03
    assert np.abs(np.divide(finer, finest) - 1).max() < 0.015


def test_long_steps_cost_little():
    """Knots 150 s apart, and single precision, against steps of 15 s: within 2 % of F0."""
    factor = np.array([0.05, 0.10, 0.26])
    knots = np.arange(0, 7201, 150.0)
    vessel = np.interp(knots, [0, 900, 1500, 1800], [20, 99.97, 99.97, 120.95])
    bed = (QUART, 0.16, factor, 20.0, knots, vessel, pressure_pa(vessel, SEA[2]))

    long, short = (
        lethality_curve_min(knots, heat_wet_bed(*bed, longest_step_s=step).core_c)[:, -1]
        for step in (150.0, 15.0)
    )

    assert long == pytest.approx(short, rel=0.02)


@pytest.mark.parametrize("radius", [0.02, 0.03, 0.08])
@pytest.mark.parametrize("knot_s", [30.0, 300.0])
def test_nothing_runs_away(radius, knot_s):
    """Small and large beds, short and long knots, every pore factor, through boiling dry of air."""
    factor = np.array([0.0, 0.02, 0.1, 0.26, 0.6, 1.0])
    time, vessel, _ = reference_cycle(SEA[0], SEA[1], hold_min=60, cooling_min=120, step_s=knot_s)
    bed = Bed(radius, 2.5 * radius, 250.0, 250.0, 5.0, 2.06e6)

    history = heat_wet_bed(bed, 0.16, factor, 20.0, time, vessel, pressure_pa(vessel, SEA[2]))

    for seen in (history.core_c, history.coldest_c, history.mean_c):
        assert np.all(seen < 121.2)
        assert np.all(seen > 19.5)
    opened = history.core_c[3:]
    assert np.all(opened[:, -1] < opened.max(axis=1) - 10)


def test_scenarios_together_are_as_each_alone():
    """Every field of its own: beds of different size share a batch, not a step's length."""
    rng = np.random.default_rng(3)
    bed = Bed(*(rng.uniform(low, high, 4) for low, high in (
        (0.03, 0.05), (0.06, 0.15), (150, 300), (150, 300), (3, 20), (1.8e6, 2.4e6),
    )))  # fmt: skip
    resting, factor = rng.uniform(0.1, 0.3, 4), rng.uniform(0.03, 0.3, 4)
    start = rng.uniform(10, 80, 4)
    time, vessel, _ = reference_cycle(SEA[0], SEA[1], hold_min=30, cooling_min=30, step_s=30.0)
    vessel = np.where(time < 900, np.linspace(vessel, vessel, 4), vessel - np.arange(4)[:, None])
    pressure = pressure_pa(vessel, SEA[2]) * np.linspace(1, 1.1, 4)[:, None]

    together = heat_wet_bed(bed, resting, factor, start, time, vessel, pressure)

    for place in range(4):
        own = Bed(*(getattr(bed, each.name)[place] for each in fields(bed)))
        alone = heat_wet_bed(
            own, resting[place], factor[place], start[place], time, vessel[place], pressure[place]
        )
        for name in ("core_c", "coldest_c", "mean_c"):
            assert getattr(together, name)[place] == pytest.approx(
                getattr(alone, name)[0], abs=0.05
            )


def test_one_trajectory_serves_several_holds():
    """Continued from a knot and from between two knots, as if run for itself."""
    factor = np.array([0.05, 0.2])
    time, vessel, _ = reference_cycle(SEA[0], SEA[1], hold_min=90, cooling_min=0)
    offs = np.array([1800 + 30 * 60.0, 1800 + 60.5 * 60])
    _, state = heat_wet_bed_and_keep(
        QUART, 0.16, factor, 20.0, time, vessel, pressure_pa(vessel, SEA[2]), offs
    )
    since = np.arange(0, 3601, 60.0)
    cooling = 25 + 95.95 * np.exp(-since / 8520)

    cooled = continue_from(state, since, cooling, pressure_pa(cooling, SEA[2]))

    assert cooled.core_c.shape == cooled.mean_c.shape == (2, 2, since.size)
    for hold, off in enumerate(offs):
        whole = np.r_[time[time < off], off + since]
        driven = np.r_[vessel[time < off], cooling]
        alone = heat_wet_bed(QUART, 0.16, factor, 20.0, whole, driven, pressure_pa(driven, SEA[2]))
        after = whole >= off
        assert cooled.core_c[:, hold] == pytest.approx(alone.core_c[:, after], abs=0.05)
        assert cooled.mean_c[:, hold] == pytest.approx(alone.mean_c[:, after], abs=0.05)
        assert state.core_c[:, hold] == pytest.approx(cooled.core_c[:, hold, 0])


def test_each_scenario_may_have_its_own_instants_and_cooling():
    """As for conduction; rows of the state's fields must not be mixed up."""
    factor = np.array([0.05, 0.2, 0.1])
    time, vessel, _ = reference_cycle(SEA[0], SEA[1], hold_min=60, cooling_min=0)
    offs = np.array([[3000.0, 4000.0], [3600.0, 5000.0], [2400.0, 5400.0]])
    since = np.arange(0, 1801, 60.0)
    constants = np.array([[2000.0, 3000.0], [4000.0, 5000.0], [6000.0, 7000.0]])
    cooling = 25 + 95.95 * np.exp(-since / constants[..., None])
    _, state = heat_wet_bed_and_keep(
        QUART, 0.16, factor, 20.0, time, vessel, pressure_pa(vessel, SEA[2]), offs
    )

    cooled = continue_from(state, since, cooling, pressure_pa(cooling, SEA[2]))

    for place in np.ndindex(3, 2):
        off = offs[place]
        whole = np.r_[time[time < off], off + since]
        driven = np.r_[vessel[time < off], cooling[place]]
        alone = heat_wet_bed(
            QUART, 0.16, factor[place[0]], 20.0, whole, driven, pressure_pa(driven, SEA[2])
        )
        assert cooled.core_c[place] == pytest.approx(alone.core_c[0, whole >= off], abs=0.1)


@settings(max_examples=10, deadline=None)
@given(st.floats(0.02, 0.5), st.floats(1.1, 2), st.floats(0.1, 0.4), st.floats(15, 90))
def test_more_open_pores_are_never_colder_while_heating(factor, more, resting, start):
    """At the core; both scenarios in one batch."""
    time, vessel, _ = reference_cycle(
        SEA[0], SEA[1], start, hold_min=40, cooling_min=0, step_s=100.0
    )
    factors = factor * np.array([1.0, more])

    history = heat_wet_bed(
        QUART, resting, factors, start, time, vessel, pressure_pa(vessel, SEA[2])
    )

    fewer, greater = history.core_c
    assert np.all(greater > fewer - 0.3)
    assert lethality_curve_min(time, greater)[-1] > lethality_curve_min(time, fewer)[-1]


def test_vapor_carries_less_at_pressure():
    """About eight times less at 95 °C in a canner at 15 psi than in open steam."""
    open_steam = vapor_conductivity_w_mk(95.0, 101_325.0)
    canner = vapor_conductivity_w_mk(95.0, saturation_pressure_pa(120.95))

    assert 6 < open_steam / canner < 9


def test_the_coldest_point_is_the_same_upside_down():
    """The top heated better than the bottom."""
    turned = Bed(0.043, 0.114, 250.0, 5.0, 250.0, 2.06e6)
    upright, inverted = (
        heat_wet_bed(bed, 0.16, 0.05, 20.0, TIME, VESSEL, PRESSURE) for bed in (QUART, turned)
    )
    coldest, core = (
        lethality_curve_min(TIME, each)[0, -1] for each in (upright.coldest_c, upright.core_c)
    )

    assert 0.057 <= upright.coldest_height_m[0] <= 0.114
    assert inverted.coldest_height_m[0] == pytest.approx(
        0.114 - upright.coldest_height_m[0], abs=1e-4
    )
    assert inverted.coldest_c == pytest.approx(upright.coldest_c, abs=0.02)
    assert 0.85 * core < coldest < core


def test_what_cannot_be_is_refused():
    """One sentence each, naming what is wrong."""
    two = ([0.0, 60.0], [20.0, 30.0], [101_325.0, 101_325.0])
    with pytest.raises(Unusable, match="resting conductivity must be above zero"):
        heat_wet_bed(QUART, 0.0, 0.1, 20.0, *two)
    with pytest.raises(Unusable, match="3 at which the wet bed is capped"):
        heat_wet_bed(QUART, 3.0, 0.1, 20.0, *two)
    with pytest.raises(Unusable, match="share from 0 to 1"):
        heat_wet_bed(QUART, 0.16, -0.1, 20.0, *two)
    with pytest.raises(Unusable, match="even 4 or more"):
        heat_wet_bed(QUART, 0.16, 0.1, 20.0, *two, grid=(7, 9))
    with pytest.raises(Unusable, match="pressure must have one value"):
        heat_wet_bed(QUART, 0.16, 0.1, 20.0, *two[:2], [101_325.0])
    with pytest.raises(OutOfRange, match="steam off"):
        heat_wet_bed_and_keep(QUART, 0.16, 0.1, 20.0, *two, [90.0])


def test_a_shallow_bed_takes_no_more_steps_than_it_needs(monkeypatch):
    """Layers of 0.2 mm would ask for steps of a seventh of a second, and a run for minutes."""
    steps = []
    step = WetBedGrid.step
    monkeypatch.setattr(
        WetBedGrid, "step", lambda *given: steps.append(given[2]) or step(*given)
    )  # fmt: skip
    time = np.array([0.0, 900.0, 3600.0])
    vessel = np.array([20.0, 121.0, 121.0])
    bed = Bed(0.043, 0.002, 250.0, 250.0, 5.0, 2.06e6)

    found = heat_wet_bed(bed, 0.16, 0.1, 20.0, time, vessel, np.full(3, 205_000.0))

    assert len(steps) <= 3600 / 8 + 1
    # So thin, it follows the steam.
    assert found.core_c[0, -1] == pytest.approx(121.0, abs=0.1)


@pytest.mark.parametrize("depth_m", [0.002, 0.0036, 0.008])
def test_a_shallow_bed_does_not_run_away_where_the_steam_jumps(depth_m):
    """A bed put into steam at once stays between its start and the steam."""
    time = np.arange(0.0, 1201.0, 60.0)
    bed = Bed(0.043, depth_m, 250.0, 250.0, 5.0, 2.06e6)

    found = heat_wet_bed(
        bed, 0.16, 0.26, 20.0, time, np.full(time.size, 121.0), np.full(time.size, 205_000.0)
    ).core_c[0]

    assert np.all((found >= 20.0 - 0.01) & (found <= 121.0 + 0.01))
    assert np.all(np.diff(found) >= -0.01)
    assert found[-1] == pytest.approx(121.0, abs=0.5)


def test_longer_steps_in_a_shallow_bed_change_little():
    """Eight millimeters: F0 with steps of 20 s against steps of 2 s, within 0.5 %."""
    time = np.array([0.0, 600.0, 1200.0, 2400.0])
    vessel = np.array([20.0, 100.0, 121.0, 121.0])
    pressure = np.maximum(saturation_pressure_pa(vessel), 101_325.0)
    bed = Bed(0.043, 0.008, 250.0, 250.0, 5.0, 2.06e6)
    fine_time = np.arange(0.0, 2401.0, 30.0)
    vessel, pressure = (np.interp(fine_time, time, each) for each in (vessel, pressure))

    usual, fine = (
        heat_wet_bed(
            bed, 0.16, 0.1, 20.0, fine_time, vessel, pressure, longest_step_s=longest
        ).core_c[0]
        for longest in (100.0, 2.0)
    )

    f0_usual, f0_fine = (lethality_curve_min(fine_time, each)[-1] for each in (usual, fine))
    assert f0_usual == pytest.approx(f0_fine, rel=5e-3)
