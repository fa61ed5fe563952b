"""A bag as a disc or a cylinder: against the slab's own series, general solvers, and a block."""

from dataclasses import fields, replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.sparse.linalg import splu

from spawnwright.model.canner.run_inputs import run_inputs
from spawnwright.model.canner.sterilizer_run import runs
from spawnwright.model.canner.vessel_history import beginning, vessel_history
from spawnwright.model.heat.bed import Bed
from spawnwright.model.heat.conduction import conduct
from spawnwright.model.heat.eigenvalues import cylinder_modes, slab_modes
from spawnwright.model.heat.porous_bed import heat_wet_bed
from spawnwright.model.heat.steam import saturation_pressure_pa
from spawnwright.model.heat.vapor_surrogate import FOR_BAGS, HowFine, by_vapor
from spawnwright.model.heat.wet_conductivity import HIGHEST_W_MK, vapor_conductivity_w_mk
from spawnwright.model.scenarios import draw
from spawnwright.model.sterilizing.lethality import lethality_curve_min
from tests.model.finite_elements import ElementBed
from tests.model.questions import bags

THICK, FILM, CAPACITY = 0.08, 400.0, 2.06e6
WIDE = Bed(2.0, THICK, FILM, FILM, FILM, CAPACITY)
DISC = Bed(0.119, THICK, FILM, FILM, FILM, CAPACITY)
DIFFUSIVITY = 1.4e-7


@pytest.mark.parametrize("diffusivity", [0.8e-7, 1.4e-7, 3.0e-7])
def test_a_very_wide_disc_is_a_slab(diffusivity):
    """Full steam at once on both faces, against the series of the slab: 0.01 °C."""
    time = np.arange(0.0, 10_801, 60)
    history = conduct(WIDE, diffusivity, 20.0, time, np.full_like(time, 121.0))

    biot = FILM * THICK / (diffusivity * CAPACITY)
    modes = slab_modes(biot, biot, 60)
    decay = np.exp(-diffusivity * (modes.root / THICK) ** 2 * time[:, None])
    slab = 121.0 - 101.0 * decay @ modes.at(0.5)
    late = time > 600
    assert history.core_c[0, late] == pytest.approx(slab[late], abs=0.01)
    assert history.coldest_height_m == pytest.approx(THICK / 2, rel=0.02)


BENDS = np.array([0.0, 1200, 1800, 2100, 9000])
WARM = np.array([20.0, 100, 100, 121, 121])


def test_a_bag_s_disc_against_finite_elements():
    """Its edge counts: scikit-fem on the disc of 2.5 kg, a whole come-up, within 0.03 °C."""
    step = 15.0
    elements = ElementBed(DISC, 12, 16, 20.0)
    inside = elements.stiffness(DIFFUSIVITY * CAPACITY) + elements.film
    time = np.arange(0, BENDS[-1] + 1, step)
    vessel = np.interp(time, BENDS, WARM)
    solver = splu((elements.stored / step + inside / 2).tocsc())
    core = [20.0]
    for before, after in pairwise(vessel):
        right = elements.stored @ elements.field / step - inside @ elements.field / 2
        elements.field = solver.solve(right + elements.drive * (before + after) / 2)
        core.append(elements.core())

    history = conduct(DISC, DIFFUSIVITY, 20.0, time, vessel)
    assert history.core_c[0, ::40] == pytest.approx(np.array(core)[::40], abs=0.03)


def slab_by_bdf(resting, factor, cells=60):
    """Core of half a slab with vapor in its pores: method of lines, SciPy's BDF."""
    width = THICK / 2 / cells

    def flow(instant, field):
        vessel = np.interp(instant, BENDS, WARM)
        pressure = max(float(saturation_pressure_pa(vessel)), 101_325.0)
        between = (field[1:] + field[:-1]) / 2
        carried = resting + factor * vapor_conductivity_w_mk(
            np.append(between, field[-1]), pressure
        )
        conductivity = np.minimum(carried, float(HIGHEST_W_MK))
        heat = np.zeros(cells + 1)
        heat[1:-1] = conductivity[:-1] * (field[1:] - field[:-1]) / width
        through = 1 / (1 / FILM + width / 2 / conductivity[-1])
        heat[-1] = through * (vessel - field[-1])
        return np.diff(heat) / (CAPACITY * width)

    found = solve_ivp(
        flow, (0, BENDS[-1]), np.full(cells, 20.0), method="BDF", rtol=1e-6, atol=1e-4,
        max_step=60.0, dense_output=True,
    )  # fmt: skip
    return found.sol


