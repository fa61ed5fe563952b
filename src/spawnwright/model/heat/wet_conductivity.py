"""How well a wet, porous bed conducts heat: resting conductivity and vapor through its pores.

Water evaporates on the warm side of a pore, diffuses across it and condenses on the cold side,
and so carries its latent heat. Near the temperature at which vapor pressure reaches the pressure
in the vessel this grows without bound; there the model is capped.

This is theory, not measured on grain: docs/models/porous-bed.md.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spawnwright.errors import Unusable
from spawnwright.model.heat.bed import Floats
from spawnwright.model.heat.steam import (
    ZERO_CELSIUS_K,
    latent_heat_j_kg,
    saturation_pressure_pa,
)
from spawnwright.sources import JUDGMENT, Constant

DIFFUSIVITY = Constant(
    2.12e-5, "m²/s", source="KRISCHER1963", where="water vapor in air at 273 K and 101.325 kPa"
)
DIFFUSIVITY_POWER = Constant(1.88, "-", source="KRISCHER1963", where="power of T/273 K")
REFERENCE_K = 273.0
REFERENCE_PA = 101_325.0
HIGHEST_W_MK = Constant(
    3.0, "W/(m K)", source=JUDGMENT, where="cap on the total; boiling carries more than diffusion"
)
_MOLAR_MASS_KG_MOL = 0.018015268
_GAS_CONSTANT_J_MOL_K = 8.314462618

_LOWEST_C, _HIGHEST_C, _PER_KELVIN = 0.5, 250.0, 20


def vapor_conductivity_w_mk(temperature_c: ArrayLike, pressure_pa: ArrayLike) -> Floats:
    """What diffusing vapor would add to the conductivity of a straight, saturated pore.

    λ_v = h_fg · D M/(R T) · P/(P − p_v) · dp_v/dT, with D = 2.12e-5 (T/273)^1.88 (101325/P).

    Parameters
    ----------
    temperature_c : array_like
        Temperature, 1 to 249 [°C].
    pressure_pa : array_like
        Absolute pressure in the vessel [Pa].

    Returns
    -------
    array
        λ_v; infinite where vapor pressure reaches the pressure [W/(m K)].

    Notes
    -----
    Diffusion through stagnant air (Stefan's factor P/(P − p_v)) as in [PHILIP1957]_ and
    [KRISCHER1963]_. Errs high where pores are flooded or their walls are dry.

    Examples
    --------
    >>> print(f"{vapor_conductivity_w_mk(95.0, 101_325.0):.1f}")
    9.4
    """
    temperature = np.asarray(temperature_c, dtype=float)
    room = np.asarray(pressure_pa, dtype=float) - saturation_pressure_pa(temperature)
    strength = _strength(temperature)
    return np.asarray(np.where(room > 0, strength / np.where(room > 0, room, 1.0), np.inf))


def _strength(temperature_c: Floats) -> Floats:
    """λ_v times (P − p_v), which depends on the temperature only [W Pa/(m K)]."""
    kelvin = temperature_c + ZERO_CELSIUS_K
    step = 1e-3
    steepness = (
        saturation_pressure_pa(temperature_c + step) - saturation_pressure_pa(temperature_c - step)
    ) / (2 * step)
    diffusivity = float(DIFFUSIVITY) * (kelvin / REFERENCE_K) ** float(DIFFUSIVITY_POWER)
    density_per_pa = _MOLAR_MASS_KG_MOL / (_GAS_CONSTANT_J_MOL_K * kelvin)
    return np.asarray(
        latent_heat_j_kg(temperature_c) * diffusivity * REFERENCE_PA * density_per_pa * steepness
    )


@cache
def _table() -> tuple[Floats, Floats]:
    """1/strength and p_v/strength every twentieth of a kelvin, at the middle of each."""
    count = int((_HIGHEST_C - _LOWEST_C) * _PER_KELVIN)
    middle = _LOWEST_C + (np.arange(count) + 0.5) / _PER_KELVIN
    strength = _strength(middle)
    return 1 / strength, saturation_pressure_pa(middle) / strength


class WetConductivity:
    """k = k0 + η λ_v, at most `HIGHEST_W_MK`, of a batch of beds; last axis is the column.

    λ_v is looked up in a table of 0.05 K, which is 0.2 % of it at most; single precision.
    """

    def __init__(self, resting_w_mk: Floats, pore_factor: Floats, dtype: Any) -> None:
        self.cap_w_mk = float(HIGHEST_W_MK)
        if np.any(resting_w_mk >= self.cap_w_mk):
            raise Unusable(
                f"A resting conductivity of {float(np.max(resting_w_mk)):g} W/(m K) is above the "
                f"{self.cap_w_mk:g} at which the wet bed is capped; grain is near 0.16."
            )
        self._resting = resting_w_mk.astype(dtype)
        self._factor = pore_factor.astype(dtype)
        # η/(k − k0) may not fall below this, or k would pass the cap.
        least = pore_factor / (self.cap_w_mk - resting_w_mk)
        self._least = np.maximum(least, 1e-30).astype(dtype)
        self._per_strength, self._vapor_per_strength = (part.astype(dtype) for part in _table())
        self._offset = dtype(_LOWEST_C * _PER_KELVIN)
        self._per_kelvin = dtype(_PER_KELVIN)

    def at(self, temperature_c: NDArray[Any], pressure_pa: NDArray[Any], out: NDArray[Any]) -> None:
        """Fill `out` with k at temperatures (…, columns) [°C] and pressures (columns,) [Pa]."""
        np.multiply(temperature_c, self._per_kelvin, out=out)
        out -= self._offset
        place = out.astype(np.intp)
        np.take(self._per_strength, place, out=out, mode="clip")
        out *= pressure_pa
        out -= np.take(self._vapor_per_strength, place, mode="clip")
        np.maximum(out, self._least, out=out)
        np.divide(self._factor, out, out=out)
        out += self._resting
