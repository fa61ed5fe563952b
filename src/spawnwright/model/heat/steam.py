"""Steam: from what the gauge shows, and the air outside, to a temperature.

Pure functions on floats or arrays. Steam is taken as saturated and, unless a share of air is
given, the vessel as vented: air left behind makes it cooler than this says, never hotter.
Range, checks and what is ignored: docs/models/steam.md.
"""

from __future__ import annotations

from typing import overload

import numpy as np

from spawnwright.errors import OutOfRange
from spawnwright.model.heat.air import Number
from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Floats
from spawnwright.sources import Coefficients, Constant

ZERO_CELSIUS_K = 273.15  # exact, by definition of the degree Celsius
LOWEST_PRESSURE = Constant(611.213, "Pa", source="IAPWS1997", where="eq. 31, range")
CRITICAL_PRESSURE = Constant(22.064e6, "Pa", source="IAPWS1997", where="eq. 31, range")
CRITICAL_TEMPERATURE = Constant(647.096, "K", source="IAPWS1997", where="eq. 30, range")
CRITICAL_DENSITY = Constant(322.0, "kg/m³", source="IAPWS1992", where="section 2")

_N = Coefficients(
    (
        0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5,
        -0.32325550322333e7, 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6,
        -0.23855557567849, 0.65017534844798e3,
    ),
    source="IAPWS1997",
    where="table 34, n1 to n10",
)  # fmt: skip
_A = Coefficients(
    (-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502),
    source="IAPWS1992",
    where="eq. 1, a1 to a6",
)
_A_POWERS = (1.0, 1.5, 3.0, 3.5, 4.0, 7.5)
_B = Coefficients(
    (1.99274064, 1.09965342, -0.510839303, -1.75493479, -45.5170352, -6.74694450e5),
    source="IAPWS1992",
    where="eq. 2, b1 to b6",
)
_B_POWERS = (1 / 3, 2 / 3, 5 / 3, 16 / 3, 43 / 3, 110 / 3)
_C = Coefficients(
    (-2.03150240, -2.68302940, -5.38626492, -17.2991605, -44.7586581, -63.9201063),
    source="IAPWS1992",
    where="eq. 3, c1 to c6",
)
_C_POWERS = (2 / 6, 4 / 6, 8 / 6, 18 / 6, 37 / 6, 71 / 6)


def saturation_temperature_c(pressure_pa: Number) -> Number:
    """Temperature at which water boils under an absolute pressure.

    Parameters
    ----------
    pressure_pa : float or array
        Absolute pressure of the steam, 611.213 to 22.064e6 [Pa].

    Returns
    -------
    float or array
        Saturation temperature [°C].

    Raises
    ------
    OutOfRange
        If a pressure lies outside those limits.

    Notes
    -----
    Equation 31, region 4 of the industrial formulation [IAPWS1997]_, whose letters are kept.

    Examples
    --------
    >>> print(f"{saturation_temperature_c(101_325.0):.3f}")
    99.974
    """
    check_range("Steam pressure", pressure_pa, LOWEST_PRESSURE, CRITICAL_PRESSURE, "Pa")
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _N
    b = np.sqrt(np.sqrt(pressure_pa / 1e6))
    e = b * b + n3 * b + n6
    f = n1 * b * b + n4 * b + n7
    g = n2 * b * b + n5 * b + n8
    d = 2 * g / (-f - np.sqrt(f * f - 4 * e * g))
    kelvin: Number = (n10 + d - np.sqrt((n10 + d) ** 2 - 4 * (n9 + n10 * d))) / 2
    return kelvin - ZERO_CELSIUS_K


def saturation_pressure_pa(temperature_c: Number) -> Number:
    """Pressure of steam in equilibrium with water at a temperature.

    Parameters
    ----------
    temperature_c : float or array
        Temperature, 0 to 373.946 [°C].

    Returns
    -------
    float or array
        Absolute pressure [Pa].

    Raises
    ------
    OutOfRange
        If a temperature lies outside those limits.

    Notes
    -----
    Equation 30, region 4 of the industrial formulation [IAPWS1997]_; the exact inverse of
    `saturation_temperature_c`.

    Examples
    --------
    >>> print(f"{saturation_pressure_pa(100.0):.0f}")
    101418
    """
    highest_c = CRITICAL_TEMPERATURE - ZERO_CELSIUS_K
    check_range("Steam temperature", temperature_c, 0.0, highest_c, "°C")
    return _saturation_pressure_pa(temperature_c + ZERO_CELSIUS_K)


