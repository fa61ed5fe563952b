"""The quart jar and the cycle for which reference figures were computed apart from this program."""

import numpy as np

from spawnwright.model.heat.bed import Bed
from spawnwright.model.heat.steam import saturation_pressure_pa
from spawnwright.model.sterilizing.lethality import lethality_curve_min

QUART = Bed(0.043, 0.114, 250.0, 250.0, 5.0, 2.06e6)
CELL = 14.5 / 28  # height of the reference's own point, as a share of the depth
SEA, HIGH = (120.95, 99.97, 101_325.0), (118.26, 94.98, 84_556.0)  # steam, boiling, ambient


def reference_cycle(steam_c, boiling_c, start_c=20.0, hold_min=90.0, cooling_min=300, step_s=60.0):
    """Knots [s], vessel [°C] and the instant of steam off [s]; cooling τ 142 min toward 25 °C."""
    off = 1800 + hold_min * 60
    time = np.concatenate([
        np.arange(0.0, off, step_s), off + np.arange(0.0, cooling_min * 60 + 1, step_s)
    ])  # fmt: skip
    heating = np.interp(time, [0, 900, 1500, 1800], [start_c, boiling_c, boiling_c, steam_c])
    cooling = 25 + (steam_c - 25) * np.exp(-np.maximum(time - off, 0) / (142 * 60))
    return time, np.where(time <= off, heating, cooling), off


def pressure_pa(vessel_c, ambient_pa):
    """Saturated steam above the boiling point, the kitchen's air below it."""
    return np.maximum(saturation_pressure_pa(vessel_c), ambient_pa)


def f0_min(time, temperature_c, until_s):
    """F0 until an instant that is a knot."""
    return lethality_curve_min(time, temperature_c)[..., np.searchsorted(time, until_s)]
