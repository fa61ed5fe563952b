"""Rules on quantities: jars, lids, grain, water, gypsum, culture, portions, words."""

import re
from collections.abc import Iterator
from math import ceil, isfinite

from tests.plan_checker import limits
from tests.plan_checker.case import Case, Lot, amount, number, utc
from tests.plan_checker.rules import rule

NAMES = {
    "soak": ("dry_grain_kg", "water_l"), "simmer": ("simmer_min", "portions"),
    "weigh": ("wet_grain_kg", "portions"), "fill": ("jars", "jar_grain_kg"), "load": ("jars",),
    "vent": ("vent_min",), "hold": ("hold_min",), "inoculate": ("jars", "dose_ml"),
}  # fmt: skip
WITH_CAUTIONS = ("simmer", "heat_up", "vent", "hold", "cool_down", "inoculate")


@rule("numbers of the steps")
def numbers(case: Case) -> Iterator[str]:
    for step in case.plan.steps:
        for name in NAMES.get(step.kind, ()):
            if not step.amounts.get(name, 0) > 0:
                yield f"{step.key} has {step.amounts.get(name)} for {name}"
        for name, value in step.amounts.items():
            if not isfinite(value) or value < 0:
                yield f"{step.key} has {value} for {name}"


@rule("time for the work")
def time_for_the_work(case: Case) -> Iterator[str]:
    """A minute for each jar at the least, to fill it and to inoculate it."""
    for step in case.of_kind("fill", "inoculate"):
        if utc(step.until) - utc(step.at) < step.amounts.get("jars", 0) * limits.FOR_ONE_JAR:
            yield f"{step.key} lasts {step.until - step.at} for {step.amounts['jars']:g} jars"


@rule("words of the steps")
def words(case: Case) -> Iterator[str]:
    """A title and a detail each; numbers where there are some; cautions where they belong."""
    for step in case.plan.steps:
        if not step.title.strip() or not step.detail.strip():
            yield f"{step.key} has no title or no detail"
        if step.kind in NAMES and not re.search(r"\d", step.title + step.detail):
            yield f"{step.key} says no number"
        if step.kind in WITH_CAUTIONS and not any(each.strip() for each in step.cautions):
            yield f"{step.key} has no caution"
        for portions in {step.amounts.get("portions", 1)} - {1}:
            if f"{portions:g}" not in step.detail + step.title:
                yield f"{step.key} goes in {portions:g} portions, which it does not say"


@rule("jars add up")
def jars_add_up(case: Case) -> Iterator[str]:
    plan = case.plan
    controls = sum(run.controls for run in plan.sterilizer_runs)
    if controls != plan.controls:
        yield f"{controls} controls are in the runs, {plan.controls} in the plan"
    if plan.jars_to_make + plan.controls != case.loaded + max(0, case.sterile_used):
        yield f"{plan.jars_to_make} jars and {plan.controls} controls, {case.loaded} loaded"
    is_new = case.said("grain", "new_lot") or case.said("kit", "new_routine")
    has_said = any("control" in note for note in plan.notes)
    if is_new and case.runs and not plan.controls and not has_said:
        yield "grain or routine is new, no control jar is planned, and no note says so"


@rule("jars and lids free")
def jars_and_lids_free(case: Case) -> Iterator[str]:
    for key in ("jars_free", "lids_free"):
        have = case.said("kit", key)
        have = case.said("kit", "jars_free") if have is None else have
        used = case.loaded + max(0, case.sterile_used)
        if used > have:
            yield f"{used} jars are used, {key} is {have}"


@rule("grain")
def grain(case: Case) -> Iterator[str]:
    """Dry matter balances: from dry grain through the scale into jars of a plausible weight."""
    dry = sum(lot.dry_kg for lot in case.lots if not lot.was_drained)
    if abs(dry - case.plan.dry_grain_kg) > 0.01 * dry + 1e-6:
        yield f"the soaks take {dry:.3f} kg of dry grain, the plan {case.plan.dry_grain_kg:.3f}"
    low, high = case.wet_per_dry
    for lot in case.lots:
        wet = amount(lot.steps.get("weigh"), "wet_grain_kg")
        jar_kg = amount(lot.steps.get("fill"), "jar_grain_kg")
        if not lot.was_drained and not low * lot.dry_kg * 0.98 <= wet <= high * lot.dry_kg * 1.02:
            yield f"soak {lot.number}: {lot.dry_kg:.2f} kg dry cannot give {wet:.2f} kg wet"
        if lot.jars * jar_kg > wet * 1.02:
            yield f"soak {lot.number}: {lot.jars} jars of {jar_kg:.3f} kg from {wet:.2f} kg"
        begun = case.said("under_way", "soaking") or case.said("under_way", "drained")
        if wet > limits.GRAIN_MARGIN * lot.jars * jar_kg and not begun:
            yield f"soak {lot.number}: {wet:.2f} kg for {lot.jars} jars of {jar_kg:.3f} kg"
        density = jar_kg / (case.jar_l * case.fill_share)
        least, most = limits.WET_BULK_KG_PER_L
        if lot.jars and not least <= density <= most:
            yield f"soak {lot.number}: {jar_kg:.3f} kg a jar would be {density:.2f} kg/L"


