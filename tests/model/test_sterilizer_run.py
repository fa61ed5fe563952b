"""A run's inputs: each moves what it should, the right way; and the parts fit together."""

import numpy as np
import pytest

from spawnwright.model import run_inputs
from spawnwright.model.draw import advance_modes
from spawnwright.model.hold import mean_chance
from spawnwright.model.hold_table import conduction_table
from spawnwright.model.porous_bed import heat_wet_bed
from spawnwright.model.scenarios import draw
from spawnwright.model.steam import latent_heat_j_kg, saturation_pressure_pa
from spawnwright.model.sterilizer_run import runs
from spawnwright.model.swelling import wet_bulk_density_kg_m3
from spawnwright.model.transport import WEIGHTS, transport_inputs, weight_for_state
from spawnwright.model.vapor_surrogate import HowFine, by_vapor
from spawnwright.model.vessel import heat_up
from spawnwright.model.vessel_history import beginning, cooling_c, vessel_history
from spawnwright.records.fill import Fill
from tests.model.questions import conduction, question, vapor

HOLD = np.array([1800.0, 5400.0])
# Each input, a higher value of it, and where F0, come-up and water lost go: up, down, or nowhere.
EFFECTS = {
    "diffusivity_m2_s": (1.5e-7, "+", "+", ""),
    "dry_conductivity_w_mk": (0.25, "+", "+", ""),
    "open_pore_factor": (0.20, "+", "+", ""),
    "moisture": (0.55, "-", "+", ""),
    "wet_void": (0.46, "+", "-", ""),
    "inner_radius_m": (0.0445, "-", "", ""),
    "film_w_m2_k": (330.0, "+", "", ""),
    "top_film_w_m2_k": (15.0, "+", "", ""),
    "start_c": (40.0, "+", "-", ""),
    "gauge_error_pa": (5000.0, "+", "+", ""),
    "weather_pa": (2000.0, "+", "", ""),
    "air_retained": (0.10, "-", "-", ""),
    "burner_w": (3000.0, "-", "-", "+"),
    "hob_efficiency": (0.80, "-", "-", "+"),
    "loss_w_m2_k": (12.0, "-", "+", "-"),
    "metal_kg": (8.0, "+", "+", ""),
    "water_m3": (0.004, "+", "+", ""),
    "spare_w": (500.0, "", "", "+"),
}


def varied(transport):
    """A central scenario, and one more for each input with its higher value."""
    asked = question()
    central = {each.name: float(each.likely) for each in run_inputs.run_inputs(asked)}
    rows = [central | {"transport": transport}]
    rows += [rows[0] | {name: value[0]} for name, value in EFFECTS.items()]
    draws = {name: np.array([row[name] for row in rows]) for name in central}
    every = runs(asked, draws)
    begun = beginning(asked, every)
    history = vessel_history(asked, every, begun, HOLD)
    if transport == 0.0:
        cooling = cooling_c(asked, every, history, np.arange(len(rows)))
        table = conduction_table(
            every.bed, every.diffusivity_m2_s, every.vessel.start_c, every.spore_z_c,
            history.cycle, HOLD, cooling, np.arange(2),
        )  # fmt: skip
    else:
        table = by_vapor(asked, every, history, HowFine((10, 14), 60.0, 2))
    lost = begun.vented_kg + history.boiled_kg[:, -1]
    return table, begun.come_up_s, lost


@pytest.fixture(scope="module", params=[0.0, 2.0], ids=["conduction", "vapor"])
def effects(request):
    return request.param, *varied(request.param)


IDLE = {0.0: {"dry_conductivity_w_mk", "open_pore_factor"}, 2.0: {"diffusivity_m2_s"}}
SLIGHT = {0.0: {"moisture", "wet_void"}, 2.0: set()}
"""With a given diffusivity these act on F0 by film and come-up only, which nearly cancel."""


@pytest.mark.parametrize("name", EFFECTS)
def test_every_input_moves_the_run_the_right_way(effects, name):
    """More power warms sooner and so kills less; more of what conducts kills more; and so on."""
    transport, table, come_up, lost = effects
    row = 1 + list(EFFECTS).index(name)
    _, on_f0, on_come_up, on_water = EFFECTS[name]
    on_f0 = "" if name in SLIGHT[transport] else on_f0

    for values, sign in (
        (table.f0_total_min[:, -1], on_f0), (come_up, on_come_up), (lost, on_water)
    ):  # fmt: skip
        change = values[row] / values[0] - 1
        if name in IDLE[transport]:
            assert change == 0
        elif sign:
            assert change * (1 if sign == "+" else -1) > 1e-3


def test_every_uncertain_input_has_words_and_a_sign_here():
    """A new input cannot slip in unchecked; the spores are checked below."""
    names = {each.name for each in run_inputs.run_inputs(question())}

    spores = {"spore_log10_per_g", "spore_d_min", "spore_z_c"}
    assert names == set(run_inputs.WORDS)
    assert names - spores - {"transport", "narrow_pore_factor"} == set(EFFECTS)


