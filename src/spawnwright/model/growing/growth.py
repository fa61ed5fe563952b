"""How fast mycelium grows at a temperature: the cardinal temperature model with inflection.

Pure functions; °C and mm/day. The curve says nothing about wet grain, stale air or a tired
culture, all of which slow growth: it errs to the quick side. Below the best temperature it is
known to be too quick, by a factor of 1.7 ten degrees down in the one row that could be compared.
Range, checks and open questions: docs/models/growth.md.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from spawnwright.errors import Contradiction
from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Floats, Input, band, draw
from spawnwright.records.band import Band
from spawnwright.records.species import Species
from spawnwright.sources import JUDGMENT, Estimate

LOWEST_C, HIGHEST_C = -30.0, 80.0  # beyond these a temperature is a slip of the pen

COLD_FIT = Estimate(
    1.0,
    "-",
    low=1 / 2.17,
    high=1.45,
    source=JUDGMENT,
    where="factor on the rate ten degrees below the best; with the spread of tmin and topt its "
    "slow side is one sd of 1.7, by which the king oyster row is too quick for SOYLU2016 at "
    "15 °C; the quick side is half as wide, for no miss that way is known",
)
_NARROWEST_C = 0.05  # a drawn best temperature is kept this far inside what the model admits

_OWN_RATE = (
    "two dated looks at the same jar, a few days apart: how many millimeters the front moved"
)
_OWN_COLD = "two dated looks at a jar on your own shelf, at its own temperature"


def ctmi(
    temperature_c: float | Floats,
    tmin_c: float | Floats,
    topt_c: float | Floats,
    tmax_c: float | Floats,
    best: float | Floats = 1.0,
) -> Floats:
    """Growth rate at a temperature; zero outside the cardinal temperatures.

        r = best (T-Tmax)(T-Tmin)² / {(Topt-Tmin) [(Topt-Tmin)(T-Topt) - (Topt-Tmax)(Topt+Tmin-2T)]}

    Parameters
    ----------
    temperature_c : float or array
        Temperature of the mycelium [°C].
    tmin_c, topt_c, tmax_c : float or array
        Least, best and greatest temperature of growth; the best above the middle of the other
        two [°C].
    best : float or array
        Rate at the best temperature, in the unit of the answer; 1 gives the relative rate [-].

    Returns
    -------
    array
        Rate, in the unit of `best`, of the shape that all arguments broadcast to.

    Raises
    ------
    OutOfRange
        If a temperature is beyond -30 to 80 °C or no number, or the best rate is negative.
    Contradiction
        If the cardinal temperatures do not rise, or the best is not above their middle.

    Notes
    -----
    The model of [ROSSO1993]_, made for bacteria; that fungi follow it is an assumption.

    Examples
    --------
    >>> round(float(ctmi(20.0, 5.0, 26.0, 36.0, best=5.0)), 4)
    3.9683
    """
    for what, value in (
        ("The temperature", temperature_c), ("tmin", tmin_c), ("topt", topt_c), ("tmax", tmax_c),
    ):  # fmt: skip
        check_range(what, value, LOWEST_C, HIGHEST_C, "°C")
    check_range("The best rate", best, 0.0, 1e6, "")
    t, low, opt, high, top = np.broadcast_arrays(
        *(np.asarray(each, dtype=float) for each in (temperature_c, tmin_c, topt_c, tmax_c, best))
    )
    _check_order(low, opt, high)
    inside = (t > low) & (t < high)
    t = np.where(inside, t, opt)
    up = opt - low
    rate = (
        (t - high) * (t - low) ** 2 / (up * (up * (t - opt) - (opt - high) * (opt + low - 2 * t)))
    )
    return np.asarray(np.where(inside, top * rate, 0.0))


def rate_inputs(species: Species, *, on_agar: bool = False) -> list[Input]:
    """The uncertain numbers behind a species' rate, in grain or on agar."""
    rate = species.rate_grain_mm_per_day
    if on_agar:
        if species.rate_agar_mm_per_day is None:
            raise Contradiction(
                f"The rate of {species.common} on agar is not known; ask for the one in grain."
            )
        rate = species.rate_agar_mm_per_day
    return [
        Input.of("tmin", species.tmin_c, narrow_with=_OWN_COLD, cut=(LOWEST_C, HIGHEST_C)),
        Input.of("topt", species.topt_c, narrow_with=_OWN_RATE, cut=(LOWEST_C, HIGHEST_C)),
        Input.of("tmax", species.tmax_c, narrow_with=_OWN_RATE, cut=(LOWEST_C, HIGHEST_C)),
        Input.of("best rate", rate, "lognormal", narrow_with=_OWN_RATE),
        _cold_fit(species),
    ]


def drawn_rate(draws: Mapping[str, Floats], temperature_c: float | Floats) -> Floats:
    """Rates for draws of `rate_inputs`, shape (count,) [mm/day].

    A drawn best temperature that the model does not admit is moved to the nearest that it does.
    """
    low, high = draws["tmin"], np.maximum(draws["tmax"], draws["tmin"] + 1.0)
    opt = np.clip(draws["topt"], (low + high) / 2 + _NARROWEST_C, high - _NARROWEST_C)
    below = np.clip((opt - temperature_c) / 10.0, 0.0, None)
    misfit = draws["misfit in the cold"] ** below
    return np.minimum(
        ctmi(temperature_c, low, opt, high, draws["best rate"]) * misfit, draws["best rate"]
    )


def rate_band(inputs: Sequence[Input], temperature_c: float, count: int = 2000) -> Band:
    """Band of the rate at a temperature, over `count` draws [mm/day]."""
    return band(drawn_rate(draw(inputs, count), temperature_c))


def _cold_fit(species: Species) -> Input:
    name = "misfit in the cold"
    if not isinstance(species.tmin_c, Estimate):  # the grower's own curve, taken at its word
        return Input.fixed(name, 1.0, "-", "tmin is given as known")
    return Input.of(name, COLD_FIT, "lognormal", narrow_with=_OWN_COLD)


def _check_order(low: Floats, opt: Floats, high: Floats) -> None:
    bad = ~((low < opt) & (opt < high))
    if np.any(bad):
        raise Contradiction(
            f"Cardinal temperatures must rise: tmin {low[bad].flat[0]:g}, "
            f"topt {opt[bad].flat[0]:g}, tmax {high[bad].flat[0]:g} °C do not."
        )
    bad = opt <= (low + high) / 2
    if np.any(bad):
        raise Contradiction(
            f"The best temperature, {opt[bad].flat[0]:g} °C, must lie above the middle of tmin and "
            f"tmax, {((low + high) / 2)[bad].flat[0]:g} °C; the curve has no meaning otherwise."
        )