@rule("grain in stock")
def grain_in_stock(case: Case) -> Iterator[str]:
    stock = case.quantity("grain", "in_stock", "mass")
    begun = case.under_way("soaking_since")
    new = sum(lot.dry_kg for lot in case.lots if not lot.was_drained and not _is(lot, begun))
    if stock is not None and new > stock + 1e-6:
        yield f"{new:.2f} kg of dry grain are needed, {stock:.2f} kg are there"
    for lot in case.lots:
        under_way = case.quantity("under_way", "soaking", "mass")
        if begun and _is(lot, begun) and abs(lot.dry_kg - under_way) > 0.01:
            yield f"{under_way:.2f} kg are soaking, soak {lot.number} is {lot.dry_kg:.2f} kg"


def _is(lot: Lot, begun) -> bool:
    return begun is not None and "soak" in lot.steps and utc(lot.steps["soak"].at) == begun


@rule("water")
def water(case: Case) -> Iterator[str]:
    """At least what the grain takes up, and no lake."""
    dry, said = case.plan.dry_grain_kg, case.plan.water_l
    least = dry * (case.wet_per_dry[0] - 1)
    if not 0.95 * least <= said <= 15 * dry + 1e-9:
        yield f"{said:.2f} L of water for {dry:.2f} kg of dry grain"
    for lot in case.lots:
        poured = amount(lot.steps.get("soak"), "water_l")
        if "soak" in lot.steps and not 0.5 * lot.dry_kg <= poured <= 10 * lot.dry_kg:
            yield f"soak {lot.number}: {poured:.2f} L over {lot.dry_kg:.2f} kg"


@rule("gypsum")
def gypsum(case: Case) -> Iterator[str]:
    share = case.share("grain", "gypsum")
    for lot in (each for each in case.lots if not each.was_drained):
        grams = sum(step.amounts.get("gypsum_g", 0) for step in lot.steps.values())
        if abs(grams - share * lot.dry_kg * 1e3) > 0.5 + 0.02 * grams:
            yield f"soak {lot.number}: {grams:.1f} g of gypsum on {lot.dry_kg:.2f} kg"


@rule("portions")
def portions(case: Case) -> Iterator[str]:
    """No more in the pot, or on the scale, at one time than it takes."""
    pot = case.quantity("kit", "pot", "volume") * 1e3
    scale = case.quantity("kit", "scale_max", "mass")
    hulled_oats = "oat" in str(case.said("grain", "kind"))
    for lot in case.lots:
        volume = (1.0 if hulled_oats else limits.SOAKED_L_PER_KG_DRY) * lot.dry_kg
        pots = amount(lot.steps.get("simmer"), "portions")
        if "simmer" in lot.steps and pots < ceil(volume / pot - 1e-9):
            yield f"soak {lot.number}: {volume:.1f} L of grain in {pots:g} pots of {pot:.1f} L"
        loads = amount(lot.steps.get("weigh"), "portions")
        wet = amount(lot.steps.get("weigh"), "wet_grain_kg")
        if "weigh" in lot.steps and loads < ceil(wet / scale - 1e-9):
            yield f"soak {lot.number}: {wet:.2f} kg in {loads:g} loads of {scale:.2f} kg"


@rule("culture")
def culture(case: Case) -> Iterator[str]:
    have = case.quantity("culture", "volume", "volume")
    needed = case.dose_ml * case.plan.jars_to_make
    if have is not None and needed > have * 1e6 + 1e-6:
        yield f"{needed:.1f} mL of culture are needed, {have * 1e6:.1f} mL are there"
    for step in case.of_kind("inoculate"):
        if abs(step.amounts.get("dose_ml", 0) - case.dose_ml) > 0.1:
            yield f"{step.key} doses {step.amounts.get('dose_ml')} mL, asked {case.dose_ml:.2f}"


@rule("culture test")
def culture_test(case: Case) -> Iterator[str]:
    """7 to 10 days before the first inoculation, when there is one."""
    first = case.of_kind("inoculate")
    least, most = limits.CULTURE_TEST_DAYS
    for step in case.of_kind("culture_test"):
        if case.said("culture", "tested"):
            yield f"{step.key} though the culture was tested on {case.said('culture', 'tested')}"
        for target in first[:1]:
            days = (case.local_day(target.at) - case.local_day(step.at)).days
            if not least <= days <= most:
                yield f"{step.key} is {days} days before the inoculation"


@rule("pressure")
def pressure(case: Case) -> Iterator[str]:
    """Never above the canner's rating, nor above 15 psi where that is unknown."""
    rated = case.canner.get("rated_gauge", "15 psi")
    most = number(rated, "gauge pressure")
    for run in case.runs:
        held = run.steps["hold"].amounts.get("gauge_kpa") if "hold" in run.steps else None
        if held is not None and held * 1e3 > most + 1:
            yield f"run {run.number} is held at {held:.1f} kPa, rated {most / 1e3:.1f} kPa"
