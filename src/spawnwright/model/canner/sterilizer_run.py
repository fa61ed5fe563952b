"""A sterilizer run as scenarios: from draws of the inputs to canner, jars and steam.

Pure functions; every array has one row a scenario. Time zero is the moment pressure is reached,
from which the hold counts; the burner was lit at a negative time that differs by scenario.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from typing import Any

import numpy as np

from spawnwright.model.canner.run_inputs import radius_name
from spawnwright.model.canner.vessel import GLASS_J_KG_K, Vessel, outer_area_m2
from spawnwright.model.grain.swelling import wet_bulk_density_kg_m3
from spawnwright.model.heat.bed import Bed
from spawnwright.model.heat.draw import (
    Draw,
    FixedDiffusivity,
    Rows,
    draw_of_jars,
    draw_of_well_mixed,
    draw_together,
)
from spawnwright.model.heat.liquid import LIQUID_J_KG_K, LIQUID_KG_M3, mixing_rate_s
from spawnwright.model.heat.properties import specific_heat_j_kg_k
from spawnwright.model.heat.steam import (
    saturation_pressure_pa,
    saturation_temperature_c,
    steam_temperature_c,
)
from spawnwright.model.heat.transport import CONDUCTION, as_probed, pore_factor
from spawnwright.model.heat.wet_conductivity import HIGHEST_W_MK, vapor_conductivity_w_mk
from spawnwright.model.scenarios import Floats
from spawnwright.records.probe import ProbeTransport
from spawnwright.records.sterilizing import Jars, SterilizeQuestion
from spawnwright.sources import JUDGMENT, Constant

CAPACITY_AT_C = Constant(
    60.0, "°C", source=JUDGMENT, where="halfway: where the grain's specific heat is taken"
)
WEAKEST_BURNER = Constant(
    1.3, "-", source=JUDGMENT, where="least heat into the pot over the losses at pressure"
)
_COOLING_C = 50.0
_LEAST_ROOM_PA = 1.0  # between vapor pressure and pressure: below it the cap holds anyway
_TOWARD_VESSEL = 0.35  # where between mean and vessel the conductivity is taken that draws heat
WATER_KG_M3 = 1000.0  # to the accuracy with which a grower fills a canner


@dataclass(frozen=True)
class Runs:
    """Scenarios of one run, each array of shape (scenarios,)."""

    vessel: Vessel
    draw: Draw
    bed: Bed
    is_conduction: Floats
    """Boolean: heat creeps, no vapor moves."""
    diffusivity_m2_s: Floats
    dry_conductivity_w_mk: Floats
    pore_factor: Floats
    ambient_pa: Floats
    grain_kg: Floats
    """Wet grain in one jar, or liquid."""
    dry_grain_kg: Floats
    """What spores are counted by: dry grain in one jar, or all of a liquid."""
    spores_log10_per_g: Floats
    spore_d_min: Floats
    spore_z_c: Floats
    mixing_rate_s: Floats
    """Rate at which a liquid in a jar follows the vessel; nothing for grain."""

    @property
    def is_well_mixed(self) -> bool:
        """Whether a liquid is in the jars."""
        return bool(np.any(self.mixing_rate_s > 0))

    def rows(self, chosen: Rows) -> Runs:
        """Some of the scenarios."""
        bed = Bed(*(np.asarray(getattr(self.bed, each.name))[chosen] for each in fields(Bed)))
        parts: dict[str, Any] = {
            "vessel": self.vessel.rows(chosen),
            "draw": self.draw.rows(chosen),
            "bed": bed,
        }
        others = {
            each.name: getattr(self, each.name)[chosen]
            for each in fields(self)
            if each.name not in parts
        }
        return Runs(**parts, **others)

    def at_rest(self) -> FixedDiffusivity:
        """Diffusivity of the cooling bed, at 50 °C: vapor carries little then."""
        cooling = np.full_like(self.grain_kg, _COOLING_C)
        return FixedDiffusivity(self.draw.diffusivity_m2_s(cooling, cooling))


def runs(question: SterilizeQuestion, draws: Mapping[str, Floats]) -> Runs:
    """Scenarios of a run from draws of its inputs.

    Parameters
    ----------
    question : SterilizeQuestion
        What is known [-].
    draws : mapping
        Values of every input of `run_inputs`, shape (scenarios,), units as there.

    Returns
    -------
    Runs
        Canner, jars and spores, one row a scenario [-].

    Notes
    -----
    Heat capacity of the bed: wet bulk density × specific heat at 60 °C; never the density of
    kernel substance. The bed is that of the kind named first; vessel and draw are the whole load's.
    """
    if question.contents != "grain":
        return _liquid_runs(question, draws)
    density = np.asarray(
        wet_bulk_density_kg_m3(question.kernels, draws["moisture"], draws["wet_void"])
    )
    specific_heat = np.asarray(
        specific_heat_j_kg_k(question.kernels, draws["moisture"], float(CAPACITY_AT_C))
    )
    capacity = density * specific_heat
    is_conduction = draws["transport"] == CONDUCTION
    ambient = question.ambient_pa + draws["weather_pa"]
    creeping, resting = draws["diffusivity_m2_s"], draws["dry_conductivity_w_mk"]
    pore = pore_factor(draws)
    if question.probe is not None and question.pinned is None:
        share = _radius_share(question, question.probe, draws)
        creeping, resting, pore = as_probed(question.probe, draws, capacity, share)
    drawing = BedDiffusivity(is_conduction, creeping, resting, pore, capacity, ambient)
    conductivity = np.where(is_conduction, creeping * capacity, resting)
    film_m = conductivity / draws["film_w_m2_k"]
    beds, own_draws = [], []
    for place, kind in enumerate(question.kinds):
        radius = draws[radius_name(place)]
        depth = bed_depth_m(kind, radius, density)
        beds.append((radius, depth))
        # A slab that is heated from both faces draws like half of it from one.
        heated = depth / 2 if question.is_lying else depth
        grain = kind.jars * density * np.pi * radius**2 * depth
        own_draws.append(draw_of_jars(grain * specific_heat, radius, heated, film_m, drawing))
    radius, depth = beds[0]
    film, top = draws["film_w_m2_k"], draws["top_film_w_m2_k"]
    grain = density * np.pi * radius**2 * depth
    return Runs(
        vessel=vessel_of(question, draws),
        draw=draw_together(own_draws),
        bed=Bed(radius, depth, film, film, top, capacity),
        is_conduction=np.asarray(is_conduction),
        diffusivity_m2_s=creeping,
        dry_conductivity_w_mk=resting,
        pore_factor=pore,
        ambient_pa=ambient,
        grain_kg=grain,
        dry_grain_kg=grain * (1 - draws["moisture"]),
        spores_log10_per_g=draws["spore_log10_per_g"],
        spore_d_min=draws["spore_d_min"],
        spore_z_c=draws["spore_z_c"],
        mixing_rate_s=np.zeros_like(grain),
    )


def _radius_share(
    question: SterilizeQuestion, probe: ProbeTransport, draws: Mapping[str, Floats]
) -> Floats:
    """The radius of the probe's jar over what its fit took, where that jar is in the load."""
    for place, kind in enumerate(question.kinds):
        if kind.jar.key == probe.jar:
            return draws[radius_name(place)] / probe.radius_m
    return np.ones_like(draws[radius_name(0)])


