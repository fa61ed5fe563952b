"""Survival: what a lethality leaves alive, of spores with their own D and z.

Pure functions on floats or arrays. The default spores are this project's own estimate, placed
among the published values of docs/models/survival.md; each may be replaced.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np

from spawnwright.errors import Unusable
from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Floats, Input, lognormal_about
from spawnwright.sources import JUDGMENT, Constant, Estimate

Number = TypeVar("Number", float, Floats)
_NINETY_FIVE = 1.6448536269514722  # standard normal quantile of 0.95

LOG10_COUNT = Estimate(
    2.0, "log10 per g dry grain", low=2.0 - _NINETY_FIVE, high=2.0 + _NINETY_FIVE,
    source=JUDGMENT, where="mean and one sd of 1, between surveys of 10 and 10 000 per gram",
)  # fmt: skip
SPOILED_LOG10_COUNT = Estimate(
    6.0, "log10 per g dry grain", low=4.0, high=8.0, source=JUDGMENT,
    where="grain in which bacteria have grown and made spores; not measured",
)  # fmt: skip
D_MIN = Constant(
    0.5, "min", source=JUDGMENT, where="median at 121.11 °C: hardiest common grain mesophiles"
)
D_FACTOR = Constant(3.0, "-", source=JUDGMENT, where="factor of one sd of D")
SPORE_Z_C = Estimate(
    8.0, "K", low=8.0 - _NINETY_FIVE, high=8.0 + _NINETY_FIVE,
    source=JUDGMENT, where="mean and one sd of 1; Bacillus on media and on grain run 6 to 10",
)  # fmt: skip
Z_CUT_C = (
    Constant(6.0, "K", source=JUDGMENT, where="lowest z of a Bacillus published, about"),
    Constant(12.0, "K", source=JUDGMENT, where="highest z of a mesophile taken as real"),
)


def spore_inputs() -> list[Input]:
    """The uncertain spore load and resistance, as inputs of scenarios.

    Returns
    -------
    list of Input
        `spore_log10_per_g` (spores per gram of dry grain, log10), `spore_d_min` (D at
        121.11 °C, in minutes), `spore_z_c` (z, in kelvin, cut to 6-12).

    Notes
    -----
    Surveys found 10 spores a gram most often on wheat, among 1e4 Bacillus of all kinds
    [BERGHOFER2003]_, few heat-loving ones [ROGERS1978]_, and 1 to 100 in bran, seeds and oats that
    outlived 10 minutes at 100 °C [ROSENKVIST1995]_. Published D stand in data/spores.toml.
    The inputs are of species that grow at shelf temperature. Heat-loving ones (*Geobacillus*)
    are left out, though they survive far more: they do not grow below about 40 °C.
    """
    tell_by = "control jars: same grain, same run, no culture"
    return [
        Input(
            "spore_log10_per_g", "normal", LOG10_COUNT, LOG10_COUNT.low, LOG10_COUNT.high,
            "log10 per g dry grain", JUDGMENT, tell_by,
        ),
        lognormal_about("spore_d_min", D_MIN, D_FACTOR, "min", JUDGMENT, narrow_with=tell_by),
        Input(
            "spore_z_c", "normal", SPORE_Z_C, SPORE_Z_C.low, SPORE_Z_C.high, "K", JUDGMENT,
            tell_by, cut=(float(Z_CUT_C[0]), float(Z_CUT_C[1])),
        ),
    ]  # fmt: skip


def log10_reduction(lethality_min: Number, d_min: Number | float) -> Number:
    """Powers of ten by which an organism is reduced.

    Parameters
    ----------
    lethality_min : float or array
        Lethality with the organism's own z, at the reference temperature of its D [min].
    d_min : float or array
        Minutes at that temperature for a tenfold reduction, above 0 [min].

    Returns
    -------
    float or array
        Decimal reductions, F / D [-].

    Raises
    ------
    Unusable
        If a D is not above zero.

    Notes
    -----
    Log-linear inactivation [GEANKOPLIS1993]_: no shoulder, no tail. F0 (z 10) must not be used
    for an organism with another z.

    Examples
    --------
    >>> log10_reduction(7.0, 3.5)
    2.0
    """
    if not np.all(np.asarray(d_min) > 0):
        raise Unusable("D must be a time above zero, such as 3.59 min.")
    return lethality_min / d_min


def chance_of_survivor(
    lethality_own_z_min: Number, d_min: Number | float, spores_per_jar: Number | float
) -> Number:
    """Chance that at least one spore in a jar is left alive, one value a scenario.

    Parameters
    ----------
    lethality_own_z_min : float or array
        Lethality at the coldest point with the spores' own z [min].
    d_min : float or array
        Minutes at 121.11 °C for a tenfold reduction, above 0 [min].
    spores_per_jar : float or array
        Spores in one jar before the run, 0 or more [-].

    Returns
    -------
    float or array
        1 - exp(-expected survivors), to be averaged over scenarios by the caller [-].

    Raises
    ------
    OutOfRange
        If a spore count is negative.
    Unusable
        If a D is not above zero.

    Notes
    -----
    Expected survivors are N 10^(-F / D), and survivors are Poisson. All spores are put at the
    coldest point, so the chance comes out too high rather than too low.

    Examples
    --------
    >>> print(f"{chance_of_survivor(12.0, 2.0, 1e4):.4f}")
    0.0100
    """
    check_range("Spores in a jar", spores_per_jar, 0.0, 1e15, "")
    expected = spores_per_jar * 10.0 ** -log10_reduction(lethality_own_z_min, d_min)
    chance: Number = -np.expm1(-expected)
    return chance
