"""fh and j of heating curves, against the series of a finite cylinder with published roots."""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from spawnwright.errors import Unusable
from spawnwright.model.heat.bed import Bed
from spawnwright.model.probe.curves import Places, VesselCurve, conduction_curves
from spawnwright.model.probe.emulator import log_times
from spawnwright.model.probe.trade import heat_penetration, heat_penetrations
from tests.published import half_last_digit, rows

STEAM_C, START_C = 120.0, 20.0
RADIUS_M, DEPTH_M, DIFFUSIVITY = 0.0425, 0.11, 1.5e-7


def cylinder(time_s):
    """The core of a cylinder whose whole surface is at once as hot as the steam."""
    bed = Bed(RADIUS_M, DEPTH_M, 1e6, 1e6, 1e6, 2.0e6)
    vessel = VesselCurve(time_s, np.full_like(time_s, STEAM_C), np.full_like(time_s, 2e5))
    places = Places(np.array([0.5]), np.array([0.0]))
    return conduction_curves(bed, DIFFUSIVITY, START_C, vessel, places)[0, 0]


def test_a_conducting_cylinder_has_the_fh_and_j_of_its_first_mode():
    """Roots and coefficients of [INCROPERA2007] table 5.1 at an endless Biot number.

    fh = ln 10 / (α (ζr²/R² + ζs²/(L/2)²)), j = C1r · C1s; the tolerance is that of the printed
    digits, carried through.
    """
    printed = rows("incropera_5_1")[-1]
    slab, cylinder_ = float(printed["slab_root"]), float(printed["cylinder_root"])
    rate = DIFFUSIVITY * ((cylinder_ / RADIUS_M) ** 2 + (slab / (DEPTH_M / 2)) ** 2)
    j = float(printed["slab_coefficient"]) * float(printed["cylinder_coefficient"])
    time = np.arange(0.0, 240 * 60.0, 30.0)

    late = (0.98, 0.999)  # where only the first mode is left
    found = heat_penetration(time, cylinder(time), STEAM_C, START_C, straight=late)

    loose = 2 * half_last_digit(printed["slab_root"]) / slab + 1e-5
    assert float(found.fh_min) == pytest.approx(log(10) / rate / 60, rel=loose)
    assert float(found.j) == pytest.approx(j, rel=1e-3)


def test_j_is_that_of_the_pseudo_initial_temperature():
    """Steam 115, grain 74, pseudo-initial 41 °C at time zero give j 1.80: (115 - 41)/(115 - 74).

    The numbers of a textbook's sample problem of heat sterilization, from memory; fh is 20 min.
    """
    time = np.arange(0.0, 40 * 60.0, 60.0)
    line = 115.0 - (115.0 - 41.0) * 10 ** (-time / 60 / 20.0)

    found = heat_penetration(time, line, 115.0, 74.0)

    assert float(found.fh_min) == pytest.approx(20.0, rel=1e-6)
    assert float(found.j) == pytest.approx(1.80, abs=half_last_digit("1.80"))


def test_time_zero_moves_j_and_leaves_fh():
    """A come-up that counts for nothing makes the same curve lag less."""
    time = np.arange(0.0, 150 * 60.0, 30.0)
    core = cylinder(time)

    early = heat_penetration(time, core, STEAM_C, START_C, 0.0)
    late = heat_penetration(time, core, STEAM_C, START_C, 300.0)

    assert float(late.fh_min) == pytest.approx(float(early.fh_min))
    assert float(late.j / early.j) == pytest.approx(10 ** (-5 / float(early.fh_min)))


def test_many_curves_by_their_log_times_give_the_same():
    """The emulator keeps times at levels; from them come the same two numbers."""
    time = np.arange(0.0, 200 * 60.0, 60.0)
    core = cylinder(time)
    one = heat_penetration(time, core, STEAM_C, START_C)

    share = (core - START_C) / (STEAM_C - START_C)
    many = heat_penetrations(log_times(time, np.array([share])), np.array([0.0]))

    assert float(many.fh_min[0]) == pytest.approx(float(one.fh_min), rel=1e-2)
    assert float(many.j[0]) == pytest.approx(float(one.j), rel=2e-2)


def test_a_run_that_ended_early_has_no_fh():
    """Nobody knows a slope from no readings."""
    time = np.arange(0.0, 20 * 60.0, 60.0)
    with pytest.raises(Unusable, match="Only 0 readings lie between 75% and 95%"):
        heat_penetration(time, cylinder(time), STEAM_C, START_C)
