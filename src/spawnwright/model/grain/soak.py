"""Soak: the moisture of grain after hours in cold water, by the law published for each.

Four laws, named in the catalog: `kernel` [Becker1960]_ for wheat, `sphere` for grains measured
as spheres, `hull` for grain in the hull [Mok1983]_, `peleg` [Peleg1988]_ [Kashiri2010]_. Rye,
oats, hulled barley, millet and maize borrow another grain's law: a guess, and their bands say so.
Every law starts from dry kernels of one moisture and forgets sprouting, which takes up more.
Checks and how far each law is known: docs/models/soak.md.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import log2
from typing import Any

import numpy as np

from spawnwright.errors import Unusable
from spawnwright.model.grain.moisture import Values, dry_basis, wet_basis
from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Input
from spawnwright.records.grain import Grain
from spawnwright.sources import COMMON, JUDGMENT, Coefficients, Constant

GAS_CONSTANT = Constant(8.314462618, "J/(mol K)", source="CODATA2018", where="table: R")
KELVIN = 273.15
_TWENTY_C = 293.15
_HULL_REFERENCE = 294.15  # 21 °C, where the rate of the hull law was set
_SHORT_TIME = Coefficients(
    (2 / np.sqrt(np.pi), -0.331),
    source="Becker1960",
    where="short-time solution, g = 1.128 z - 0.331 z²; the second number from memory",
)
_SHORT_TIME_END = Constant(
    1.2, "-", source=JUDGMENT, where="z up to which the short-time solution is good to 0.004"
)
_PELEG_K2 = Coefficients(
    (2.46e-2, 2.06e-2), source="Kashiri2010", where="abstract: k2 at 10 and 50 °C, 1/% dry basis"
)
_WIDER_EVERY_K = Constant(
    10.0, "K", source=JUDGMENT, where="the spread doubles this far beyond measured temperatures"
)
COVER_M3_KG = Constant(
    2.5e-3, "m³/kg", source=COMMON, where="2 to 3 L of water to a kilogram of dry grain covers it"
)


def sphere_share(fourier: Values) -> Any:
    """Share of its final gain that a sphere has taken up, its surface at the limit throughout.

    Parameters
    ----------
    fourier : float or array
        D t / r², 0 or more [-].

    Returns
    -------
    float or array
        1 - 6/π² Σ exp(-n² π² Fo) / n², [Crank1975]_; below Fo = 0.05 by 6 √(Fo/π) - 3 Fo,
        which agrees to better than 1e-8 there [-].
    """
    number = np.asarray(fourier, dtype=np.float64)[..., None]
    terms = np.arange(1, 8)
    late = 1 - (6 / np.pi**2) * np.sum(np.exp(-((terms * np.pi) ** 2) * number) / terms**2, -1)
    number = number[..., 0]
    early = 6 * np.sqrt(number / np.pi) - 3 * number
    share = np.where(number < 0.05, early, late)
    return float(share) if share.ndim == 0 else share


def kernel_share(depth: Values) -> Any:
    """Share of its final gain that a kernel of any shape has taken up by diffusion.

    Parameters
    ----------
    depth : float or array
        z = (S/V) √(D t), surface to volume times the diffusion length, 0 or more [-].

    Returns
    -------
    float or array
        1.128 z - 0.331 z² [Becker1960]_ up to z = 1.2, from there on the sphere of the same
        surface to volume, Fo = z²/9, where that is more [-].
    """
    z = np.asarray(depth, dtype=np.float64)
    short = np.minimum(z, _SHORT_TIME_END)
    first, second = _SHORT_TIME
    share = np.maximum(first * short + second * short**2, sphere_share(z**2 / 9))
    return float(share) if share.ndim == 0 else share


def arrhenius(energy_j_mol: float, water_c: Values, reference_k: float = _TWENTY_C) -> Any:
    """How much faster than at the reference a rate with this activation energy is.

    Parameters
    ----------
    energy_j_mol : float
        Activation energy [J/mol].
    water_c : float or array
        Temperature of the water [°C].
    reference_k : float
        Temperature at which the ratio is one [K].

    Returns
    -------
    float or array
        exp(-(E/R)(1/T - 1/T0)) [-].
    """
    kelvin = np.asarray(water_c, dtype=np.float64) + KELVIN
    return np.exp(-energy_j_mol / GAS_CONSTANT * (1 / kelvin - 1 / reference_k))


def soaked_moisture(
    grain: Grain,
    time_s: Values,
    water_c: Values,
    dry_moisture: Values,
    *,
    quickness: Values | None = None,
    uptake: Values | None = None,
    limit_db: Values | None = None,
) -> Any:
    """Moisture of grain after a soak in plenty of water.

    Parameters
    ----------
    grain : Grain
        Gives the law and its numbers.
    time_s : float or array
        In the water, 0 or more [s].
    water_c : float or array
        Temperature of the water, 0 to 100 as accepted [°C].
    dry_moisture : float or array
        Moisture as bought, wet basis [-].
    quickness : float or array, optional
        Multiplies the rate; the catalog's where none is given [-].
    uptake : float or array, optional
        Multiplies the gain; the catalog's where none is given [-].
    limit_db : float or array, optional
        Moisture that cold water leads to; the catalog's where none is given [kg/kg].

    Returns
    -------
    float or array
        Moisture, wet basis [-].

    Raises
    ------
    OutOfRange
        If time, temperature or moisture lies outside those limits.

    Notes
    -----
    Water above about 50 °C begins to swell starch [Tester1990]_, which is not counted here: the
    grain comes out wetter than this says.
    """
    check_range("Soak", time_s, 0.0, np.inf, "s")
    check_range("Water", water_c, 0.0, 100.0, "°C")
    start = np.asarray(dry_basis(dry_moisture))
    law = _LAWS.get(grain.soak_law)
    if law is None:
        raise Unusable(
            f"Grain {grain.key!r}: soak_law is {grain.soak_law!r}; "
            f"it must be one of {', '.join(_LAWS)}."
        )
    gain = law(
        grain,
        np.asarray(time_s, dtype=np.float64),
        np.asarray(water_c, dtype=np.float64),
        start,
        np.asarray(grain.soak_quickness if quickness is None else quickness),
        np.asarray(grain.soak_limit_db if limit_db is None else limit_db),
    )
    gain = np.where(np.asarray(time_s) > 0, np.maximum(gain, 0.0), 0.0)
    return wet_basis(start + np.asarray(grain.soak_uptake if uptake is None else uptake) * gain)


def _kernel_gain(
    grain: Grain, time: Any, water: Any, start: Any, quickness: Any, limit: Any
) -> Any:
    speed = grain.soak_rate * quickness * arrhenius(grain.soak_energy_j_mol, water)
    instant = float(grain.soak_instant_db)
    share = kernel_share(grain.surface_to_volume_per_m * np.sqrt(speed * time))
    return instant + share * (limit - start - instant)


def _sphere_gain(
    grain: Grain, time: Any, water: Any, start: Any, quickness: Any, limit: Any
) -> Any:
    speed = grain.soak_rate * quickness * arrhenius(grain.soak_energy_j_mol, water)
    radius = 3 / grain.surface_to_volume_per_m
    return grain.soak_instant_db + sphere_share(speed * time / radius**2) * (limit - start)


def _hull_gain(grain: Grain, time: Any, water: Any, start: Any, quickness: Any, limit: Any) -> Any:
    # the gain goes with the root of diffusivity times time, so quickness and energy enter halved
    speed = np.sqrt(quickness * arrhenius(grain.soak_energy_j_mol, water, _HULL_REFERENCE))
    gain = grain.soak_instant_db + grain.soak_rate * speed * np.sqrt(time / 3600)
    return np.minimum(gain, limit - start)


def _peleg_gain(grain: Grain, time: Any, water: Any, start: Any, quickness: Any, limit: Any) -> Any:
    rate = grain.soak_rate * quickness * arrhenius(grain.soak_energy_j_mol, water)
    cold, warm = _PELEG_K2
    slope = (warm - cold) / 40
    full = limit * (cold + 10 * slope) / (cold + (water - 10) * slope)
    hours = time / 3600
    return hours / (1 / rate + hours / full)


_LAWS: dict[str, Callable[[Grain, Any, Any, Any, Any, Any], Any]] = {
    "kernel": _kernel_gain,
    "sphere": _sphere_gain,
    "hull": _hull_gain,
    "peleg": _peleg_gain,
}


def beyond_measured(grain: Grain, time_s: float, water_c: float) -> tuple[float, float, str]:
    """How far a soak lies beyond the measurements behind its law.

    Colder than measured may be drier than the law says, hardly wetter; warmer or longer may be
    wetter, hardly drier. So each widens its own side only.

    Parameters
    ----------
    grain : Grain
        Gives the measured range.
    time_s : float
        In the water [s].
    water_c : float
        Temperature of the water [°C].

    Returns
    -------
    drier, wetter : float
        By which the spread of the law, as a power, is widened to each side; 1 within range [-].
    said : str
        A sentence for the grower; empty within the range.
    """
    colder = max(grain.soak_coldest_c - water_c, 0.0) / _WIDER_EVERY_K
    warmer = max(water_c - grain.soak_warmest_c, 0.0) / _WIDER_EVERY_K
    longer = max(0.0, log2(max(time_s, 1.0) / grain.soak_longest_s))
    if time_s <= 0 or colder + warmer + longer == 0:
        return 1.0, 1.0, ""
    parts = []
    if colder + warmer > 0:
        parts.append(
            f"from {grain.soak_coldest_c:g} to {grain.soak_warmest_c:g} °C, not at {water_c:g} °C"
        )
    if longer > 0:
        parts.append(f"for up to {grain.soak_longest_s / 3600:g} h, not {time_s / 3600:g} h")
    return (
        1 + colder,
        1 + warmer + longer,
        (
            f"The soak of {grain.key} is known {', and '.join(parts)}: the forecast goes on beyond "
            "what was measured, and its band is wider for it."
        ),
    )


def soak_inputs(grain: Grain, time_s: float, water_c: float) -> list[Input]:
    """What is uncertain about a soak: the speed, the law as a whole, the limit.

    Parameters
    ----------
    grain : Grain
        Gives the spreads.
    time_s : float
        In the water [s].
    water_c : float
        Temperature of the water [°C].

    Returns
    -------
    list of Input
        Named "soak quickness", "soak uptake" and "soak limit"; their draws go into
        `soaked_moisture`. Beyond the measured range the first two are widened.
    """
    drier, wetter, _ = beyond_measured(grain, time_s, water_c)
    weigh = "weigh the grain after the soak, drained"
    quickness = Input.of("soak quickness", grain.soak_quickness, "lognormal", narrow_with=weigh)
    uptake = Input.of("soak uptake", grain.soak_uptake, "lognormal", narrow_with=weigh)
    return [
        widened(quickness, drier, wetter),
        widened(uptake, drier, wetter),
        Input.of("soak limit", grain.soak_limit_db, narrow_with=weigh),
    ]


def widened(given: Input, drier: float, wetter: float) -> Input:
    """A lognormal input with each side of its spread raised to a power [-]."""
    if given.shape != "lognormal":
        return given
    return replace(
        given,
        low=given.likely * (given.low / given.likely) ** drier,
        high=given.likely * (given.high / given.likely) ** wetter,
    )
