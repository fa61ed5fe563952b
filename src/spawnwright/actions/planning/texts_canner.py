"""What the steps at the canner and the inoculation say."""

from __future__ import annotations

from datetime import datetime
from math import ceil, floor

from spawnwright.actions.planning.facts import Facts, Heat
from spawnwright.actions.planning.lots import RunPlan
from spawnwright.actions.planning.said import (
    Said,
    clock,
    codes,
    counted,
    liters,
    milliliters,
    minutes,
)
from spawnwright.records.jar_codes import run_letter
from spawnwright.units import psi

SYRINGE_ML = 10  # the common size
NO_FOOD = (
    "This makes a growth medium, not food: no tested process exists for jars of grain. Never eat "
    "it."
)
PRESENT = "Somebody stays with the canner from heat on until the pressure is zero."
MANUAL = "The manual of your canner comes before anything said here."


def load(facts: Facts, run: RunPlan, heat: Heat, *, is_cold: bool) -> Said:
    """Water, rack, jars, positions."""
    answer = heat.answer
    water = min(answer.water_needed_kg.high, answer.water_room_kg)
    short = (
        f" That is all the canner takes; this hold may need {liters(answer.water_needed_kg.high)}"
        ": watch that it never runs dry."
        if answer.water_needed_kg.high > answer.water_room_kg + 0.05
        else ""
    )
    temper = (
        "The jars come from the cold: start with cold water"
        if is_cold
        else "Start with water about as warm as the jars"
    )
    control = " The control jar stands among the others." if run.controls else ""
    first = (
        "Take the jars of the run before out first, foil caps on, to a clean and still place. "
        if run.number > 1 and not heat.is_warm_opened
        else ""
    )
    return Said(
        f"Load run {run_letter(run.number)}, {counted(run.jars, 'jar')}",
        f"{first}{liters(water)} of water in the canner, rack in, {counted(run.jars, 'jar')} "
        f"({codes(run.number, 1, run.jars)}) on it, not touching the wall; write down which jar "
        f"stands where: a cold corner shows later as spoiled jars in one place.{control} "
        f"{temper}.{short} Look through the vent pipe; check gasket and safety plug; close the lid "
        "with the vent open.",
        (
            NO_FOOD,
            "No cold jar into hot water, no hot jar into cold: glass cracks. Rack under the jars, "
            "bands not tight, so that gas gets out.",
            MANUAL,
        ),
    )


def heat_up(heat: Heat) -> Said:
    """Until the steady jet."""
    band = heat.answer.to_jet_s
    return Said(
        "Heat on",
        f"Full heat, vent open, until a steady jet of steam stands at the vent: about "
        f"{minutes(band.likely / 60)} ({minutes(band.low / 60)} to {minutes(band.high / 60)}). "
        "A flutter is not a jet.",
        (PRESENT, "Never let it boil dry: if it does, heat off and let it cool by itself."),
    )


def vent(heat: Heat) -> Said:
    """Steady jet first, then ten minutes."""
    return Said(
        "Vent 10 min, then close",
        "The steady jet first, then 10 minutes by the clock; only then close the vent or put the "
        f"weight on. Pressure comes in about {minutes(heat.to_pressure_min)} or less.",
        ("The gauge cannot tell air from steam: vent the full time, every time.",),
    )


def hold(facts: Facts, heat: Heat) -> Said:
    """From the moment pressure is reached."""
    answer, kit = heat.answer, facts.wish.kit
    gauge = f"{psi(kit.gauge_pa):.3g} psi"
    steam = answer.steam_c
    why = {
        "recommended": f"so that heat alone leaves a survivor in fewer than 1 jar in 100 "
        f"(chance {answer.chance_of_survivor:.1%})",
        "longest": "the longest for which the water that fits is enough: no such hold is sure "
        f"enough, the chance of a survivor in a jar is {answer.chance_of_survivor:.0%}",
        "asked": "as asked",
    }[answer.hold_is]
    return Said(
        f"Hold {heat.hold_min:.0f} min at {gauge}",
        f"Count {heat.hold_min:.0f} min from the moment {gauge} is reached, {why}. Turn the burner "
        "down until the weight just moves or the needle stands still. Steam is then about "
        f"{steam.likely:.1f} °C.",
        (
            "If the pressure falls below the mark at any moment, bring it back and count the hold "
            "again from zero.",
            f"Never above the rated pressure of the canner; {gauge} is the most this plan uses.",
            PRESENT,
        ),
    )


def pressure_drop(heat: Heat) -> Said:
    """Natural drop to zero."""
    return Said(
        "Heat off; pressure falls by itself",
        f"Burner off, and leave the canner where it is until the gauge shows zero: up to "
        f"{minutes(heat.drop_min)}. Cooling still counts: it delivers part of the heat.",
        (
            "No water, no wet cloth, no lifting of the weight: forced cooling breaks jars, sucks "
            "them dry and throws that heat away.",
            PRESENT,
        ),
    )


