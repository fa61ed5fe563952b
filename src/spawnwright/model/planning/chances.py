"""The chance that a batch meets its wish: enough good jars, and ready in time.

Losses come by the jar, by the run and by the culture. Pure functions; what the shares are is
given. Formulas, checks and what is left out: docs/models/plan.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log
from statistics import NormalDist

import numpy as np

from spawnwright.model.planning.spares import chance_of_enough
from spawnwright.model.scenarios import Floats

_NINETY_FIVE = 1.6448536269514722


@dataclass(frozen=True)
class LossShares:
    """Shares and chances from 0 to 1 [-]."""

    jar: float
    """Jars lost one by one, where run and culture are good."""
    run: float
    """Chance that a run is bad."""
    run_kill: float
    """Share of its jars that a bad run spoils."""
    culture: float
    """Chance that the culture is bad; it then spoils every jar."""


def chance_of_enough_good(sizes: Sequence[int], wanted: int, losses: LossShares) -> float:
    """Chance that at least `wanted` jars are good, of runs of the given sizes.

    Parameters
    ----------
    sizes : sequence of int
        Inoculated jars of each run [-].
    wanted : int
        Good jars wanted [-].
    losses : LossShares
        A bad culture spoils all; runs are bad one apart from another [-].

    Returns
    -------
    float
        (1 - c) P(good in run 1 + good in run 2 + … >= wanted), c the chance of a bad culture [-].

    Notes
    -----
    Numbers of good jars by run are convolved. Air, hands and grain that runs share are left out,
    which errs to the hopeful side.
    """
    together = np.ones(1)
    for size in sizes:
        together = np.convolve(
            together, _good_of_run(size, losses.jar, losses.run, losses.run_kill)
        )
    return float(np.clip((1 - losses.culture) * together[wanted:].sum(), 0.0, 1.0))


@lru_cache(maxsize=512)
def _good_of_run(size: int, jar: float, run: float, run_kill: float) -> Floats:
    """Chances of 0, 1, … `size` good jars of one run."""
    at_least = [
        chance_of_enough(size, good, 1 - jar, 1, run, run_kill) if good <= size else 0.0
        for good in range(size + 2)
    ]
    return -np.diff(np.array(at_least))


def chance_by(days: float, percentiles: Sequence[float]) -> float:
    """Chance that something is over by a day, from its days at 1, 2 … 99 percent.

    Parameters
    ----------
    days : float
        Days that there are [d].
    percentiles : sequence of float
        Rising days; infinite where it never comes [d].

    Returns
    -------
    float
        Straight between the percentiles; 0 below the first, and never above 0.99 [-].

    Examples
    --------
    >>> print(f"{chance_by(10.5, range(1, 100)):.3f}")
    0.105
    """
    known = np.asarray(percentiles, dtype=float)
    shares = np.arange(1, len(known) + 1) / (len(known) + 1)
    finite = np.isfinite(known)
    if not finite.any() or days < known[0]:
        return 0.0
    return float(np.interp(days, known[finite], shares[finite]))


def plus_days(percentiles: Sequence[float], likely: float, low: float, high: float) -> Floats:
    """Percentiles of a sum: days at 1 to 99 percent, and others that are lognormal about `likely`.

    Parameters
    ----------
    percentiles : sequence of float
        The first days, at 1, 2 … 99 percent [d].
    likely, low, high : float
        The others: median, 5th and 95th percentile [d].

    Returns
    -------
    array
        The sum's days at 1, 2 … 99 percent, shape (99,) [d].

    Notes
    -----
    The two are independent; every pair of their percentiles counts alike, which is off by less
    than a percent of the width.
    """
    first, normal = np.asarray(percentiles, dtype=float), NormalDist()
    shares = np.linspace(0.01, 0.99, 99)
    score = np.array([normal.inv_cdf(float(share)) for share in shares])
    below, above = log(likely / low), log(high / likely)
    side: Floats = np.where(score < 0, below, above)
    others = likely * np.exp(side * score / _NINETY_FIVE)
    together = (first[:, None] + others[None, :]).ravel()
    return np.asarray(np.percentile(together, 100 * shares, method="higher"))


def after_clean_test(bad: float, found_if_bad: float) -> float:
    """Chance that something is bad although a test came out clean.

    Parameters
    ----------
    bad : float
        The chance before [-].
    found_if_bad : float
        Chance that the test shows it if it is bad; it never condemns what is good [-].

    Returns
    -------
    float
        b (1 - s) / (b (1 - s) + 1 - b), by Bayes [-].

    Examples
    --------
    One clean control jar of a run that is bad with 8 %, then spoiling 70 % of its jars:

    >>> round(after_clean_test(0.08, 0.70), 4)
    0.0254
    """
    missed = bad * (1 - found_if_bad)
    return missed / (missed + 1 - bad) if missed + 1 - bad > 0 else 1.0


def most_spoiled_after_clean(count: int) -> float:
    """Upper 95 % limit of the share spoiled, when so many jars of it are all clean.

    Parameters
    ----------
    count : int
        Clean jars, at least 1 [-].

    Returns
    -------
    float
        1 - 0.05^(1/count): 95 % for one jar; near 3/count for many [-].

    Examples
    --------
    >>> round(most_spoiled_after_clean(1), 3), round(most_spoiled_after_clean(60), 3)
    (0.95, 0.049)
    """
    return float(1 - 0.05 ** (1 / count))
