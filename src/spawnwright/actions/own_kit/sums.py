"""What follows from a kit: how thick the air is, how far the thermometer is off, how hot the pot.

Apart from `actions/own_kit/kit.py` because the sums need the models, and reading the kit does not.
"""

from __future__ import annotations

from spawnwright.actions.steam import SEA_LEVEL_DIFFERENCE
from spawnwright.errors import Contradiction
from spawnwright.model.canner.burner import heat_into_pot_w
from spawnwright.model.heat.air import standard_pressure_pa
from spawnwright.model.heat.steam import saturation_pressure_pa, saturation_temperature_c
from spawnwright.records.kit import Kit
from spawnwright.sources import Estimate
from spawnwright.units import written_duration


def boiling_point_c(elevation_m: float) -> float:
    """Where water boils at an elevation, under the standard atmosphere [°C]."""
    return float(saturation_temperature_c(float(standard_pressure_pa(elevation_m))))


def thermometer_offset_c(kit: Kit) -> float | None:
    """How much too high the thermometer reads, where the elevation says what it should [K].

    None unless both are known. The weather of the day is in it: about half a degree either way.
    """
    if kit.elevation_m is None or kit.boils_at_c is None:
        return None
    return kit.boils_at_c - boiling_point_c(kit.elevation_m)


def refuse_far_apart(kit: Kit) -> None:
    """Raise `Contradiction` where boiling water and elevation are more than 4 kPa apart."""
    elevation_m, boils_at_c = kit.elevation_m, kit.boils_at_c
    if elevation_m is None or boils_at_c is None:
        return
    by_water = float(saturation_pressure_pa(boils_at_c))
    by_height = float(standard_pressure_pa(elevation_m))
    if abs(by_water - by_height) > SEA_LEVEL_DIFFERENCE:
        raise Contradiction(
            f"At {elevation_m:.0f} m water boils near {boiling_point_c(elevation_m):.1f} °C, and "
            f"the thermometer showed {boils_at_c:.1f} °C: more than weather and a kitchen "
            "thermometer differ. Try it again in a rolling boil, off the bottom, and look up the "
            "elevation; then keep the one you trust."
        )


def pot_power_w(kit: Kit) -> Estimate | None:
    """Heat that the burner brings into a pot, from the minutes to boil two liters [W].

    None unless minutes and starting temperature are known.
    """
    if kit.boil_two_liters_s is None or kit.boiled_from_c is None:
        return None
    offset = thermometer_offset_c(kit) or 0.0
    if kit.elevation_m is not None:
        boils_at = boiling_point_c(kit.elevation_m)
    else:
        boils_at = 100.0 if kit.boils_at_c is None else kit.boils_at_c
    return heat_into_pot_w(
        kit.boil_two_liters_s, kit.boiled_from_c - offset, boils_at, kit.boiled_lid
    )


def refuse_more_than_it_burns(kit: Kit) -> None:
    """Raise `Contradiction` where two liters boiled sooner than the burner's power allows."""
    pot = pot_power_w(kit)
    if pot is not None and kit.burner_w is not None and pot.low > kit.burner_w:
        raise Contradiction(
            f"Two liters that boil in {written_duration(kit.boil_two_liters_s or 0.0)} take about "
            f"{pot:.0f} W, and the burner is said to have {kit.burner_w:.0f} W; read the plate "
            "again, or time the water again on the burner that you mean."
        )
