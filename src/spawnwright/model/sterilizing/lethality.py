"""Lethality: what a temperature history is worth in minutes at a reference temperature.

Pure functions on floats or arrays, time on the last axis. Lethality says what heat did at the
point where the temperature was read; it cannot see a colder point, trapped air, dry pockets or
what gets in afterwards. Range, checks and what is ignored: docs/models/lethality.md.
"""

from __future__ import annotations

from typing import Literal, TypeVar

import numpy as np

from spawnwright.errors import Unusable
from spawnwright.model.scenarios import Floats
from spawnwright.sources import Constant

Number = TypeVar("Number", float, Floats)
Rule = Literal["exact", "trapezoid"]

REFERENCE_C = Constant(121.11, "°C", source="GEANKOPLIS1993", where="section 9.12, 250 °F")
Z_C = Constant(10.0, "K", source="GEANKOPLIS1993", where="section 9.12, 18 °F")


def lethal_rate(
    temperature_c: Number, reference_c: float = REFERENCE_C, z_c: Number | float = Z_C
) -> Number:
    """Minutes at the reference temperature that one minute is worth.

    Parameters
    ----------
    temperature_c : float or array
        Temperature of what is to be sterilized [°C].
    reference_c : float
        Reference temperature; 121.11 °C (250 °F) for F0 [°C].
    z_c : float or array
        Temperature difference that changes the rate tenfold, above 0; 10 for F0 [K].

    Returns
    -------
    float or array
        Lethal rate 10^((T - reference) / z) [-].

    Raises
    ------
    Unusable
        If a z is not above zero.

    Notes
    -----
    The thermal-death-time rule [GEANKOPLIS1993]_, for moist heat only: dry grain and superheated
    pockets are killed far more slowly than this says.

    Examples
    --------
    >>> print(f"{lethal_rate(111.11):.3f}")
    0.100
    """
    _check_z(z_c)
    rate: Number = 10.0 ** ((temperature_c - float(reference_c)) / z_c)
    return rate


def lethality_curve_min(
    time_s: Floats,
    temperature_c: Floats,
    reference_c: float = REFERENCE_C,
    z_c: float | Floats = Z_C,
    rule: Rule = "exact",
) -> Floats:
    """Lethality gathered up to each instant of a temperature history.

    Parameters
    ----------
    time_s : array
        Instants on the last axis, never falling; broadcast against the temperatures [s].
    temperature_c : array
        Temperatures, time on the last axis [°C].
    reference_c : float
        Reference temperature; 121.11 °C (250 °F) for F0 [°C].
    z_c : float or array
        Temperature difference that changes the rate tenfold, above 0; an array is broadcast over
        the leading axes; 10 for F0 [K].
    rule : str
        "exact" takes the temperature as straight between instants and integrates that in closed
        form; "trapezoid" averages the lethal rate between instants [-].

    Returns
    -------
    array
        Lethality at each instant, zero at the first, in minutes at the reference [min].

    Raises
    ------
    Unusable
        If times fall, there are none, the lengths differ, a z is not above 0, or no such rule.

    Notes
    -----
    A segment from rate a to rate b is worth (b - a) / ln(b / a) of its length by "exact", and
    (a + b) / 2 by "trapezoid", which is never less: coarse readings flatter the process. With
    x = ln(b / a) the first is computed as max(a, b) * (1 - exp(-|x|)) / |x|, which keeps all its
    digits as the slope goes to zero.

    Examples
    --------
    Ten minutes at the reference, after ten of climbing to it from 20 °C:

    >>> curve = lethality_curve_min(np.array([0.0, 600.0, 1200.0]), np.array([20, 121.11, 121.11]))
    >>> print(f"{curve[-1]:.2f}")
    10.43
    """
    _check_z(z_c)
    times, temperatures = np.asarray(time_s, np.float64), np.asarray(temperature_c, np.float64)
    minutes = _segments_min(times, temperatures)
    z = np.asarray(z_c, np.float64)[..., None]
    exponent = (temperatures - float(reference_c)) * (np.log(10.0) / z)
    if rule == "exact":
        worth = minutes * _mean_rate(exponent)
    elif rule == "trapezoid":
        rate = np.exp(exponent)
        worth = minutes * 0.5 * (rate[..., 1:] + rate[..., :-1])
    else:
        raise Unusable(f"There is no rule {rule!r} of integration; use exact or trapezoid.")
    curve = np.zeros((*worth.shape[:-1], worth.shape[-1] + 1))
    np.cumsum(worth, axis=-1, out=curve[..., 1:])
    return curve


