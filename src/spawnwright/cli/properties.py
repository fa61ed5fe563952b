"""Density, specific heat and conductivity of grain."""

from __future__ import annotations

from typing import Any

import click

from spawnwright.cli import answer
from spawnwright.cli.options import Listed, Quantity, Share


@answer.command("properties", example='properties --grain rye --moisture 50% --temperature "60 C"')
@click.option("--grain", type=Listed("grains"), required=True, help="As in `./run grains`.")
@click.option("--moisture", type=Share(), required=True, help="Water as a share of the wet grain.")
@click.option("--temperature", type=Quantity("temperature"), required=True, help="0 to 150 C.")
def command(grain: Any, moisture: float, temperature: float) -> answer.Answer:
    """What wet grain is like for heat, from what it is made of (Choi and Okos).

    All but the last value are of the kernel's substance without pores: conductivity if its parts
    lay side by side (parallel, the most it can be) and one behind the other (series, the least).
    bulk_density_kg_m3 is of a loosely filled bed, with the air between the kernels.
    """
    from spawnwright.actions.grain.properties import properties

    found = properties(grain, moisture, temperature)
    kernel = found.kernel
    values = {
        "density_kg_m3": kernel.density_kg_m3,
        "specific_heat_kj_kg_k": kernel.specific_heat_j_kg_k / 1000,
        "conductivity_parallel_w_mk": kernel.conductivity_parallel_w_mk,
        "conductivity_series_w_mk": kernel.conductivity_series_w_mk,
        "diffusivity_parallel_m2_s": kernel.diffusivity_parallel_m2_s,
        "diffusivity_series_m2_s": kernel.diffusivity_series_m2_s,
        "bulk_density_kg_m3": found.bulk_density_kg_m3,
    }
    capacity = values["specific_heat_kj_kg_k"] * found.bulk_density_kg_m3 / 1000
    page = answer.Answer(values).rows(
        ("density", f"{kernel.density_kg_m3:.0f} kg/m³", "of the kernel's substance"),
        ("specific heat", f"{values['specific_heat_kj_kg_k']:.3f} kJ/kgK", ""),
        (
            "conductivity",
            f"{kernel.conductivity_series_w_mk:.3f}–{kernel.conductivity_parallel_w_mk:.3f} W/mK",
            "series to parallel; the kernel lies between",
        ),
        (
            "diffusivity",
            f"{kernel.diffusivity_series_m2_s:.3g}–{kernel.diffusivity_parallel_m2_s:.3g} m²/s",
            "the same",
        ),
        ("bulk density", f"{found.bulk_density_kg_m3:.0f} kg/m³", "of a loosely filled bed"),
        ("heat to warm the bed", f"{capacity:.2f} MJ/m³K", "bulk density times specific heat"),
    )
    return page.text(
        "A jar is not solid kernel: by conduction alone a loose bed lets heat through at roughly "
        "half these rates, and moving steam can carry it many times faster. No measurement on wet "
        "grain was found; these are sums from composition."
    )
