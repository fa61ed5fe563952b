"""How hot the steam is: gauge, the air outside, and what air was left in."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright import units
from spawnwright.errors import Contradiction, Unusable
from spawnwright.model.heat.air import elevation_of_pressure_m, standard_pressure_pa
from spawnwright.model.heat.steam import (
    gauge_for_temperature_pa,
    saturation_pressure_pa,
    saturation_temperature_c,
    steam_temperature_c,
    steam_temperature_with_cold_air_c,
)
from spawnwright.model.sterilizing.lethality import REFERENCE_C, lethal_rate
from spawnwright.sources import COMMON, JUDGMENT, Constant

SEA_LEVEL_DIFFERENCE = Constant(
    4000.0, "Pa", source=JUDGMENT, where="twice what weather moves the air pressure, about"
)
LOWEST_AMBIENT = Constant(30_000.0, "Pa", source=JUDGMENT, where="below that of 9000 m")
HIGHEST_AMBIENT = Constant(110_000.0, "Pa", source=JUDGMENT, where="above any weather on land")
HIGHEST_GAUGE = Constant(400_000.0, "Pa", source=JUDGMENT, where="beyond hospital sterilizers")
USUAL_RATING = Constant(15 * units.PSI_PA, "Pa", source=COMMON, where="mark on the usual weight")


@dataclass(frozen=True)
class SteamAnswer:
    """The steam of a vessel and what it means."""

    gauge_pa: float
    temperature_c: float
    ambient_pa: float
    ambient_from: str
    """"elevation", "ambient" or "boils at"."""
    boiling_point_c: float
    gauge_for_reference_pa: float
    relative_lethality: float
    air_retained: float
    vented_c: float
    """What it would be with all the air out."""
    cold_air_c: float | None
    """The published air-discharge table's figure, where air was left in."""
    sea_level_c: float
    """At the same gauge reading under the standard atmosphere at sea level."""
    one_psi_less_c: float
    """If the gauge reads one psi high."""
    standard_elevation_m: float | None
    """The elevation that an ambient pressure stands for, where it is in the standard range."""


def steam(
    gauge_pa: float,
    *,
    elevation_m: float | None = None,
    ambient_pa: float | None = None,
    boils_at_c: float | None = None,
    air_retained: float = 0.0,
    air_temperature_c: float = 20.0,
) -> SteamAnswer:
    """The steam in a vessel whose gauge shows a pressure, under a known outside air.

    Raises
    ------
    Contradiction
        If the air outside is given in no way, in several, or as what looks like a weather report.
    Unusable
        If a pressure is one that no small vessel or no place on land has.
    """
    if not 0 <= gauge_pa <= HIGHEST_GAUGE:
        raise Unusable(
            f"A gauge reading of {units.psi(gauge_pa):.4g} psi is beyond what any small steam "
            f"vessel holds; it must lie between 0 and {units.psi(HIGHEST_GAUGE):.0f} psi, and "
            "never above the rating of the vessel."
        )
    outside_pa, given = outside_air(elevation_m, ambient_pa, boils_at_c)
    temperature = steam_temperature_c(gauge_pa, outside_pa, air_retained, air_temperature_c)
    less = max(0.0, gauge_pa - units.PSI_PA)
    lowest, highest = standard_pressure_pa(9000.0), standard_pressure_pa(-430.0)
    return SteamAnswer(
        gauge_pa=gauge_pa,
        temperature_c=temperature,
        ambient_pa=outside_pa,
        ambient_from=given,
        boiling_point_c=float(saturation_temperature_c(outside_pa)),
        gauge_for_reference_pa=float(gauge_for_temperature_pa(float(REFERENCE_C), outside_pa)),
        relative_lethality=float(lethal_rate(temperature)),
        air_retained=air_retained,
        vented_c=steam_temperature_c(gauge_pa, outside_pa),
        cold_air_c=(
            float(steam_temperature_with_cold_air_c(gauge_pa, outside_pa, air_retained))
            if air_retained and gauge_pa + outside_pa * (1 - air_retained) > 1000.0
            else None
        ),
        sea_level_c=steam_temperature_c(
            gauge_pa, standard_pressure_pa(0.0), air_retained, air_temperature_c
        ),
        one_psi_less_c=steam_temperature_c(less, outside_pa, air_retained, air_temperature_c),
        standard_elevation_m=(
            float(elevation_of_pressure_m(outside_pa)) if lowest < outside_pa < highest else None
        ),
    )


def outside_air(
    elevation_m: float | None, ambient_pa: float | None, boils_at_c: float | None
) -> tuple[float, str]:
    """Pressure of the air outside [Pa], and from which of the three it is.

    A measured pressure wins over an elevation that agrees with it.

    Raises
    ------
    Contradiction
        If none is given, or two that do not go together.
    Unusable
        If the pressure is one that no place on land has.
    """
    given = [each is not None for each in (elevation_m, ambient_pa, boils_at_c)]
    if not any(given):
        raise Contradiction(
            "The air outside is missing; give one of --elevation (such as 1500 m), --ambient "
            "(the pressure measured there, such as 84 kPa) or --boils-at (such as 95 C)."
        )
    if boils_at_c is not None and sum(given) > 1:
        raise Contradiction(
            "--boils-at was given together with --elevation or --ambient; give only one of them."
        )
    if boils_at_c is not None:
        lowest, highest = (
            float(saturation_temperature_c(float(each)))
            for each in (LOWEST_AMBIENT, HIGHEST_AMBIENT)
        )
        if not lowest <= boils_at_c <= highest:
            raise Unusable(
                f"Water in an open pot boils between {lowest:.0f} and {highest:.0f} °C anywhere on "
                f"land; --boils-at was {boils_at_c:g} °C."
            )
        return float(saturation_pressure_pa(boils_at_c)), "boils at"
    if ambient_pa is None:
        assert elevation_m is not None  # one of the three is given
        return float(standard_pressure_pa(elevation_m)), "elevation"
    if not LOWEST_AMBIENT <= ambient_pa <= HIGHEST_AMBIENT:
        raise Unusable(
            f"The air outside cannot have {ambient_pa / 1000:.4g} kPa; anywhere on land it has "
            f"{LOWEST_AMBIENT / 1000:.0f} to {HIGHEST_AMBIENT / 1000:.0f} kPa."
        )
    if elevation_m is not None:
        _refuse_weather_report(ambient_pa, elevation_m)
    return ambient_pa, "ambient"


def _refuse_weather_report(ambient_pa: float, elevation_m: float) -> None:
    standard_pa = float(standard_pressure_pa(elevation_m))
    if abs(ambient_pa - standard_pa) > SEA_LEVEL_DIFFERENCE:
        raise Contradiction(
            f"{ambient_pa / 1000:.4g} kPa is not the air pressure at {elevation_m:.0f} m, where it "
            f"is near {standard_pa / 1000:.4g} kPa; weather reports give it as it would be at sea "
            "level. Give --elevation alone, or --ambient from a barometer that is not set to sea "
            "level."
        )
