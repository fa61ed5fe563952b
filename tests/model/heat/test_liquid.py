"""Jars of liquid: one temperature behind the vessel, against exact answers and SciPy."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from spawnwright.model.canner.run_inputs import run_inputs
from spawnwright.model.canner.sterilizer_run import runs
from spawnwright.model.canner.vessel import WATER_J_KG_K
from spawnwright.model.canner.vessel_history import beginning, vessel_history
from spawnwright.model.heat.cycle import reference_cycle, step_cycle
from spawnwright.model.heat.liquid import (
    LIQUID_FILM_W_M2_K,
    LIQUID_J_KG_K,
    LIQUID_KG_M3,
    follow,
    liquid_table,
    mixing_rate_s,
)
from spawnwright.model.heat.steam import latent_heat_j_kg
from spawnwright.model.scenarios import draw
from spawnwright.model.sterilizing.hold_table import COOLING_TIME_S
from spawnwright.model.sterilizing.lethality import lethality_curve_min
from tests.model.questions import liquid, more, question
from tests.published import half_last_digit, rows

RATE = np.array([1 / 240.0, 1 / 500.0])


def test_a_published_lumped_body():
    """A junction of 1 mm: the printed 10 s, by the same equation as a jar's."""
    row = {name: float(value) for name, value in rows("cengel_4_1_thermocouple")[0].items()}
    shape = 6 / row["diameter_m"]  # surface of a sphere over its volume
    rate = row["film_w_m2_k"] * shape / (row["density_kg_m3"] * row["specific_heat_j_kg_k"])
    time = np.linspace(0, 20, 2001)

    left = follow(np.array([rate]), np.ones(1), time, np.zeros_like(time))[0]
    reached = time[np.argmax(left <= row["share_left"])]
    assert reached == pytest.approx(row["time_s"], abs=half_last_digit("10"))


def test_in_steady_steam_the_lag_decays_as_an_exponential():
    """Exact to twelve digits, whatever the instants."""
    time = np.array([0.0, 10, 100, 101, 900, 3600])

    found = follow(RATE, np.array([20.0, 80.0]), time, np.full_like(time, 121.0))
    exact = 121 - np.array([101.0, 41.0])[:, None] * np.exp(-RATE[:, None] * time)
    assert found == pytest.approx(exact, rel=1e-12)


def test_behind_a_steady_rise_it_lags_by_slope_over_rate():
    """After ten time constants."""
    time = np.linspace(0, 6000, 61)

    found = follow(RATE, np.full(2, 20.0), time, 20 + 0.02 * time)
    assert (20 + 0.02 * 6000 - found[:, -1]) == pytest.approx(0.02 / RATE, rel=1e-4)


def test_a_whole_run_against_a_general_solver():
    """Come-up, hold and fall by SciPy: 0.001 °C, F0 0.1 %."""
    bends, warm = (
        np.array([0, 900, 1500, 1800, 3000, 9000.0]),
        np.array([20, 100, 100, 121, 121, 40.0]),
    )
    time = np.linspace(0, 9000, 901)
    vessel = np.interp(time, bends, warm)

    found = follow(RATE[1:], np.array([20.0]), time, vessel)[0]
    outside = solve_ivp(
        lambda instant, now: RATE[1] * (np.interp(instant, bends, warm) - now),
        (0, 9000), [20.0], t_eval=time, rtol=1e-9, atol=1e-9, max_step=5.0,
    ).y[0]  # fmt: skip
    assert found == pytest.approx(outside, abs=1e-3)
    assert lethality_curve_min(time, found)[-1] == pytest.approx(
        lethality_curve_min(time, outside)[-1], rel=1e-3
    )


def test_the_rate_is_film_times_wetted_area_over_heat_capacity():
    """300 mL in a cylinder of 39 mm: 62.8 mm deep, side and bottom 201.6 cm²; 6 to 7 min."""
    radius, volume = 0.039, 300e-6
    depth = volume / (np.pi * radius**2)
    area = 2 * np.pi * radius * depth + np.pi * radius**2
    by_hand = 160 * area / (volume * LIQUID_KG_M3 * LIQUID_J_KG_K)

    rate = mixing_rate_s(np.array([160.0]), np.array([radius]), np.array([depth]))
    assert rate == pytest.approx(by_hand)
    assert 300 < 1 / rate[0] < 420


def test_the_bands_of_the_film_are_those_of_its_layers():
    """Glass and steam at 150 to 330 in series with 250 to 1000 inside: 94 to 248 W/(m² K)."""
    film = LIQUID_FILM_W_M2_K["liquid-culture"]

    assert film.low == pytest.approx(1 / (1 / 150 + 1 / 250), abs=2)
    assert film.high == pytest.approx(1 / (1 / 330 + 1 / 1000), abs=3)
    assert LIQUID_FILM_W_M2_K["agar"] < film


