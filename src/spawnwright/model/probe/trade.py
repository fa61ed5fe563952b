"""Heat penetration as the canning trade states it: fh and j.

fh is the minutes in which what is left between core and steam falls to a tenth, on the straight
late part of the curve; j says how long it takes to get straight: what that line would have left
at time zero, over what there was to come. They belong to one jar, one pressure, one run, and say
nothing of another: what carries over is fitted in `model/probe/fit.py`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spawnwright.errors import Unusable
from spawnwright.model.heat.bed import Floats
from spawnwright.model.probe.emulator import LEVELS
from spawnwright.sources import Constant

ZERO_SHARE = Constant(
    0.58, "-", source="STUMBO1973",
    where="the share of the come-up that counts for nothing: time zero stands at its 58 %",
)  # fmt: skip
_STRAIGHT = (0.75, 0.95)
"""Between which shares of the way the curve is taken as straight, in the logarithm."""


@dataclass(frozen=True)
class HeatPenetration:
    """fh [min] and j [-]; arrays, one a curve, or plain numbers."""

    fh_min: Floats
    j: Floats


def heat_penetration(
    time_s: Floats,
    temperature_c: Floats,
    steam_c: float,
    start_c: float,
    zero_s: float = 0.0,
    *,
    straight: tuple[float, float] = _STRAIGHT,
) -> HeatPenetration:
    """The fh and j of a heating curve.

    log10(Ts − T) = log10(j (Ts − T0)) − (t − zero)/fh, fitted to the late, straight part.

    Parameters
    ----------
    time_s, temperature_c : array (readings,)
        The curve [s], [°C].
    steam_c, start_c : float
        Ts and T0 [°C].
    zero_s : float
        Time zero: the instant of full steam, or 58 % of the come-up [s].
    straight : tuple
        Between which shares of the way the curve is taken as straight [-].

    Returns
    -------
    HeatPenetration
        Two numbers [min], [-].

    Raises
    ------
    Unusable
        If fewer than three readings lie on the late part, 75 to 95 % of the way.

    Notes
    -----
    Ball's formula, as in [STUMBO1973]_. Where vapor carries heat the line is not straight, and fh
    is that of its late part only.
    """
    share = (temperature_c - start_c) / (steam_c - start_c)
    late = (share >= straight[0]) & (share <= straight[1])
    if np.count_nonzero(late) < 3:
        raise Unusable(
            f"Only {np.count_nonzero(late)} readings lie between {straight[0]:.0%} and "
            f"{straight[1]:.0%} of the way from start to steam; fh needs three or more."
        )
    slope, level = np.polyfit(time_s[late] - zero_s, np.log10(1 - share[late]), 1)
    return HeatPenetration(np.asarray(-1 / slope / 60.0), np.asarray(10.0**level))


def heat_penetrations(log_times: Floats, zero_s: Floats) -> HeatPenetration:
    """The same of many curves at once, by the log times at which they reach the levels.

    Parameters
    ----------
    log_times : array (curves, levels)
        Of `emulator.LEVELS` [ln s].
    zero_s : array (curves,)
        Time zero of each [s].

    Returns
    -------
    HeatPenetration
        Arrays (curves,) [min], [-].
    """
    low, high = _STRAIGHT
    late = (low - 1e-9 < LEVELS) & (high + 1e-9 > LEVELS)
    left = np.log10(1 - LEVELS[late])
    time = np.exp(log_times[:, late]) - zero_s[:, None]
    apart = time - time.mean(axis=1, keepdims=True)
    slope = (apart * (left - left.mean())).sum(axis=1) / (apart**2).sum(axis=1)
    level = left.mean() - slope * time.mean(axis=1)
    return HeatPenetration(-1 / slope / 60.0, np.asarray(10.0**level))
