"""What the steps before the canner say: culture, jars, lids, grain."""

from __future__ import annotations

from datetime import datetime

from spawnwright.actions.planning.facts import Facts
from spawnwright.actions.planning.losses import TEST_SHOWS
from spawnwright.actions.planning.lots import LotPlan
from spawnwright.actions.planning.said import Said, clock, codes, counted, liters, minutes
from spawnwright.model.grain.soak import COVER_M3_KG
from spawnwright.model.grain.texture import TEXTURE_TESTS
from spawnwright.model.planning.batch import SIMMER_C
from spawnwright.units import written_mass

SCALD = (
    "Hot water and steam scald: the pot no more than four fifths full, the lid opened away from "
    "you, the grain lifted out rather than a heavy pot carried."
)
SOUR = "Grain that smells sour, is slimy or shows root tips is thrown away, not cooked."


def culture_test(facts: Facts) -> Said:
    """A drop on agar or into one small sterile jar."""
    losses = facts.losses
    return Said(
        "Test the culture",
        "Put a drop of the liquid culture on agar, or into one small sterile jar of grain, and "
        "look at it every day for a week. Clean is white, of one kind, without slime, cloud or "
        f"color. A bad culture shows in about {TEST_SHOWS:.0%} of tests, so a clean one lowers "
        f"the chance that it is bad from {losses.untested.culture:.1%} to "
        f"{losses.tested.culture:.1%}. The plan counts on a clean test: if it is not, stop here "
        "and get another culture, before any grain is spent.",
        ("A test that went moldy stays shut and goes out of the house in a bag.",),
    )


def wash_jars(needed: int) -> Said:
    """Jars washed, rims checked."""
    return Said(
        f"Wash {counted(needed, 'jar')}",
        f"Wash {counted(needed, 'jar')} and run a finger round each rim.",
        ("A jar with a chip, crack or scratch breaks in the canner: take another one.",),
    )


def make_lids(needed: int) -> Said:
    """Filter hole and port, silicone, cured."""
    return Said(
        f"Make {counted(needed, 'lid')}",
        f"{counted(needed, 'lid')}: one hole for the filter and one for the injection port in "
        "each, both sealed with silicone. Let it cure for 24 to 48 h, until no smell of vinegar "
        "is left.",
        ("Drill away from your hand; burrs off. Cure with a window open.",),
    )


def soak(facts: Facts, lot: LotPlan, until: datetime, latest: datetime) -> Said:
    """Dry grain, water, latest end."""
    wish, zone = facts.wish, facts.wish.place.time_zone
    name, amount = wish.grain.grain.key, written_mass(lot.dry_kg)
    water_l = lot.dry_kg * COVER_M3_KG * 1000
    warm = " It is warm: shorter is safer." if facts.soak_min[1] < 24 * 60 else ""
    if lot.state == "soaking":
        title = f"{amount} of {name} is soaking"
        begin = f"{amount} of dry {name} has been soaking since {clock(lot.since or until, zone)}."
    else:
        title = f"Soak {amount} of {name}"
        begin = (
            f"Weigh {amount} of dry {name}, wash it, and cover it with {liters(water_l)} of water "
            f"of about {wish.place.room_c:.0f} °C."
        )
    return Said(
        title,
        f"{begin} It is cooked from {clock(until, zone)}; take it out by {clock(latest, zone)} at "
        f"the latest, after that it may sprout or sour.{warm}",
        (SOUR,),
    )


def rinse(lot: LotPlan) -> Said:
    """Until the water runs clear, while the pot heats."""
    return Said(
        "Rinse the grain",
        "Pour off the soaking water and rinse until it runs clear. Put the water for simmering "
        "on the burner meanwhile."
        + (f" It goes in {lot.cooking.pot_portions} portions." if _in_portions(lot) else ""),
        (SOUR,),
    )


def _in_portions(lot: LotPlan) -> bool:
    return lot.cooking.pot_portions > 1


def simmer(facts: Facts, lot: LotPlan) -> Said:
    """Counted from the return to a simmer; the texture decides."""
    work = lot.cooking
    each = simmer_minutes(facts)
    water_l = lot.dry_kg * COVER_M3_KG * 1000 / work.pot_portions
    portions = (
        f"The pot takes it in {work.pot_portions} portions of "
        f"{written_mass(lot.dry_kg / work.pot_portions)} dry grain each; drain one while the next "
        "heats. "
        if _in_portions(lot)
        else ""
    )
    return Said(
        f"Simmer {minutes(each)}" + (f", {work.pot_portions} times" if _in_portions(lot) else ""),
        f"{portions}Into {liters(water_l)} of hot water; it is back at a simmer, about "
        f"{SIMMER_C:.0f} °C, after some {minutes(max(5, 5 * round(work.heat_min / 5)))}. Count "
        f"{minutes(each)} from there. These are starting minutes, the texture decides: "
        f"{TEXTURE_TESTS[0][0].lower()}{TEXTURE_TESTS[0][1:]} Stop before kernels split.",
        (SCALD,),
    )


