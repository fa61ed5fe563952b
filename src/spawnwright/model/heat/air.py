"""Air: the pressure of the standard atmosphere at an elevation, and back.

Pure functions on floats or arrays. Weather moves the real pressure by about 2 kPa either way,
which is about 0.3 °C of steam; a measured pressure of the place itself is better than this.
Range, checks and what is ignored: docs/models/air.md.
"""

from __future__ import annotations

from typing import TypeVar

from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Floats
from spawnwright.sources import JUDGMENT, Constant

Number = TypeVar("Number", float, Floats)

SEA_LEVEL_PRESSURE = Constant(101325.0, "Pa", source="USSA1976", where="table 2, P0")
SEA_LEVEL_TEMPERATURE = Constant(288.15, "K", source="USSA1976", where="table 2, T0")
LAPSE_RATE = Constant(0.0065, "K/m", source="USSA1976", where="table 4, 0 to 11 km")
GRAVITY = Constant(9.80665, "m/s²", source="USSA1976", where="table 2, g0")
MOLAR_MASS = Constant(0.0289644, "kg/mol", source="USSA1976", where="section 1.2.3, M0")
GAS_CONSTANT = Constant(8.31432, "J/(mol K)", source="USSA1976", where="table 2, R*")
LOWEST_ELEVATION = Constant(-430.0, "m", source=JUDGMENT, where="lowest shore on land")
HIGHEST_ELEVATION = Constant(9000.0, "m", source=JUDGMENT, where="above the highest summit")

_EXPONENT = GRAVITY * MOLAR_MASS / (GAS_CONSTANT * LAPSE_RATE)


def standard_pressure_pa(elevation_m: Number) -> Number:
    """Air pressure of the U.S. Standard Atmosphere at an elevation.

    Parameters
    ----------
    elevation_m : float or array
        Height above sea level, taken as geopotential, -430 to 9000 [m].

    Returns
    -------
    float or array
        Absolute pressure [Pa].

    Raises
    ------
    OutOfRange
        If the elevation lies outside those limits.

    Notes
    -----
    p = P0 (1 - L h / T0)^(g0 M0 / (R* L)), equation 33a of [USSA1976]_ with the gradient of its
    lowest layer. A surveyed (geometric) height taken as geopotential gives a pressure too low by
    less than 20 Pa up to 3500 m: the steam comes out a few thousandths of a degree too cool.

    Examples
    --------
    >>> print(f"{standard_pressure_pa(1500.0):.0f}")
    84556
    """
    check_range("Elevation", elevation_m, LOWEST_ELEVATION, HIGHEST_ELEVATION, "m")
    ratio = 1.0 - float(LAPSE_RATE) * elevation_m / float(SEA_LEVEL_TEMPERATURE)
    pressure: Number = float(SEA_LEVEL_PRESSURE) * ratio**_EXPONENT
    return pressure


def elevation_of_pressure_m(pressure_pa: Number) -> Number:
    """Elevation at which the standard atmosphere has a pressure.

    Parameters
    ----------
    pressure_pa : float or array
        Absolute pressure of air, that of 9000 to -430 m, about 30 742 to 106 603 [Pa].

    Returns
    -------
    float or array
        Geopotential height above sea level [m].

    Raises
    ------
    OutOfRange
        If no elevation from -430 to 9000 m has that pressure.

    Notes
    -----
    The inverse of `standard_pressure_pa` [USSA1976]_. Weather alone can make 170 m of difference.
    """
    low = standard_pressure_pa(float(HIGHEST_ELEVATION))
    high = standard_pressure_pa(float(LOWEST_ELEVATION))
    check_range("Air pressure", pressure_pa, low, high, "Pa")
    ratio = (pressure_pa / float(SEA_LEVEL_PRESSURE)) ** (1.0 / _EXPONENT)
    elevation: Number = (1.0 - ratio) * float(SEA_LEVEL_TEMPERATURE) / float(LAPSE_RATE)
    return elevation
