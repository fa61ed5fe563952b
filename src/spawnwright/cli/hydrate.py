"""Grain and water for your jars; what soak and simmer will do."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from spawnwright.cli import answer
from spawnwright.cli.explain import add_inputs
from spawnwright.cli.kit_defaults import fill_from_kit, kit_option
from spawnwright.cli.options import FillOption, Listed, Quantity, Share
from spawnwright.records.band import Band
from spawnwright.units import written_duration, written_mass

if TYPE_CHECKING:
    from spawnwright.actions.grain.hydrate import HydrateAnswer, HydrateQuestion


@answer.command(
    "hydrate",
    example="hydrate --grain rye --jars 10 --jar quart --fill 70%",
)
@click.option("--grain", type=Listed("grains"), required=True, help="As in `./run grains`.")
@click.option("--jars", type=click.IntRange(1, 100_000), help="Jars to fill; or else --dry.")
@click.option("--dry", type=Quantity("mass"), help="Dry grain there is; or else --jars.")
@click.option(
    "--jar", type=Listed("jars"),
    help='A name from `./run jars`, a volume, or "980 g, 30.1 cm, 16.2 cm": water to the brim, '
    "string round the outside, height inside.",
)  # fmt: skip
@click.option(
    "--fill", type=FillOption(), default="70%", show_default=True,
    help='Share of the jar\'s nominal volume, "3 cm below the rim", or grams of wet grain.',
)  # fmt: skip
@click.option(
    "--soak", type=Quantity("duration", zero_needs_no_unit=True), default="18 h",
    show_default=True, help="In cold water; 0 for a long simmer only.",
)  # fmt: skip
@click.option(
    "--water", type=Quantity("temperature"), default="20 C", show_default=True,
    help="Temperature of the soak.",
)  # fmt: skip
@click.option(
    "--simmer", type=Quantity("duration", zero_needs_no_unit=True), default="15 min",
    show_default=True, help="From the return to a simmer on; the texture decides.",
)  # fmt: skip
@click.option("--target", type=Share(), default="48%", show_default=True, help="Moisture aimed at.")
@click.option(
    "--drained", type=Quantity("mass"),
    help="What the grain weighs now, drained, its surface dry; compared with --dry.",
)  # fmt: skip
@click.option(
    "--dry-moisture", type=Share(), help="Of the grain as bought. Not known: 12%, 10 to 14."
)
@click.option(
    "--leached", type=Share(), help="Dry matter lost to the water. Not known: 3%, 1 to 5."
)
@click.option(
    "--gypsum", type=Share(), default="0.5%", show_default=True,
    help="Of the dry grain's mass, optional; keeps kernels apart. 0% for none.",
)  # fmt: skip
@kit_option
@click.option("--explain", is_flag=True, help="List every uncertain number and its source.")
def command(explain: bool, **asked: Any) -> answer.Answer:
    """Grain and water for your jars; what soak and simmer will do.

    Moisture is water as a share of the whole. Quantities are at the target moisture, what leaches
    counted as lost: dry grain as bought, wet grain in each jar, and the water that the grain takes
    up (`water_l`, a kilogram to the liter). The water to cover it comes on top, `soak_water_l`,
    once for the soak and once for the pot.

    Soak and simmer are forecast as bands. Target reached: yes if the likely moisture is at the
    target or above, unlikely if only the upper part of the band is, no if not even its upper end
    is. Bulk swelling: wet bulk volume over the bulk volume of the same dry matter as bought, at
    the target. With --drained the moisture is by weighing, and there is advice; two texture tests
    win over the scale.
    """
    from spawnwright.actions.grain.hydrate import HydrateQuestion, hydrate

    fill_from_kit(asked)
    if asked["jar"] is None:
        raise click.UsageError("Missing option '--jar'.")
    question = HydrateQuestion(
        grain=asked["grain"],
        jar=asked["jar"],
        fill=asked["fill"],
        jars=asked["jars"],
        dry_kg=asked["dry"],
        soak_s=asked["soak"],
        water_c=asked["water"],
        simmer_s=asked["simmer"],
        target=asked["target"],
        drained_kg=asked["drained"],
        dry_moisture=asked["dry_moisture"],
        leached=asked["leached"],
        gypsum=asked["gypsum"],
    )
    found = hydrate(question)
    for each in found.warnings:
        answer.note(each)
    page = _text(answer.Answer(_values(question, found)), question, found)
    return add_inputs(page, found.inputs, found.width_left) if explain else page


def _values(asked: HydrateQuestion, found: HydrateAnswer) -> dict[str, object]:
    amounts, filled = found.quantities, found.quantities.filled
    simmer = found.simmer_for_target_s
    return {
        "dry_kg": amounts.dry_kg,
        "water_l": amounts.water_l,
        "jars": asked.jars if asked.jars is not None else amounts.jars,
        "jar_grain_kg": filled.grain_kg,
        "gypsum_g": found.gypsum_g,
        "moisture_after_soak": found.moisture_after_soak,
        "moisture_at_fill": found.moisture_at_fill,
        "bulk_swelling": found.bulk_swelling,
        "target_reached": found.target_reached,
        "advice": found.advice,
        "texture_tests": found.texture_tests,
        "wet_kg": amounts.wet_kg,
        "soak_water_l": found.soak_water_l,
        "vessel_l": found.vessel_l,
        "simmer_for_target_min": None if simmer is None else simmer / 60,
        "jars_from_drained": found.jars_from_drained,
        "jar_grain_band_kg": found.jar_grain_kg,
        "jar_fill": filled.share,
        "bed_depth_m": filled.depth_m,
        "below_rim_m": filled.below_rim_m,
        "jars_per_jar": found.jars_per_jar,
        "trade_rule": found.trade_rule,
        "widest_cause": found.widest_cause,
        "narrow_it_with": found.narrow_it_with,
        "notes": found.notes,
        "warnings": found.warnings,
        "cautions": found.cautions,
    }


def _text(page: answer.Answer, asked: HydrateQuestion, found: HydrateAnswer) -> answer.Answer:
    amounts, filled = found.quantities, found.quantities.filled
    page.rows(
        ("dry grain", written_mass(amounts.dry_kg), f"{asked.grain.key}, as bought"),
        ("jars", _jars(amounts.jars), f"{asked.jar.key}, {filled.share:.0%} full"),
        ("in each jar", written_mass(filled.grain_kg),
         f"wet grain, {filled.depth_m * 100:.1f} cm deep, {filled.below_rim_m * 100:.1f} cm below "
         f"the rim; {_masses(found.jar_grain_kg)} as it packs"),
        ("water taken up", f"{amounts.water_l:.2f} L", f"at {asked.target:.0%} moisture"),
        ("water to cover", f"{found.soak_water_l:.1f} L",
         f"for the soak and again for the pot; a vessel of {found.vessel_l:.1f} L or more"),
        ("gypsum", f"{found.gypsum_g:.0f} g", f"{asked.gypsum:.1%} of the dry grain, if wanted"),
        title=f"At {asked.target:.0%} moisture",
    )  # fmt: skip
    weighed = found.advice is not None
    page.rows(
        ("after the soak", _shares(found.moisture_after_soak),
         f"{written_duration(asked.soak_s)} at {asked.water_c:g} °C" if asked.soak_s else "none"),
        ("at filling", _shares(found.moisture_at_fill),
         "by weighing" if weighed else f"after {written_duration(asked.simmer_s)} of simmering"),
        (f"{asked.target:.0%} reached", found.target_reached, _longer(asked, found)),
        title="Moisture, " + ("by the scale" if weighed else "as forecast"),
    )  # fmt: skip
    if found.advice is not None:
        page.text(
            f"By weight: {found.advice}. The drained grain fills {found.jars_from_drained:.1f} "
            "jars."
        )
    page.text("\n".join(found.texture_tests), title="Two tests that win over the scale")
    page.text(_rule(asked, found), title="How many jars from one")
    if found.notes:
        page.text("\n".join(found.notes))
    if found.widest_cause:
        page.text(
            f"Most of the width of the moisture comes from: {found.widest_cause}. What would "
            f"narrow it most: {found.narrow_it_with}."
        )
    return page.text("\n".join(found.cautions))


def _longer(asked: HydrateQuestion, found: HydrateAnswer) -> str:
    if found.advice is not None or found.target_reached == "yes":
        return ""
    if found.simmer_for_target_s is None:
        return "no simmer of up to four hours is likely to reach it"
    return f"{written_duration(found.simmer_for_target_s)} of simmering would be likely to"


def _rule(asked: HydrateQuestion, found: HydrateAnswer) -> str:
    swelling, jars = found.bulk_swelling, found.jars_per_jar
    full = f"{found.quantities.filled.share:.0%}"
    beyond = 3 / jars.likely - 1
    needed = "; ".join(
        f"{each.jars:g} jars {'two thirds' if each.fill < 0.7 else 'three quarters'} full need "
        f"{each.moisture_needed:.0%}"
        for each in found.trade_rule
    )
    return (
        f"At {asked.target:.0%} this grain swells in bulk to {swelling.likely:.2f} times "
        f"({swelling.low:.2f} to {swelling.high:.2f}). Each jar is {full} full, so one full jar of "
        f"dry grain fills {jars.likely:.1f} jars ({jars.low:.1f} to {jars.high:.1f}). The trade "
        f"says three to three and a half; three is {abs(beyond):.0%} "
        f"{'more' if beyond >= 0 else 'less'} than that. What the trade's numbers would take in "
        f"moisture: {needed}; past 55% that is overcooked grain."
    )


def _jars(count: float) -> str:
    whole = int(count + 1e-9)
    rest = count - whole
    return f"{whole}" if rest < 0.005 else f"{whole} and {rest:.0%} of one more"


def _shares(band: Band) -> str:
    if band.width < 5e-4:
        return f"{band.likely:.1%}"
    return f"{band.low:.0%} to {band.high:.0%}, likely {band.likely:.0%}"


def _masses(band: Band) -> str:
    if band.width == 0:
        return "exactly"
    return f"{written_mass(band.low)} to {written_mass(band.high)}"