@pytest.mark.parametrize(("resting", "factor"), [(0.16, 0.08), (0.16, 0.20)])
def test_a_wide_disc_with_vapor_is_a_slab_with_vapor(resting, factor):
    """A one-dimensional bed by SciPy's BDF: core within 0.2 °C, F0 within 3 %.

    Its rings are narrow enough that heat from the edge stays there: 15 mm, as in a bag.
    """
    time = np.arange(0.0, BENDS[-1] + 1, 30)
    vessel = np.interp(time, BENDS, WARM)
    pressure = np.maximum(saturation_pressure_pa(vessel), 101_325.0)
    history = heat_wet_bed(
        replace(WIDE, radius_m=0.3), resting, factor, 20.0, time, vessel, pressure,
        grid=(20, 32), longest_step_s=60.0,
    )  # fmt: skip

    core = slab_by_bdf(resting, factor)(time)[0]
    assert np.max(np.abs(history.core_c[0] - core)) < 0.2
    assert lethality_curve_min(time, history.core_c[0])[-1] == pytest.approx(
        lethality_curve_min(time, core)[-1], rel=0.03
    )


@pytest.mark.parametrize(("width", "length"), [(0.20, 0.24), (0.20, 0.12), (0.20, 0.20)])
def test_a_block_is_faster_than_the_cylinder_of_its_area(width, length):
    """So a bag's middle comes out too cold, never too hot: products of slabs, heated all round."""
    time = np.arange(1800.0, 14_400, 600)
    conductivity = DIFFUSIVITY * CAPACITY

    def left_of_slab(thickness):
        biot = FILM * thickness / conductivity
        modes = slab_modes(biot, biot, 80)
        decay = np.exp(-DIFFUSIVITY * (modes.root / thickness) ** 2 * time[:, None])
        return decay @ modes.at(0.5)

    radius = np.sqrt(width * length / np.pi)
    modes = cylinder_modes(FILM * radius / conductivity, 80)
    decay = np.exp(-DIFFUSIVITY * (modes.root / radius) ** 2 * time[:, None])
    block, cylinder = left_of_slab(width) * left_of_slab(length), decay @ modes.weight

    assert np.all(block <= cylinder)
    assert np.all(block[:6] >= 0.8 * cylinder[:6])


def central(question, **change):
    """One scenario of a question with every input likely, but for some."""
    draws = {each.name: np.array([float(each.likely)]) for each in run_inputs(question)}
    return {**draws, **{name: np.array([value]) for name, value in change.items()}}


@pytest.mark.parametrize("is_lying", [True, False])
@pytest.mark.parametrize("pore_factor", [0.08, 0.26])
def test_the_grid_for_bags_is_near_enough(is_lying, pore_factor):
    """At two and a half hours, the trade's, F0 is at most a seventh above a grid twice as fine."""
    asked = bags(is_lying=is_lying, jars=1)
    draws = central(asked, transport=2.0, open_pore_factor=pore_factor)
    every = runs(asked, draws)
    hold_s = np.array([9000.0])
    history = vessel_history(asked, every, beginning(asked, every), hold_s)

    coarse, fine = (
        by_vapor(asked, every, history, how).f0_total_min[0, 0]
        for how in (FOR_BAGS, HowFine((16, 24), 45.0, 4))
    )
    assert fine <= coarse * 1.01
    assert coarse <= fine * 1.15


def test_a_bag_of_given_mass_is_as_deep_as_its_grain_is_loose():
    """Mass = density × area × depth, in every scenario."""
    asked = bags(is_lying=True)
    every = runs(asked, draw(run_inputs(asked), 50))

    assert every.grain_kg == pytest.approx(2.5)
    assert np.ptp(every.bed.depth_m) > 0.01
    assert {each.name for each in fields(every.bed)} >= {"top_w_m2k"}


def test_a_lying_bag_draws_like_two_halves():
    """Both faces in steam: its slowest axial mode is that of half its thickness from one face."""
    asked = bags(is_lying=True)
    draws = central(asked)
    lying = runs(asked, draws).draw.rate_m2
    half = runs(replace(asked, is_lying=False), draws).draw.rate_m2

    assert lying[0, 0] > 2 * half[0, 0]