def simmer_minutes(facts: Facts) -> float:
    """Minutes from the return to a simmer [min]."""
    grain = facts.wish.grain
    return (grain.simmer_s or float(grain.grain.simmer_time_s)) / 60


def drain(lot: LotPlan) -> Said:
    """Until nothing drips."""
    return Said(
        "Drain",
        "Drain until it no longer drips, about 15 min, and turn it once or twice. From here the "
        "grain must be in the canner, and the burner on, within 6 h at room temperature "
        "(common practice).",
        (SCALD,),
    )


def surface_dry(facts: Facts, lot: LotPlan) -> Said:
    """Until the surface is dry and no steam rises."""
    rounds = lot.cooking.tray_rounds
    trays = counted(facts.wish.kit.trays, "tray")
    times = f", {rounds} loads one after another" if rounds > 1 else ""
    return Said(
        "Dry the surface",
        f"Spread it no deeper than 2 cm on {trays}{times}, and stir now and then, until no steam "
        "rises and the kernels look dull: about 45 min a load. Then the paper towel: "
        f"{TEXTURE_TESTS[1][0].lower()}{TEXTURE_TESTS[1][1:]}",
    )


def weigh(facts: Facts, lot: LotPlan, gypsum_g: float) -> Said:
    """Band and the two texture tests; in portions where the scale ends; gypsum if wanted."""
    wish, work = facts.wish, lot.cooking
    low_kg, high_kg = wet_band_kg(facts, lot)
    target = wish.grain.target_moisture
    portions = (
        f" The scale ends at {written_mass(wish.kit.scale_max_kg)}: weigh in "
        f"{work.scale_portions} portions."
        if work.scale_portions > 1
        else ""
    )
    known = (
        f"From {written_mass(lot.dry_kg)} dry it should weigh about {written_mass(lot.wet_kg)} at "
        f"{target:.0%} moisture; {written_mass(low_kg)} to {written_mass(high_kg)} is good. "
        "Lighter: back into hot water. Heavier: dry it longer. "
        if lot.state != "drained"
        else f"There should be about {written_mass(lot.wet_kg)}. "
    )
    gypsum = (
        f" Mix in {gypsum_g:.0f} g of gypsum, {wish.grain.gypsum:.1%} of the dry grain."
        if gypsum_g > 0
        else ""
    )
    return Said(
        f"Weigh the grain, {written_mass(lot.wet_kg)}",
        f"{known}The two texture tests win over the scale: {TEXTURE_TESTS[0]} "
        f"{TEXTURE_TESTS[1]}{portions}{gypsum}",
    )


def wet_band_kg(facts: Facts, lot: LotPlan) -> tuple[float, float]:
    """Wet mass from 3 points of moisture below the target to 4 above [kg]."""
    target = facts.wish.grain.target_moisture
    dry_matter = lot.wet_kg * (1 - target)
    return dry_matter / (1 - target + 0.03), dry_matter / (1 - target - 0.04)


def fill(facts: Facts, lot: LotPlan, *, is_cold: bool) -> Said:
    """Grams and height per jar; rims, lids, foil, code."""
    one = facts.one_jar.filled
    names = ", ".join(codes(run.number, 1, run.jars) for run in lot.runs)
    controls = [
        f"{codes(run.number, run.jars, run.jars)} is the control jar and gets no culture"
        for run in lot.runs
        if run.controls
    ]
    control = f" {'; '.join(controls)}." if controls else ""
    left = lot.wet_kg - lot.jars * one.grain_kg
    over = (
        f" About {written_mass(left)} is left over: it does not keep."
        if left > 0.3 * one.grain_kg
        else ""
    )
    cold = (
        " Then straight into the refrigerator: they wait there, no more than 24 h from draining."
        if is_cold
        else ""
    )
    return Said(
        f"Fill {counted(lot.jars, 'jar')}",
        f"{written_mass(one.grain_kg)} of wet grain into each, loosely: "
        f"{one.depth_m * 100:.1f} cm deep, up to {one.below_rim_m * 100:.1f} cm below the rim "
        f"({one.share:.0%}). Wipe the rims dry, put the lids on finger tight, a loose cap of foil "
        f"over each, and on the lid its code: {names}, or the one that your record book gives."
        f"{control}{over}{cold}",
        ("Grain swells and jars must let gas out: no fuller than this, bands not tight.",),
    )