def _liquid_runs(question: SterilizeQuestion, draws: Mapping[str, Floats]) -> Runs:
    """The same for jars of liquid; as a bed they are still water, which nothing asks for."""
    film, density = draws["film_w_m2_k"], float(LIQUID_KG_M3)
    shapes, own_draws = [], []
    for place, kind in enumerate(question.kinds):
        radius = draws[radius_name(place)]
        depth = bed_depth_m(kind, radius, np.full_like(radius, density))
        mass, rate = density * np.pi * radius**2 * depth, mixing_rate_s(film, radius, depth)
        shapes.append((radius, depth, mass, rate))
        own_draws.append(draw_of_well_mixed(kind.jars * mass * float(LIQUID_J_KG_K), rate))
    radius, depth, mass, rate = shapes[0]
    nothing, one = np.zeros_like(mass), np.ones_like(mass)
    return Runs(
        vessel=vessel_of(question, draws),
        draw=draw_together(own_draws),
        bed=Bed(radius, depth, film, film, one, one * density * float(LIQUID_J_KG_K)),
        is_conduction=np.ones(len(mass), dtype=bool),
        diffusivity_m2_s=nothing,
        dry_conductivity_w_mk=nothing,
        pore_factor=nothing,
        ambient_pa=question.ambient_pa + draws["weather_pa"],
        grain_kg=mass,
        dry_grain_kg=mass,
        spores_log10_per_g=draws["spore_log10_per_g"],
        spore_d_min=draws["spore_d_min"],
        spore_z_c=draws["spore_z_c"],
        mixing_rate_s=rate,
    )