def _saturation_pressure_pa(kelvin: Number) -> Number:
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _N
    theta = kelvin + n9 / (kelvin - n10)
    a = theta * theta + n1 * theta + n2
    b = n3 * theta * theta + n4 * theta + n5
    c = n6 * theta * theta + n7 * theta + n8
    root = 2 * c / (-b + np.sqrt(b * b - 4 * a * c))
    pressure: Number = 1e6 * root**4
    return pressure


def latent_heat_j_kg(temperature_c: Number) -> Number:
    """Heat that a kilogram of water takes up to become steam at a temperature.

    Parameters
    ----------
    temperature_c : float or array
        Temperature, 0.01 to 373 [°C].

    Returns
    -------
    float or array
        Latent heat of vaporization [J/kg].

    Raises
    ------
    OutOfRange
        If a temperature lies outside those limits.

    Notes
    -----
    Clapeyron's relation, T dp/dT (1/ρ″ - 1/ρ′), with the pressure and the densities along the
    saturation line of the supplementary release [IAPWS1992]_ (its equations 1, 2 and 3). Within
    0.3 kJ/kg (0.012 %) of the scientific formulation of 1995, as [IAPWSLIBRARY]_ computes it, from
    60 to 140 °C.

    Examples
    --------
    >>> print(f"{latent_heat_j_kg(100.0):.3g}")
    2.26e+06
    """
    check_range("Temperature", temperature_c, 0.01, 373.0, "°C")
    kelvin = temperature_c + ZERO_CELSIUS_K
    ratio = kelvin / float(CRITICAL_TEMPERATURE)
    tau = 1.0 - ratio
    exponent = _series(_A, _A_POWERS, tau)
    pressure = float(CRITICAL_PRESSURE) * np.exp(exponent / ratio)
    slope = _series(
        [a * power for a, power in zip(_A, _A_POWERS, strict=True)],
        [power - 1 for power in _A_POWERS],
        tau,
    )
    pressure_per_kelvin = -pressure / kelvin * (exponent / ratio + slope)
    liquid = float(CRITICAL_DENSITY) * (1.0 + _series(_B, _B_POWERS, tau))
    vapor = float(CRITICAL_DENSITY) * np.exp(_series(_C, _C_POWERS, tau))
    latent: Number = kelvin * pressure_per_kelvin * (1.0 / vapor - 1.0 / liquid)
    return latent


def _series(
    coefficients: Coefficients | list[float],
    powers: tuple[float, ...] | list[float],
    tau: Number,
) -> Number:
    total = 0.0 * tau
    for coefficient, power in zip(coefficients, powers, strict=True):
        total = total + coefficient * tau**power
    return total


@overload
def steam_temperature_c(  # type: ignore[overload-overlap]
    gauge_pa: float, ambient_pa: float, air_retained: float = 0.0, air_temperature_c: float = 20.0
) -> float: ...
@overload
def steam_temperature_c(
    gauge_pa: float | Floats,
    ambient_pa: float | Floats,
    air_retained: float | Floats = 0.0,
    air_temperature_c: float | Floats = 20.0,
) -> Floats: ...
def steam_temperature_c(
    gauge_pa: float | Floats,
    ambient_pa: float | Floats,
    air_retained: float | Floats = 0.0,
    air_temperature_c: float | Floats = 20.0,
) -> float | Floats:
    """Temperature of the steam in a vessel whose gauge shows a pressure.

    Parameters
    ----------
    gauge_pa : float or array
        Pressure above that of the air outside, 0 or more [Pa].
    ambient_pa : float or array
        Pressure of the air outside, as measured there [Pa].
    air_retained : float or array
        Share of the air that filled the vessel when the lid closed and is still in it, 0 to 1 [-].
    air_temperature_c : float or array
        Temperature of that air when the lid closed, -40 to 100 [°C].

    Returns
    -------
    float or array
        Temperature T of the saturated steam, for inputs broadcast together [°C].

    Raises
    ------
    OutOfRange
        If an input is outside its limits, or so much air leaves no room for steam above 0 °C.

    Notes
    -----
    Dalton: psat(T) + share * ambient * T / T_air = gauge + ambient, temperatures in kelvin, the
    air counted as dry and heated with the vessel at constant volume. Solved with Newton's method
    from above: the left side is convex and rises with T, so each step stays above the root. Real
    air lies in layers, and the coldest of them is cooler than this even mixture.

    Examples
    --------
    15 psi (103 421 Pa) by the sea, vented, and with a third of the air left in:

    >>> print(f"{steam_temperature_c(103_421.0, 101_325.0):.1f}")
    121.0
    >>> print(f"{steam_temperature_c(103_421.0, 101_325.0, 1 / 3):.1f}")
    113.3
    """
    check_range("Gauge pressure", gauge_pa, 0.0, CRITICAL_PRESSURE, "Pa")
    check_range("Share of air left in", air_retained, 0.0, 1.0, "")
    check_range("Air temperature", air_temperature_c, -40.0, 100.0, "°C")
    total = np.asarray(gauge_pa, dtype=np.float64) + ambient_pa
    vented = np.asarray(saturation_temperature_c(total))
    if not np.any(air_retained):
        return vented if vented.ndim else float(vented)
    air_kelvin = np.asarray(air_temperature_c, dtype=np.float64) + ZERO_CELSIUS_K
    rise = np.asarray(air_retained * np.asarray(ambient_pa) / air_kelvin)  # of the air [Pa/K]
    room = total - rise * ZERO_CELSIUS_K
    if np.any(room < LOWEST_PRESSURE):
        raise OutOfRange(
            "The pressure left for steam beside that air",
            float(np.min(room)), LOWEST_PRESSURE, CRITICAL_PRESSURE, "Pa",
        )  # fmt: skip
    kelvin = vented + ZERO_CELSIUS_K + 0.0 * rise
    for _ in range(60):
        excess = _saturation_pressure_pa(kelvin) + rise * kelvin - total
        step = excess / (_saturation_slope_pa_k(kelvin) + rise)
        kelvin = kelvin - step
        if np.all(np.abs(step) < 1e-10 * kelvin):
            break
    solved = kelvin - ZERO_CELSIUS_K
    return solved if solved.ndim else float(solved)


