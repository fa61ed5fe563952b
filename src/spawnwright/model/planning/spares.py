"""How many jars to make, so that enough of them are good.

Pure functions on counts and chances; exact, nothing is simulated. Jars of one sterilizer run
share its fate: a bad run spoils a share of what would have been good, all at once, which spares
of the same run help little against. Other things that jars share (a syringe, a grain lot) are
left out, which errs to the hopeful side; so does taking a share of survival from few jars as
known. Checks: docs/models/spares.md.
"""

from __future__ import annotations

import numpy as np

from spawnwright.errors import OutOfRange
from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Floats

MOST_JARS = 100_000
MOST_RUNS = 1000
_DIRECT = 512  # longer lists are multiplied by Fourier transform
_ROUNDING = 1e-12


def chance_of_enough(
    jars: int,
    good: int,
    survival: float,
    runs: int = 1,
    run_loss: float = 0.0,
    run_kill: float = 1.0,
) -> float:
    """Chance that at least so many jars are good.

    Each run is bad with the chance `run_loss`, apart from the others. A jar of a sound run is good
    with the chance p, one of a bad run with p (1 - run_kill). The jars are shared evenly over the
    runs; where they do not divide, some runs hold one more.

    Parameters
    ----------
    jars : int
        Jars made, 0 to 100,000 [-].
    good : int
        Good jars wanted, 0 or more [-].
    survival : float
        Chance that a jar of a sound run is good, 0 to 1 [-].
    runs : int
        Sterilizer runs that share the jars, 1 to 1000 [-].
    run_loss : float
        Chance that a run is bad, 0 to 1 [-].
    run_kill : float
        Share of what would be good that a bad run spoils, 0 to 1 [-].

    Returns
    -------
    float
        Chance, 0 to 1 [-].

    Raises
    ------
    OutOfRange
        If an argument lies outside those limits.

    Examples
    --------
    >>> round(chance_of_enough(13, 10, 0.9), 6)
    0.965839
    >>> round(chance_of_enough(20, 10, 0.95, runs=2, run_loss=0.08, run_kill=0.7), 4)
    0.9895
    """
    _check(jars, good, survival, runs, run_loss, run_kill)
    if good == 0:
        return 1.0
    if run_loss == 0 or run_kill == 0:
        return _clean(1.0 - float(_fewer(jars, good, survival).sum()))
    smaller, larger = divmod(jars, runs)
    sizes = [(smaller, runs - larger), (smaller + 1, larger)]
    together = np.ones(1)
    for size, how_many in sizes:
        sound, bad = (
            _fewer(size, good, chance) for chance in (survival, survival * (1 - run_kill))
        )
        one = (1 - run_loss) * sound + run_loss * bad
        together = _sum_of(together, _power(one, how_many, good), good)
    return _clean(1.0 - float(together.sum()))


def most_service(
    good: int, survival: float, runs: int = 1, run_loss: float = 0.0, run_kill: float = 1.0
) -> float:
    """The chance of enough that ever more jars come near to, without passing it [-].

    The arguments are those of `chance_of_enough`. It is 1 wherever each run has some good jars;
    where a bad run has none, it is the chance that not all runs are bad.
    """
    _check(0, good, survival, runs, run_loss, run_kill)
    if good == 0:
        return 1.0
    if survival == 0:
        return 0.0
    return 1.0 - run_loss**runs if run_kill == 1 else 1.0


def least_jars(
    good: int,
    survival: float,
    service: float,
    runs: int = 1,
    run_loss: float = 0.0,
    run_kill: float = 1.0,
) -> tuple[int | None, float]:
    """The least number of jars with which enough are good, as surely as wished.

    Parameters
    ----------
    good : int
        Good jars wanted, 0 to 100,000 [-].
    survival : float
        Chance that a jar of a sound run is good, 0 to 1 [-].
    service : float
        Wished chance of enough, 0 to 1 [-].
    runs : int
        Sterilizer runs that share the jars [-].
    run_loss : float
        Chance that a run is bad, 0 to 1 [-].
    run_kill : float
        Share of what would be good that a bad run spoils, 0 to 1 [-].

    Returns
    -------
    (int or None, float)
        Jars, and the chance that they reach; None, if no number up to 100,000 does, and then the
        most that can be (`most_service`) [-].
    """
    check_range("The wished chance", service, 0.0, 1.0, "")
    most = most_service(good, survival, runs, run_loss, run_kill)

    def reached(jars: int) -> float:
        return chance_of_enough(jars, good, survival, runs, run_loss, run_kill)

    is_sure = survival == 1 and (run_loss == 0 or run_kill == 0)
    if service > most + _ROUNDING or (service > 1 - _ROUNDING and good and not is_sure):
        return None, most
    few, many = -1, max(good, 1)
    while reached(many) < service - _ROUNDING:
        if many == MOST_JARS:
            return None, most
        few, many = many, min(2 * many, MOST_JARS)
    while many - few > 1:
        middle = (few + many) // 2
        if reached(middle) < service - _ROUNDING:
            few = middle
        else:
            many = middle
    return many, reached(many)


def _check(
    jars: int, good: int, survival: float, runs: int, run_loss: float, run_kill: float
) -> None:
    check_range("The number of jars", jars, 0, MOST_JARS, "")
    check_range("The number of good jars", good, 0, MOST_JARS, "")
    check_range("The number of runs", runs, 1, MOST_RUNS, "")
    for what, share in (
        ("The chance that a jar is good", survival),
        ("The chance that a run is bad", run_loss),
        ("The share that a bad run spoils", run_kill),
    ):
        check_range(what, share, 0.0, 1.0, "")
    for what, count in (("jars", jars), ("good jars", good), ("runs", runs)):
        if count != int(count):
            raise OutOfRange(f"The number of {what}", count, int(count), int(count) + 1, "")


def _fewer(jars: int, good: int, chance: float) -> Floats:
    """Chances of 0, 1, ... good jars, as far as they are fewer than `good`."""
    if chance in (0.0, 1.0):
        sure = np.zeros(min(good, jars + 1))
        place = 0 if chance == 0 else jars
        if place < len(sure):
            sure[place] = 1.0
        return sure
    k = np.arange(min(good - 1, jars), dtype=float)
    steps = np.log(jars - k) - np.log1p(k) + np.log(chance) - np.log1p(-chance)
    start = jars * np.log1p(-chance)
    return np.asarray(np.exp(start + np.concatenate([[0.0], np.cumsum(steps)])))


def _sum_of(one: Floats, other: Floats, good: int) -> Floats:
    """Chances of the sum of two counts, as far as it is below `good`."""
    if min(len(one), len(other)) <= _DIRECT:
        return np.convolve(one, other)[:good]
    length = len(one) + len(other) - 1
    product = np.fft.irfft(np.fft.rfft(one, length) * np.fft.rfft(other, length), length)
    return np.asarray(np.maximum(product, 0.0)[:good])


def _power(one: Floats, how_many: int, good: int) -> Floats:
    """Chances of the sum of so many equal counts, as far as it is below `good`."""
    out = np.ones(1)
    while how_many:
        if how_many % 2:
            out = _sum_of(out, one, good)
        how_many //= 2
        if how_many:
            one = _sum_of(one, one, good)
    return out


def _clean(chance: float) -> float:
    return min(1.0, max(0.0, chance))
