"""A run's scenarios: the parts fit together. Signs of all inputs: test_signs.py."""

import numpy as np
import pytest

from spawnwright.model.canner import run_inputs
from spawnwright.model.canner.sterilizer_run import runs
from spawnwright.model.canner.vessel import heat_up
from spawnwright.model.canner.vessel_history import beginning, vessel_history
from spawnwright.model.grain.swelling import wet_bulk_density_kg_m3
from spawnwright.model.heat.draw import advance_modes
from spawnwright.model.heat.porous_bed import heat_wet_bed
from spawnwright.model.heat.steam import latent_heat_j_kg, saturation_pressure_pa
from spawnwright.model.heat.transport import WEIGHTS, transport_inputs, weight_for_state
from spawnwright.model.scenarios import draw
from spawnwright.records.fill import Fill
from tests.model.questions import conduction, question, vapor

HOLD = np.array([1800.0, 5400.0])


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