def test_holds_are_cooled_each_from_its_own_end():
    """The table against each hold followed alone, through the reference cycle."""
    hold_s = np.array([300.0, 900.0, 1800.0])
    cycle = reference_cycle(np.array([20.0]), np.array([99.97]), np.array([120.95]), hold_s)
    cooling = np.stack([25 + 95.95 * np.exp(-COOLING_TIME_S / 8520.0)] * 3)[None]

    table = liquid_table(RATE[1:], np.array([20.0]), np.array([10.0]), cycle, hold_s, cooling)
    for place, end in enumerate(hold_s):
        until = cycle.time_s <= end + 1e-6
        time = np.concatenate([cycle.time_s[until], end + COOLING_TIME_S[1:]])
        vessel = np.concatenate([cycle.vessel_c[0, until], cooling[0, place, 1:]])
        alone = follow(RATE[1:], np.array([20.0]), time, vessel)[0]
        whole = lethality_curve_min(time, alone)[-1]
        assert table.f0_total_min[0, place] == pytest.approx(whole, rel=1e-6)
        assert table.coldest_own_z_min[0, place] == pytest.approx(whole, rel=1e-6)
        assert table.core_off_c[0, place] == pytest.approx(alone[until.sum() - 1])


def test_a_step_counts_no_cooling():
    """Total equals steam-off."""
    hold_s = np.array([600.0, 1200.0])
    cycle = step_cycle(np.array([120.95]), hold_s)
    table = liquid_table(RATE[:1], np.array([20.0]), np.array([8.0]), cycle, hold_s, None)

    assert table.f0_total_min == pytest.approx(table.f0_off_min)


def test_the_vessel_s_balance_closes_with_liquids_in_two_sizes_of_jars():
    """Heat in = stored, lost and blown off, to 0.1 %; the jars by their own temperatures."""
    asked = liquid(also=(more(6, "half-pint", 0.3),), burner_w=2500.0)
    every = runs(asked, draw(run_inputs(asked), 40))
    begun = beginning(asked, every)
    heating, vessel = begun.heating, every.vessel

    rise = vessel.hold_c - vessel.start_c
    kept = vessel.water_kg - heating.vented_kg
    stored = (vessel.metal_and_glass_j_k + WATER_J_KG_K * kept) * rise
    warm = heating.modes_c - vessel.start_c[:, None]
    liters = np.array([4 * 0.6 * 0.5, 6 * 0.3 * 0.2365882365])
    jars = warm @ (liters * LIQUID_KG_M3 / 1000 * LIQUID_J_KG_K)
    vented = heating.vented_kg * (
        latent_heat_j_kg(vessel.boil_c) + WATER_J_KG_K * (vessel.boil_c - vessel.start_c)
    )
    assert heating.heat_j == pytest.approx(stored + jars + vented + heating.lost_j, rel=1e-3)


def test_the_vessel_draws_for_a_liquid_what_the_liquid_then_has():
    """The one mode in the balance and the jar followed on the cycle's knots: 1 °C."""
    asked = liquid()
    every = runs(asked, draw(run_inputs(asked), 60))
    begun = beginning(asked, every)
    history = vessel_history(asked, every, begun, np.array([1200.0]))
    time = history.cycle.time_s

    found = follow(every.mixing_rate_s, every.vessel.start_c, time, history.cycle.vessel_c)
    at_pressure = found[:, np.argmin(np.abs(time))]
    assert np.max(np.abs(at_pressure - begun.modes_c[:, 0])) < 1.0
    assert found[:, -1] == pytest.approx(history.modes_c[:, 0, 0], abs=0.3)


def test_two_halves_of_a_load_are_one_load():
    """Two and two jars of a kind draw what four draw."""
    whole = liquid(jars=4)
    halves = replace(whole, jars=2, also=(replace(whole.kinds[0], jars=2),))
    one = runs(whole, {each.name: np.array([each.likely]) for each in run_inputs(whole)})
    two = runs(halves, {each.name: np.array([each.likely]) for each in run_inputs(halves)})

    assert beginning(halves, two).come_up_s == pytest.approx(beginning(whole, one).come_up_s)


def test_spores_are_those_of_what_is_in_the_jar():
    """One in a milliliter of a liquid, 100 in a gram of grain, a million in a spoiled one."""
    likely = [
        next(each.likely for each in run_inputs(asked) if each.name == "spore_log10_per_g")
        for asked in (liquid(), liquid("agar"), question(), question(is_spoiled=True))
    ]

    assert likely == [0.0, 0.0, 2.0, 6.0]
    every = runs(liquid(), draw(run_inputs(liquid()), 20))
    assert every.dry_grain_kg == pytest.approx(0.3)  # 300 mL, all of which count
