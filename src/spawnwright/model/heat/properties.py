"""Properties of grain substance: density, specific heat, conductivity, from what it is made of.

Pure functions on floats or arrays, for the kernel without pores. A bed of kernels has air between
them: its bulk density is another number, and its conductivity is not this one.
Range, checks and what is ignored: docs/models/properties.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Floats
from spawnwright.records.grain import Grain
from spawnwright.sources import Coefficients

Number = TypeVar("Number", float, Floats)
_LOWEST_C, _HIGHEST_C = 0.0, 150.0
_COMPONENTS = ("water", "protein", "fat", "carbohydrate", "fiber", "ash")


def _published(table: dict[str, tuple[float, float, float]], what: str) -> dict[str, Coefficients]:
    return {
        name: Coefficients(table[name], source="ASHRAE2006", where=f"table 2, {what} of {name}")
        for name in _COMPONENTS
    }


CONDUCTIVITY = _published(
    {
        "water": (0.57109, 1.7625e-3, -6.7036e-6),
        "protein": (0.17881, 1.1958e-3, -2.7178e-6),
        "fat": (0.18071, -2.7604e-4, -1.7749e-7),
        "carbohydrate": (0.20141, 1.3874e-3, -4.3312e-6),
        "fiber": (0.18331, 1.2497e-3, -3.1683e-6),
        "ash": (0.32962, 1.4011e-3, -2.9069e-6),
    },
    "conductivity [W/(m K)]",
)
DENSITY = _published(
    {
        "water": (997.18, 3.1439e-3, -3.7574e-3),
        "protein": (1329.9, -0.5184, 0.0),
        "fat": (925.59, -0.41757, 0.0),
        "carbohydrate": (1599.1, -0.31046, 0.0),
        "fiber": (1311.5, -0.36589, 0.0),
        "ash": (2423.8, -0.28063, 0.0),
    },
    "density [kg/m³]",
)
SPECIFIC_HEAT = _published(
    {
        "water": (4.1289, -9.0864e-5, 5.4731e-6),
        "protein": (2.0082, 1.2089e-3, -1.3129e-6),
        "fat": (1.9842, 1.4733e-3, -4.8008e-6),
        "carbohydrate": (1.5488, 1.9625e-3, -5.9399e-6),
        "fiber": (1.8459, 1.8306e-3, -4.6509e-6),
        "ash": (1.0926, 1.8896e-3, -3.6817e-6),
    },
    "specific heat [kJ/(kg K)]",
)


@dataclass(frozen=True)
class KernelProperties:
    """Properties of wet grain substance without pores, each a float or an array."""

    density_kg_m3: float | Floats
    specific_heat_j_kg_k: float | Floats
    conductivity_parallel_w_mk: float | Floats
    conductivity_series_w_mk: float | Floats
    diffusivity_parallel_m2_s: float | Floats
    diffusivity_series_m2_s: float | Floats


def mass_fractions(composition: Grain, moisture: Number) -> dict[str, Number]:
    """Shares by mass of water and of the five dry components in wet grain.

    Parameters
    ----------
    composition : Grain
        Shares of the dry matter; they are scaled to add up to one [-].
    moisture : float or array
        Water as a share of the wet mass, 0 to 1 [-].

    Returns
    -------
    dict
        Mass fractions by component, water first; they add up to one [-].

    Raises
    ------
    OutOfRange
        If a moisture is not from 0 to 1.

    Notes
    -----
    Leaching and starch that swells are ignored; the dry matter keeps its composition.
    """
    check_range("Moisture", moisture, 0.0, 1.0, "")
    dry = {name: float(getattr(composition, name)) for name in _COMPONENTS[1:]}
    total = sum(dry.values())
    return {"water": moisture} | {
        name: (1.0 - moisture) * (share / total) for name, share in dry.items()
    }


def specific_heat_j_kg_k(
    composition: Grain, moisture: float | Floats, temperature_c: float | Floats
) -> float | Floats:
    """Specific heat of wet grain, kernel or bed alike: the air between weighs nothing.

    Parameters
    ----------
    composition : Grain
        Shares of the dry matter [-].
    moisture : float or array
        Water as a share of the wet mass, 0 to 1 [-].
    temperature_c : float or array
        Temperature, 0 to 150 [°C].

    Returns
    -------
    float or array
        Specific heat, for inputs broadcast together [J/(kg K)].

    Raises
    ------
    OutOfRange
        If an input is outside its limits.

    Notes
    -----
    Sum of X cp over components [CHOIOKOS1986]_, coefficients as printed in [ASHRAE2006]_. Its
    form for water from 0 to 150 °C begins with 4.1289; the other form in use, 4.1762, is nearer
    to steam tables. Wet grain at 50 % comes out about 0.8 % low, so heats that much too quickly.
    """
    check_range("Temperature", temperature_c, _LOWEST_C, _HIGHEST_C, "°C")
    fractions = mass_fractions(composition, np.asarray(moisture, dtype=np.float64))
    total = sum(
        fractions[name] * _polynomial(SPECIFIC_HEAT[name], temperature_c) for name in _COMPONENTS
    )
    return _plain(1000.0 * np.asarray(total))


def kernel_properties(
    composition: Grain, moisture: float | Floats, temperature_c: float | Floats
) -> KernelProperties:
    """Density, specific heat, conductivity and diffusivity of wet kernels without pores.

    Parameters
    ----------
    composition : Grain
        Shares of the dry matter [-].
    moisture : float or array
        Water as a share of the wet mass, 0 to 1 [-].
    temperature_c : float or array
        Temperature, 0 to 150 [°C].

    Returns
    -------
    KernelProperties
        Each value broadcast over the inputs.

    Raises
    ------
    OutOfRange
        If an input is outside its limits.

    Notes
    -----
    [CHOIOKOS1986]_: ρ = 1 / Σ(X/ρi); cp = Σ X cpi; conductivity with volume fractions Xv = X ρ/ρi,
    parallel Σ Xv ki and series 1/k = Σ Xv/ki; diffusivity k / (ρ cp). The real kernel lies between
    parallel and series. A jar is a bed with pores: by conduction alone it is slower than either.
    """
    specific_heat = specific_heat_j_kg_k(composition, moisture, temperature_c)
    fractions = mass_fractions(composition, np.asarray(moisture, dtype=np.float64))
    volumes = {
        name: fractions[name] / _polynomial(DENSITY[name], temperature_c) for name in _COMPONENTS
    }
    conductivities = {name: _polynomial(CONDUCTIVITY[name], temperature_c) for name in _COMPONENTS}
    density = 1.0 / np.asarray(sum(volumes.values()))
    parallel = density * sum(volumes[name] * conductivities[name] for name in _COMPONENTS)
    series = 1.0 / (density * sum(volumes[name] / conductivities[name] for name in _COMPONENTS))
    capacity = density * specific_heat
    return KernelProperties(
        density_kg_m3=_plain(density),
        specific_heat_j_kg_k=specific_heat,
        conductivity_parallel_w_mk=_plain(parallel),
        conductivity_series_w_mk=_plain(series),
        diffusivity_parallel_m2_s=_plain(parallel / capacity),
        diffusivity_series_m2_s=_plain(series / capacity),
    )


def _polynomial(coefficients: Coefficients, temperature_c: float | Floats) -> Floats:
    constant, slope, curve = coefficients
    temperatures = np.asarray(temperature_c, dtype=np.float64)
    return np.asarray(constant + slope * temperatures + curve * temperatures**2)


def _plain(values: Floats) -> float | Floats:
    return values if np.ndim(values) else float(values)
