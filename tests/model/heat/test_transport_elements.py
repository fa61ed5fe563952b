"""Both transport models against finite elements of a general-purpose library (scikit-fem)."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.sparse.linalg import splu

from spawnwright.model.heat.bed import Bed
from spawnwright.model.heat.conduction import conduct
from spawnwright.model.heat.porous_bed import heat_wet_bed
from spawnwright.model.heat.steam import saturation_pressure_pa
from spawnwright.model.heat.wet_conductivity import vapor_conductivity_w_mk
from spawnwright.model.sterilizing.lethality import lethality_curve_min
from tests.model.finite_elements import ElementBed

BED = Bed(0.043, 0.114, 180.0, 320.0, 15.0, 2.06e6)  # three different films
BENDS = np.array([0.0, 600, 900, 1200, 3600])
WARM = np.array([20.0, 100, 100, 121, 118])


def test_conduction_with_a_ramped_vessel_and_three_films():
    """Core, two more points of the axis and the mean, every ten minutes: within 0.03 °C.

    The elements march by the trapezoidal rule in steps of 10 s, whose error is under 0.01 °C.
    """
    diffusivity, step = 2.0e-7, 10.0
    elements = ElementBed(BED, 10, 20, 20.0)
    inside = elements.stiffness(diffusivity * BED.volumetric_heat_capacity_j_m3k) + elements.film
    time = np.arange(0, 3601, step)
    vessel = np.interp(time, BENDS, WARM)
    solver = splu((elements.stored / step + inside / 2).tocsc())
    seen = {}
    for end, (before, after) in enumerate(pairwise(vessel), start=1):
        right = elements.stored @ elements.field / step - inside @ elements.field / 2
        elements.field = solver.solve(right + elements.drive * (before + after) / 2)
        if time[end] % 600 == 0:
            points = [elements.at(share) for share in (0.5, 0.2, 0.9)]
            seen[time[end]] = [*points, elements.mean()]

    knots = np.union1d(BENDS, list(seen))
    driven = np.interp(knots, BENDS, WARM)
    history = conduct(BED, diffusivity, 20.0, knots, driven, core_at=np.array([0.5, 0.2, 0.9]))

    there = np.searchsorted(knots, list(seen))
    found = np.vstack([history.core_c[:, there], history.mean_c[:1, there]]).T
    assert found == pytest.approx(np.array(list(seen.values())), abs=0.03)


LONGER = np.array([0.0, 600, 900, 1200, 4200])


def wet_elements(resting, factor, step):
    """Core at steps of the implicit rule; k from the formula at the elements' own points."""
    elements = ElementBed(BED, 6, 10, 20.0)
    time = np.arange(0, LONGER[-1] + 1, step)
    vessel = np.interp(time, LONGER, WARM)
    pressure = np.maximum(saturation_pressure_pa(vessel), 101_325.0)
    core = [20.0]
    for warm, push in zip(vessel[1:], pressure[1:], strict=True):

        def conductivity(field, push=push):
            vapor = vapor_conductivity_w_mk(np.clip(field, 5, 140), push)
            return np.minimum(resting + factor * vapor, 3.0)

        right = elements.stored @ elements.field / step + elements.drive * warm
        for _ in range(2):
            inside = elements.stiffness(conductivity) + elements.film
            elements.field = elements.solve(elements.stored / step + inside, right)
        core.append(elements.core())
    return np.array(core)


def test_a_wet_bed_with_a_ramped_vessel_and_three_films():
    """Core within 0.6 °C and F0 within 1 %, pressure rising with the vessel.

    The elements' steps of 40 and 20 s are extrapolated to none.
    """
    resting, factor = 0.16, 0.26
    time = np.arange(0, LONGER[-1] + 1, 40.0)
    vessel = np.interp(time, LONGER, WARM)
    pressure = np.maximum(saturation_pressure_pa(vessel), 101_325.0)

    core = 2 * wet_elements(resting, factor, 20.0)[::2] - wet_elements(resting, factor, 40.0)
    fine, usual = (
        heat_wet_bed(BED, resting, factor, 20.0, time, vessel, pressure, **grid).core_c[0]
        for grid in ({"grid": (16, 24), "longest_step_s": 10.0}, {})
    )

    f0, f0_fine, f0_usual = lethality_curve_min(time, np.array([core, fine, usual]))[:, -1]
    assert f0 > 7
    assert np.abs(fine - core).max() < 0.6
    assert f0_fine == pytest.approx(f0, rel=0.01)
    assert f0_usual == pytest.approx(f0, rel=0.01)
