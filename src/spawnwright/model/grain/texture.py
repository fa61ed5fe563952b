"""Texture: what fingers and a paper towel tell, and how they rank above the scale.

The bands are common practice; no trial of growth against the moisture of grain was found.
"""

from __future__ import annotations

from typing import Literal

from spawnwright.sources import COMMON, Constant

TEXTURE_TESTS = (
    "Crush ten kernels between finger and thumb: soft all through, no chalky middle, skins whole.",
    "Lay a handful on a paper towel for a minute: the towel shows no wet print.",
)
BELOW_TARGET = Constant(
    0.03, "-", source=COMMON, where="aimed at 48 %, good from 45 %; below 42 % dry"
)
ABOVE_TARGET = Constant(
    0.04, "-", source=COMMON, where="aimed at 48 %, good to 52 %; above 55 % too wet"
)

Advice = Literal["fill", "dry longer", "back into hot water"]
TargetReached = Literal["yes", "unlikely", "no"]


def advice_by_weight(moisture: float, target: float) -> Advice:
    """What drained grain of a moisture wants, before the two texture tests are heard.

    Parameters
    ----------
    moisture : float
        By weighing, water as a share of the whole [-].
    target : float
        The moisture aimed at [-].

    Returns
    -------
    str
        "fill" from 3 points below the target to 4 above; else "back into hot water", or
        "dry longer".
    """
    if moisture < target - BELOW_TARGET:
        return "back into hot water"
    return "dry longer" if moisture > target + ABOVE_TARGET else "fill"


def target_reached(likely: float, high: float, target: float) -> TargetReached:
    """Whether a forecast moisture reaches a target.

    Parameters
    ----------
    likely : float
        Median of the forecast [-].
    high : float
        Its 95th percentile [-].
    target : float
        The moisture aimed at [-].

    Returns
    -------
    str
        "yes" if the likely value is at the target or above, "unlikely" if only the upper part of
        the band is, "no" if not even its upper end is.
    """
    if likely >= target:
        return "yes"
    return "unlikely" if high >= target else "no"