def lethality_min(
    time_s: Floats,
    temperature_c: Floats,
    reference_c: float = REFERENCE_C,
    z_c: float | Floats = Z_C,
    rule: Rule = "exact",
) -> Floats:
    """Lethality of a whole temperature history.

    Parameters
    ----------
    time_s : array
        Instants on the last axis, never falling [s].
    temperature_c : array
        Temperatures, time on the last axis [°C].
    reference_c : float
        Reference temperature; 121.11 °C (250 °F) for F0 [°C].
    z_c : float or array
        Temperature difference that changes the rate tenfold, broadcast over leading axes [K].
    rule : str
        "exact" or "trapezoid", as in `lethality_curve_min` [-].

    Returns
    -------
    array
        Lethality in minutes at the reference, without the time axis [min].

    Raises
    ------
    Unusable
        As `lethality_curve_min` does.

    Notes
    -----
    The last value of `lethality_curve_min` [GEANKOPLIS1993]_.
    """
    return np.asarray(lethality_curve_min(time_s, temperature_c, reference_c, z_c, rule)[..., -1])


def minutes_above(time_s: Floats, temperature_c: Floats, threshold_c: float) -> Floats:
    """Time spent at or above a temperature, crossings placed on straight lines between readings.

    Parameters
    ----------
    time_s : array
        Instants on the last axis, never falling [s].
    temperature_c : array
        Temperatures, time on the last axis [°C].
    threshold_c : float
        The temperature to count from [°C].

    Returns
    -------
    array
        Time at or above it, without the time axis [min].

    Raises
    ------
    Unusable
        If times fall, there are none, or the lengths differ.

    Notes
    -----
    Exact for a temperature that runs straight between instants.
    """
    times, temperatures = np.asarray(time_s, np.float64), np.asarray(temperature_c, np.float64)
    minutes = _segments_min(times, temperatures)
    first, last = temperatures[..., :-1], temperatures[..., 1:]
    top, span = np.maximum(first, last), np.abs(last - first)
    share = (top - threshold_c) / np.where(span > 0, span, 1.0)
    flat = (top >= threshold_c).astype(np.float64)
    share = np.where(span > 0, np.clip(share, 0.0, 1.0), flat)
    return np.asarray(np.sum(minutes * share, axis=-1))


def _mean_rate(exponent: Floats) -> Floats:
    """Mean of exp over each segment on which the exponent runs straight."""
    first, last = exponent[..., :-1], exponent[..., 1:]
    fall = np.abs(last - first)
    safe = np.where(fall > 0, fall, 1.0)
    mean = np.where(fall > 0, -np.expm1(-safe) / safe, 1.0)
    return np.asarray(np.exp(np.maximum(first, last)) * mean)


def _segments_min(times: Floats, temperatures: Floats) -> Floats:
    if times.ndim == 0 or temperatures.ndim == 0 or times.shape[-1] != temperatures.shape[-1]:
        raise Unusable("Times and temperatures must be lists of the same length.")
    if times.shape[-1] == 0:
        raise Unusable("There are no readings.")
    minutes = np.diff(times, axis=-1) / 60.0
    if not np.all(minutes >= 0):
        raise Unusable("The times of the readings must not fall.")
    return np.asarray(minutes)


def _check_z(z_c: float | Floats) -> None:
    if not np.all(np.asarray(z_c) > 0):
        raise Unusable("z must be a temperature difference above zero, such as 10 C.")