def cool_down(facts: Facts, heat: Heat, until: datetime) -> Said:
    """Overnight shut, or opened warm."""
    zone, limit = facts.wish.place.time_zone, heat.answer.handling_c
    cool = f"Cool enough to inoculate, at most {limit:.0f} °C in the core, by {clock(until, zone)}."
    if heat.is_warm_opened:
        return Said(
            "Jars cool down",
            f"The jars stand on a towel, foil caps on, out of any draft, and cool by themselves. "
            f"{cool}",
            ("No hot jar onto a cold or wet bench, and none into water: glass cracks.",),
        )
    return Said(
        "Leave the canner shut overnight",
        "With the burner off and cold, lay a folded cloth wetted with alcohol, or a filter, over "
        "the vent, and leave the lid on: as it cools it draws air in, and that air must come "
        f"through something clean. {cool}",
        (
            "A vacuum holds the lid: let air in slowly at the guarded vent, never force it. If the "
            "maker's manual forbids leaving the canner shut, open it warm as it says.",
            "Alcohol only when nothing nearby is hot or burning.",
        ),
    )


def unload() -> Said:
    """Opened warm, as the maker's manual says."""
    return Said(
        "Open the canner, jars out",
        "As the maker's manual says: at zero take the weight off, wait 10 min, then open the lid "
        "away from your face. Jars out one by one onto a dry towel, foil caps on; note any that "
        "lost liquid or whose filter is wet.",
        (
            "The grain is above 100 °C for longer than the gauge shows pressure: a jar may spit. "
            "Gloves, sleeves, face away.",
            "No hot jar onto a cold or wet bench.",
        ),
    )


def inoculate(
    facts: Facts,
    groups: list[tuple[RunPlan, int]],
    latest: datetime,
    *,
    needs_opening: bool,
    jars_before: int,
) -> Said:
    """Fans off; port wiped and dry, alcohol closed before any flame; which syringe into which jar.

    `groups` are runs with the jars of each that get culture; so many were inoculated before.
    """
    culture, zone = facts.wish.culture, facts.wish.place.time_zone
    jars = sum(count for _, count in groups)
    dose = milliliters(culture.dose_m3)
    told = syringes(groups, culture.dose_m3, jars_before)
    controls = [run for run, _ in groups if run.controls]
    control = "".join(
        f" {codes(run.number, run.jars, run.jars)} gets none: it is the control."
        for run in controls
    )
    opening = "Open the canner and take the jars out. " if needs_opening else ""
    place = (
        ""
        if facts.wish.kit.has_still_place
        else " Without a still place, wait a quarter of an hour after moving about."
    )
    return Said(
        f"Inoculate {counted(jars, 'jar')}, {dose} each",
        f"{opening}Only when the grain is at most {facts.heat.answer.handling_c:.0f} °C in the "
        f"core; feel the glass. Fans off, windows shut.{place} Shake the cold grain loose in each "
        "closed jar. Wipe the port with alcohol and let it dry. Warm the needle to red in the "
        "flame if you use one, let it cool, waste the first drop, then inject, the needle turned "
        f"so that the liquid runs down the glass. {dose} a jar, "
        f"{milliliters(culture.dose_m3 * jars)} in all. {told}"
        f"{control} Roll each jar, label it with date, species and syringe. At the latest by "
        f"{clock(latest, zone)}: sterile jars keep 7 days (common practice).",
        (
            "Port wiped and dry, alcohol closed and put away, before any flame is lit; alcohol "
            "burns almost unseen. No flame inside a box that was sprayed.",
            "The needle is sharp and may be hot: cap it between jars, never recap toward a hand.",
            "A jar with a wet filter, a crack or an odd smell is not inoculated.",
        ),
    )


def syringes(groups: list[tuple[RunPlan, int]], dose_m3: float, jars_before: int) -> str:
    """Which syringe of 10 mL goes into which jar: across runs, so that a bad one stands out."""
    places = [
        f"{run_letter(run.number)}{place}"
        for place in range(1, max(count for _, count in groups) + 1)
        for run, count in groups
        if place <= count
    ]
    each = max(1, floor(SYRINGE_ML / (dose_m3 * 1e6) + 1e-9))
    used = ceil(jars_before / each)
    parts = [places[first : first + each] for first in range(0, len(places), each)]
    told = "; ".join(
        f"syringe {number}: {', '.join(part)}" for number, part in enumerate(parts, used + 1)
    )
    return f"Syringes of {SYRINGE_ML} mL by number, in this order: {told}."