@pytest.mark.parametrize(
    ("count", "d", "grain", "sign"), [(3.0, 0.5, 0.2, 1), (2.0, 1.0, 0.2, 1), (2.0, 0.5, 0.4, 1)]
)
def test_more_and_hardier_spores_survive_more_often(count, d, grain, sign):
    """Each alone raises the chance."""
    own = np.array([[2.5]])
    usual = mean_chance(own, np.array([0.5]), np.array([2.0]), np.array([0.2]))
    changed = mean_chance(own, np.array([d]), np.array([count]), np.array([grain]))

    assert np.sign(changed - usual)[0] == sign


def test_narrow_pores_are_slower_than_open_ones_and_faster_than_none():
    """The three ways in their order, at their central numbers."""
    f0 = [varied(way)[0].f0_total_min[0, -1] for way in (0.0, 1.0, 2.0)]

    assert f0 == sorted(f0)
    assert f0[0] > 1.0


@pytest.mark.parametrize("pore_factor", [0.05, 0.10, 0.26])
def test_the_vessel_s_jars_warm_as_the_porous_bed_does(pore_factor):
    """Their few modes stand in for the bed: mean temperature within 7 K of it, of a hundred."""
    pinned = vapor(pore_factor)
    inputs = run_inputs.run_inputs(pinned)
    every = runs(pinned, draw(inputs, 1))
    heating = heat_up(every.vessel, every.draw)
    time = np.unique(np.concatenate([heating.time_s[0], np.arange(0, 9000, 60.0)]))
    vessel = np.interp(time, heating.time_s[0], heating.vessel_c[0])
    bed = heat_wet_bed(
        every.bed, every.dry_conductivity_w_mk, every.pore_factor, 20.0, time, vessel,
        np.maximum(saturation_pressure_pa(vessel), 101_325.0), grid=(10, 14), longest_step_s=60.0,
    )  # fmt: skip

    modes, means = np.full((1, 9), 20.0), [20.0]
    for place in range(len(time) - 1):
        step, ends = time[place + 1 : place + 2] - time[place], vessel[place : place + 2]
        rate = every.draw.diffusivity_m2_s(ends.mean(keepdims=True), modes @ every.draw.weight)
        modes = advance_modes(modes, every.draw.rate_m2 * rate, step, ends[:1], ends[1:])
        means.append(float((modes @ every.draw.weight)[0]))
    assert np.max(np.abs(np.array(means) - bed.mean_c[0])) < 7.0


def test_grams_say_how_deep_the_grain_lies():
    """480 g of rye at 50 %: the same jar whether said as grams or as the depth it comes to."""
    density = float(wet_bulk_density_kg_m3(question().grain, 0.5))
    by_mass = runs(*drawn(conduction(1.6e-7, fill=Fill("mass", 0.48))))
    depth = 0.48 / density / (np.pi * 0.043**2)
    below = 0.170 - depth
    by_rim = runs(*drawn(conduction(1.6e-7, fill=Fill("below rim", below))))

    assert by_mass.bed.depth_m == pytest.approx(depth)
    assert by_rim.bed.depth_m == pytest.approx(depth)
    assert by_mass.grain_kg == pytest.approx(0.48)


def drawn(asked):
    return asked, draw(run_inputs.run_inputs(asked), 1)


def test_the_bed_s_heat_capacity_is_that_of_the_loose_bed():
    """About 2.06 MJ/m³K for rye at 50 %, from bulk density: kernel substance has 3.5."""
    every = runs(*drawn(conduction(1.6e-7)))

    assert every.bed.volumetric_heat_capacity_j_m3k == pytest.approx(2.06e6, rel=0.005)


def test_a_pinned_run_has_exactly_the_pressure_that_was_asked_for():
    """120.95 °C at 15 psi and sea level; no half pound, no weather, no air."""
    every = runs(*drawn(vapor(0.1)))

    assert every.vessel.hold_c == pytest.approx(120.955, abs=0.005)


def test_venting_loses_what_boils_off_and_the_hold_its_spare_heat():
    """300 W of spare steam through 90 min, by latent heat."""
    asked, draws = drawn(conduction(1.6e-7))
    every = runs(asked, draws)
    begun = beginning(asked, every)
    history = vessel_history(asked, every, begun, HOLD)

    latent = latent_heat_j_kg(every.vessel.hold_c)
    assert history.boiled_kg[:, -1] == pytest.approx(300.0 * 5400 / latent, rel=1e-6)
    assert 0.2 < begun.vented_kg[0] < 0.5


def test_weights_of_the_ways_add_up_and_carry_over():
    """Drawn for unknown grain, counted for grain that smears: conduction counts the more."""
    for shares in WEIGHTS.values():
        assert sum(shares) == pytest.approx(1.0)
    ways = draw(transport_inputs("unknown"), 4000)["transport"]

    for state, shares in WEIGHTS.items():
        weight = weight_for_state(ways, state)
        counted = [weight[ways == way].sum() / weight.sum() for way in (0.0, 1.0, 2.0)]
        assert counted == pytest.approx([float(each) for each in shares], abs=0.01)