def bed_depth_m(kind: Jars, radius_m: Floats, density_kg_m3: Floats) -> Floats:
    """Depth of the grain in a jar, as its fill was said.

    Parameters
    ----------
    kind : Jars
        Jar and fill [-].
    radius_m : array
        Inner radius [m].
    density_kg_m3 : array
        Bulk density of the wet grain [kg/m³].

    Returns
    -------
    array
        Depth [m].

    Notes
    -----
    A share is of the nominal volume; grams take the more room the looser they lie.
    """
    area, fill, jar = np.pi * radius_m**2, kind.fill, kind.jar
    if fill.kind == "below rim":
        return np.asarray(jar.inside_height_m - fill.value + 0.0 * area)
    if fill.kind == "mass":
        return np.asarray(fill.value / (density_kg_m3 * area))
    return np.asarray(fill.value * jar.nominal_volume_m3 / area)


def vessel_of(question: SterilizeQuestion, draws: Mapping[str, Floats]) -> Vessel:
    """The canner of each scenario with its water and the glass of all jars, from draws.

    Parameters
    ----------
    question : SterilizeQuestion
        What is known [-].
    draws : mapping
        As in `runs` [-].

    Returns
    -------
    Vessel
        One row a scenario [-].

    Notes
    -----
    A burner that could not hold the pressure is taken as one that just can, unless it is the
    grower's own: then the balance refuses it.
    """
    canner = question.canner
    ambient = question.ambient_pa + draws["weather_pa"]
    boil = np.asarray(saturation_temperature_c(ambient))
    hold = np.asarray(
        steam_temperature_c(
            question.gauge_pa + draws["gauge_error_pa"], ambient, draws["air_retained"]
        )
    )
    area = outer_area_m2(float(canner.inner_diameter_m), float(canner.inside_height_m))
    loss = draws["loss_w_m2_k"] * area
    room = np.full_like(loss, question.room_c)
    if question.pot_w is not None:
        power = draws["pot_w"]
    else:
        power = draws["burner_w"] * draws["hob_efficiency"]
    if question.burner_w is None and question.pot_w is None:
        power = np.maximum(power, WEAKEST_BURNER * loss * (hold - room))
    return Vessel(
        metal_and_glass_j_k=(
            draws["metal_kg"] * canner.specific_heat_j_kg_k
            + sum(kind.jars * kind.jar.glass_mass_kg for kind in question.kinds) * GLASS_J_KG_K
        ),
        water_kg=draws["water_m3"] * WATER_KG_M3,
        loss_w_k=loss,
        room_c=room,
        start_c=np.minimum(draws["start_c"], boil - 1.0),
        power_w=power,
        boil_c=np.minimum(boil, hold),
        hold_c=hold,
        spare_w=draws["spare_w"],
    )


@dataclass(frozen=True)
class BedDiffusivity:
    """Diffusivity of beds in which heat creeps, or vapor moves, scenario by scenario."""

    is_conduction: Floats
    conduction_m2_s: Floats
    dry_conductivity_w_mk: Floats
    pore_factor: Floats
    capacity_j_m3k: Floats
    ambient_pa: Floats

    def __call__(self, vessel_c: Floats, mean_c: Floats) -> Floats:
        """At these temperatures; the pressure is that of steam, at least the air's."""
        between = mean_c + _TOWARD_VESSEL * (vessel_c - mean_c)
        grid, strengths, vapor_pressures = _vapor_grid()
        pressure = np.maximum(np.interp(vessel_c, grid, vapor_pressures), self.ambient_pa)
        vapor_pa = np.interp(between, grid, vapor_pressures)
        strength = np.interp(between, grid, strengths)
        room = np.maximum(pressure - vapor_pa, _LEAST_ROOM_PA)
        conductivity = self.dry_conductivity_w_mk + self.pore_factor * strength / room
        by_vapor = np.minimum(conductivity, float(HIGHEST_W_MK)) / self.capacity_j_m3k
        return np.where(self.is_conduction, self.conduction_m2_s, by_vapor)

    def rows(self, chosen: Rows) -> BedDiffusivity:
        return BedDiffusivity(*(getattr(self, each.name)[chosen] for each in fields(self)))


@cache
def _vapor_grid() -> tuple[Floats, Floats, Floats]:
    """Temperature, vapor conductivity times the room beside vapor pressure, vapor pressure."""
    temperature = np.linspace(1.0, 160.0, 637)
    vapor = saturation_pressure_pa(temperature)
    pressure = 2.0 * vapor[-1]
    strength = vapor_conductivity_w_mk(temperature, pressure) * (pressure - vapor)
    return temperature, strength, vapor