def _saturation_slope_pa_k(kelvin: Floats) -> Floats:
    """dpsat/dT, by differentiating the quadratic that psat and T fulfil in IAPWS1997, eq. 29."""
    n1, n2, n3, n4, n5, n6, n7, _, n9, n10 = _N
    theta = kelvin + n9 / (kelvin - n10)
    beta = (_saturation_pressure_pa(kelvin) / 1e6) ** 0.25
    by_theta = (beta**2 * (2 * theta + n1) + beta * (2 * n3 * theta + n4) + 2 * n6 * theta + n7) * (
        1 - n9 / (kelvin - n10) ** 2
    )
    by_beta = 2 * beta * (theta**2 + n1 * theta + n2) + n3 * theta**2 + n4 * theta + n5
    return np.asarray(-4e6 * beta**3 * by_theta / by_beta)


def steam_temperature_with_cold_air_c(
    gauge_pa: Number, ambient_pa: float, air_retained: float
) -> Number:
    """Steam temperature as the classical air-discharge table has it: the air stays cold.

    Parameters
    ----------
    gauge_pa : float or array
        Pressure above that of the air outside, 0 or more [Pa].
    ambient_pa : float
        Pressure of the air outside [Pa].
    air_retained : float
        Share of the air that filled the vessel and is still in it, 0 to 1 [-].

    Returns
    -------
    float or array
        Saturation temperature under gauge + ambient * (1 - share) [°C].

    Raises
    ------
    OutOfRange
        If the share is not from 0 to 1, or no pressure is left for steam.

    Notes
    -----
    What the published table [AIRDISCHARGE]_ assumes; shown beside `steam_temperature_c` as the
    published figure. Too hot: air that stays in a closed vessel is heated and takes more of the
    pressure than when it was cold.
    """
    check_range("Share of air left in", air_retained, 0.0, 1.0, "")
    return saturation_temperature_c(gauge_pa + ambient_pa * (1.0 - air_retained))


def gauge_for_temperature_pa(temperature_c: Number, ambient_pa: float | Floats) -> Number | Floats:
    """Gauge reading at which vented steam has a temperature.

    Parameters
    ----------
    temperature_c : float or array
        Temperature wanted, 0 to 373.946 [°C].
    ambient_pa : float or array
        Pressure of the air outside [Pa].

    Returns
    -------
    float or array
        Pressure above that of the air outside; negative below its boiling point [Pa].

    Raises
    ------
    OutOfRange
        If the temperature lies outside those limits.

    Notes
    -----
    psat(T) - ambient [IAPWS1997]_. What the gauge would have to show is not what a vessel may
    hold: its rated pressure comes first.
    """
    return saturation_pressure_pa(temperature_c) - ambient_pa
