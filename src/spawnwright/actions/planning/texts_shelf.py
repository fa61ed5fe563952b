"""What the steps on the shelf and after say."""

from __future__ import annotations

from datetime import datetime

from spawnwright.actions.growing.colonize import DOUBT, KEEP_SHUT
from spawnwright.actions.planning.facts import Facts
from spawnwright.actions.planning.said import Said, counted, day
from spawnwright.units import written_mass

NEVER_EAT = "Never eat spawn grain, nor mushrooms from a moldy or sour block."
SPORES = (
    "Spores of mushrooms make people ill over time: pick before the caps flatten, and not in "
    "rooms that are lived in; cough or fever hours after work means stop and see a doctor."
)
FOR_SALE = "Food for sale has rules of its own: ask your food authority. Cook all mushrooms."


def shelf(facts: Facts, names: str) -> Said:
    """On the shelf, labelled."""
    species, shelf_c = facts.wish.goal.species, facts.wish.place.shelf_c
    hot = (
        f"{species.common} is harmed by {species.alarm_c:.0f} °C in the jar, and growing jars are "
        "warmer than their shelf."
    )
    return Said(
        "On the shelf",
        f"{names} stand in the dark or in dim light at about {shelf_c:.0f} °C, a finger apart, "
        f"filters free. {hot[0].upper()}{hot[1:]}",
    )


def look(facts: Facts, number_of_day: int, *, in_hours: bool) -> Said:
    """Days 2, 4, 7, then twice a week; what is normal for this species."""
    species = facts.wish.goal.species
    early = (
        "Nothing to see yet is fine; wet, glassy, gray or sour-looking grain this early points at "
        "grain that was not sterile."
        if number_of_day <= 3
        else "White growth from where the liquid ran; green, black, orange or gray fluff does not "
        "belong there."
    )
    normal = (
        f" Normal for {species.common}: {species.looks_like_trouble[0].lower()}"
        f"{species.looks_like_trouble[1:]}"
        if species.looks_like_trouble
        else ""
    )
    hours = "" if in_hours else " You have no free hours that day: a glance will do."
    return Said(
        f"Look, day {number_of_day}",
        f"Every jar, all round and from below, lids shut. {early}{normal}{hours} Write down what "
        "you see, also when it is nothing.",
        (KEEP_SHUT,),
    )


def shake(facts: Facts, low: datetime, high: datetime) -> Said:
    """Seen about a third; the day is only a reminder."""
    species, zone = facts.wish.goal.species, facts.wish.place.time_zone
    share = facts.growth.shake_share
    return Said(
        f"Shake when about {_share(share)} is white",
        f"Between {day(low, zone)} and {day(high, zone)}; this day is only a reminder, what you "
        f"see decides: {species.shake_from:.0%} to {species.shake_until:.0%} white. "
        f"{species.shake_note} Growth stands still for a day or two after it.",
        (DOUBT,),
    )


def _share(share: float) -> str:
    return "a third" if abs(share - 0.3) < 0.05 else f"{share:.0%}"


def ready(facts: Facts, low: datetime, high: datetime, control: str) -> Said:
    """White all round plus the days for the inside."""
    species, zone = facts.wish.goal.species, facts.wish.place.time_zone
    inside = species.inside_days
    return Said(
        "Ready",
        f"Between {day(low, zone)} and {day(high, zone)}: white all round, and then {inside:.0f} "
        f"days more for the inside of the kernels.{control}",
        (KEEP_SHUT,),
    )


def use_by(facts: Facts, warm: datetime, cold: datetime) -> Said:
    """By species, in the cold and at room temperature."""
    species, zone = facts.wish.goal.species, facts.wish.place.time_zone
    return Said(
        "Use by",
        f"{species.common[0].upper()}{species.common[1:]} on grain keeps about "
        f"{species.use_by_room_days:.0f} days from ready at about 20 °C (until "
        f"{day(warm, zone)}), and about {species.use_by_cold_days:.0f} days at "
        f"{species.cold_storage_c:.0f} °C, not colder (until {day(cold, zone)}). Dense white, "
        "skins and lumps are age; colored liquid with a bad smell is the end.",
        (NEVER_EAT,),
    )


def use(facts: Facts) -> Said:
    """Spawn into substrate."""
    species, spawn, fresh_kg = facts.wish.goal.species, facts.spawn, facts.wish.goal.fresh_kg
    if spawn is None or fresh_kg is None:
        return Said(
            "Use the spawn",
            "Break the grain up in the closed jar, with clean hands and clean tools.",
            (KEEP_SHUT, NEVER_EAT),
        )
    needed = spawn.needed
    wet, dry = needed.wet_substrate_kg, needed.dry_substrate_kg
    efficiency = species.biological_efficiency
    return Said(
        f"Spawn the substrate, {written_mass(wet.likely)} wet",
        f"{written_mass(needed.spawn_kg.likely)} of spawn ({counted(spawn.jars, 'jar')}) into "
        f"{written_mass(wet.likely)} of wet substrate, {written_mass(dry.likely)} dry "
        f"({species.substrate or 'straw or sawdust'}), {species.spawn_rate:.0%} of the wet mass. "
        f"For {written_mass(fresh_kg)} fresh, at {efficiency:.0%} biological efficiency (fresh "
        f"mushrooms over dry substrate; {_low(efficiency):.0%} to {_high(efficiency):.0%}); "
        f"{written_mass(dry.low)} to {written_mass(dry.high)} dry may be what it takes.",
        (KEEP_SHUT, NEVER_EAT),
    )


def first_harvest(facts: Facts, low: datetime, high: datetime) -> Said:
    """The first flush and what follows."""
    species, zone, fresh_kg = facts.wish.goal.species, facts.wish.place.time_zone, facts.wish.goal
    flushes = round(float(species.flushes))
    first = float(species.first_flush_share)
    kg = fresh_kg.fresh_kg or 0.0
    rest = (
        f", the rest in {counted(flushes - 1, 'more flush', 'more flushes')} about "
        f"{species.flush_gap_days:.0f} days apart"
        if flushes > 1
        else ""
    )
    return Said(
        "First harvest",
        f"Between {day(low, zone)} and {day(high, zone)}. The first flush gives about {first:.0%} "
        f"of the crop, some {written_mass(kg * first)}{rest}.",
        (SPORES, FOR_SALE),
    )


def wash_up(jars: int) -> Said:
    """Jars and lids back in stock."""
    return Said(
        "Wash up",
        f"{counted(jars, 'jar')}: grain out, jars and lids washed and dried, silicone and filters "
        "looked at, and back into stock.",
        ("Moldy jars are sterilized shut, for a full cycle, before they are emptied.",),
    )


def _low(number: float) -> float:
    return float(getattr(number, "low", number))


def _high(number: float) -> float:
    return float(getattr(number, "high", number))
