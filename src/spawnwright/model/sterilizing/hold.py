"""The hold: chance of a survivor against minutes, and the least minutes that are enough.

Pure functions on the results by hold that `hold_table` makes. Range, checks and what is ignored:
docs/models/sterilize.md.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from spawnwright.model.scenarios import Floats
from spawnwright.model.sterilizing.survival import chance_of_survivor
from spawnwright.sources import COMMON, JUDGMENT, Constant

TARGET = Constant(0.01, "-", source=JUDGMENT, where="one jar in a hundred with a survivor of heat")
LONGEST_HOLD_S = Constant(
    6 * 3600.0, "s", source=JUDGMENT, where="longest hold that is looked at: an evening"
)
WATER_RESERVE_KG = Constant(
    0.5, "kg", source=JUDGMENT, where="left in the canner at steam off, against running dry"
)
_LARGEST_PINT_M3, _LARGEST_QUART_M3 = 0.6e-3, 1.2e-3
_CUSTOMARY_MIN = (
    Constant(60.0, "min", source=COMMON, where="pint at 15 psi, from"),
    Constant(90.0, "min", source=COMMON, where="pint at 15 psi, to; quart at 15 psi"),
    Constant(120.0, "min", source=COMMON, where="half-gallon at 15 psi, from"),
    Constant(150.0, "min", source=COMMON, where="half-gallon at 15 psi, to"),
)
_CUSTOMARY_BAG_MIN = Constant(150.0, "min", source=COMMON, where="bag of 2 to 3 kg at 15 psi")
_CUSTOMARY_LIQUID_MIN = (
    Constant(15.0, "min", source=COMMON, where="up to half a liter of liquid at 15 psi, from"),
    Constant(20.0, "min", source=COMMON, where="up to half a liter of liquid at 15 psi, to"),
)
_PAIRINGS = 16  # spore draws that each scenario of the heat is paired with


def mean_chance(
    own_z_min: Floats,
    spore_d_min: Floats,
    spores_log10_per_g: Floats,
    dry_grain_kg: Floats,
    weight: Floats | None = None,
) -> Floats:
    """Chance of a survivor in one jar, averaged over all scenarios.

    Parameters
    ----------
    own_z_min : array
        Lethality at the coldest point with each scenario's z, shape (scenarios, holds) [min].
    spore_d_min : array
        D at 121.11 °C of each scenario's spores [min].
    spores_log10_per_g : array
        Their count in a gram of dry grain, log10 [-].
    dry_grain_kg : array
        Dry grain in one jar [kg].
    weight : array, optional
        How much each scenario of the heat counts; all alike if not given [-].

    Returns
    -------
    array
        One chance a hold [-].

    Notes
    -----
    Heat and spores are independent, so each scenario's heat is paired with sixteen draws of
    count and D instead of one: the same mean, with less noise in its tail.
    """
    count = len(spore_d_min)
    grams = 1000.0 * dry_grain_kg
    total = np.zeros(own_z_min.shape[1])
    pairings = min(_PAIRINGS, count)
    for shift in range(pairings):
        by = shift * max(1, count // pairings)
        spores = grams * 10.0 ** np.roll(spores_log10_per_g, by)
        d = np.roll(spore_d_min, by)
        chances = chance_of_survivor(own_z_min, d[:, None], spores[:, None])
        total += np.average(chances, axis=0, weights=weight)
    return total / pairings


def least_hold_s(
    chance_at: Callable[[float], float],
    hold_s: Floats,
    chances: Floats,
    target: float,
    longest_s: float,
) -> float | None:
    """The least hold whose chance of a survivor is at most the target.

    Parameters
    ----------
    chance_at : callable
        Chance of a survivor by hold in seconds, falling [-].
    hold_s : array
        Holds that were solved for, rising [s].
    chances : array
        The chance at each of them [-].
    target : float
        The chance that is good enough [-].
    longest_s : float
        The longest hold that may be advised [s].

    Returns
    -------
    float or None
        That hold to the second, no less than the first solved one; none if even the longest
        does not reach the target [s].

    Notes
    -----
    Halving between the two solved holds that enclose it.
    """
    enough = np.flatnonzero(chances <= target)
    if len(enough) == 0:
        return None
    first = int(enough[0])
    high = float(hold_s[first])
    if first > 0:
        low = float(hold_s[first - 1])
        while high - low > 0.5:
            middle = (low + high) / 2
            low, high = (low, middle) if chance_at(middle) <= target else (middle, high)
    return high if high <= longest_s + 0.5 else None


def longest_hold_by_water_s(vented_kg: Floats, boiled_kg_s: Floats, most_water_kg: float) -> float:
    """The longest hold whose water fits into the canner, in 95 of 100 scenarios.

    Parameters
    ----------
    vented_kg : array
        Water blown off before pressure is reached [kg].
    boiled_kg_s : array
        Water boiled off for each second of hold [kg/s].
    most_water_kg : float
        The most water that fits [kg].

    Returns
    -------
    float
        That hold, 0 if not even venting fits [s].

    Notes
    -----
    Water needed = vented + boiled + reserve; the reserve is never planned to be used.
    """
    room = most_water_kg - float(WATER_RESERVE_KG) - vented_kg
    holds = np.maximum(room, 0.0) / np.maximum(boiled_kg_s, 1e-12)
    return float(np.percentile(holds, 5.0))


def customary_hold_s(nominal_volume_m3: float) -> tuple[float, float]:
    """What the trade does with a jar of this size at 15 psi: from, to.

    Parameters
    ----------
    nominal_volume_m3 : float
        Size of the jar [m³].

    Returns
    -------
    tuple of float
        Shortest and longest customary hold [s].

    Notes
    -----
    Common practice, no source; not advice.
    """
    pint, quart, half_gallon, longest = (60.0 * each for each in _CUSTOMARY_MIN)
    if nominal_volume_m3 <= _LARGEST_PINT_M3:
        return pint, quart
    if nominal_volume_m3 <= _LARGEST_QUART_M3:
        return quart, quart
    return half_gallon, longest


def customary_bag_hold_s() -> tuple[float, float]:
    """What the trade does with a bag of 2 to 3 kg at 15 psi: from, to, both 150 min [s]."""
    return 60.0 * _CUSTOMARY_BAG_MIN, 60.0 * _CUSTOMARY_BAG_MIN


def customary_liquid_hold_s() -> tuple[float, float]:
    """What the trade does with up to half a liter of liquid at 15 psi: 15 to 20 min [s]."""
    low, high = _CUSTOMARY_LIQUID_MIN
    return 60.0 * low, 60.0 * high
