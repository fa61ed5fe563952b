"""What wet grain is like for heat: kernel substance, and the bed it makes."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.model.grain.swelling import wet_bulk_density_kg_m3
from spawnwright.model.heat.properties import KernelProperties, kernel_properties
from spawnwright.records.grain import Grain


@dataclass(frozen=True)
class PropertiesAnswer:
    """Kernel substance, and the bulk density of a loosely filled bed of it."""

    kernel: KernelProperties
    bulk_density_kg_m3: float


def properties(grain: Grain, moisture: float, temperature_c: float) -> PropertiesAnswer:
    """Properties of a grain at a moisture (share of the wet mass) and a temperature.

    Raises
    ------
    OutOfRange
        If moisture or temperature lies outside what the models hold for.
    """
    return PropertiesAnswer(
        kernel_properties(grain, moisture, temperature_c),
        float(wet_bulk_density_kg_m3(grain, moisture)),
    )
