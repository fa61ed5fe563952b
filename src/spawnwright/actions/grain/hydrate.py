"""Prepare grain: how much, how wet it gets, what the scale says, and what to do next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from spawnwright.actions.grain.hydrate_notes import CAUTIONS, notes_on, warnings_on
from spawnwright.errors import Contradiction, Unusable
from spawnwright.model.grain import moisture, simmer, soak, swelling
from spawnwright.model.grain.fill import FilledJar, filled_jar
from spawnwright.model.grain.texture import (
    TEXTURE_TESTS,
    Advice,
    TargetReached,
    advice_by_weight,
    target_reached,
)
from spawnwright.model.scenarios import Floats, Input, band, draw, widest
from spawnwright.records.band import Band
from spawnwright.records.fill import Fill
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.sources import JUDGMENT, Estimate
from spawnwright.units import written_mass

SCENARIOS = 2000
SCALE = Estimate(
    1.0, "-", low=0.99, high=1.01, source=JUDGMENT,
    where="a kitchen scale, and the drops that still hang in the colander",
)  # fmt: skip
_READ_TO = 0.005  # a label or a moisture meter, either way
_WEIGHED_FIRST = "weigh the dry grain, and ask for the moisture on its label or meter"


@dataclass(frozen=True)
class HydrateQuestion:
    """Grain to prepare, for a number of jars or from a mass of dry grain: one of the two.

    Left out, dry moisture and the share leached are the book's, with their spread.
    """

    grain: Grain
    jar: Jar
    fill: Fill
    jars: float | None = None
    dry_kg: float | None = None
    soak_s: float = 18 * 3600.0
    water_c: float = 20.0
    simmer_s: float = 15 * 60.0
    simmer_c: float = float(simmer.SIMMER_C)
    target: float = float(moisture.TARGET)
    drained_kg: float | None = None
    dry_moisture: float | None = None
    leached: float | None = None
    gypsum: float = 0.005
    """Gypsum over dry grain, by mass."""


@dataclass(frozen=True)
class Quantities:
    """What goes in, at the target moisture."""

    jars: float
    dry_kg: float
    wet_kg: float
    water_l: float
    """Taken up by the grain, at a kilogram to the liter."""
    filled: FilledJar


@dataclass(frozen=True)
class TradeRule:
    """The moisture at which one jar of dry grain would fill so many jars."""

    jars: float
    fill: float
    moisture_needed: float


@dataclass(frozen=True)
class HydrateAnswer:
    """Quantities are at the target moisture; the bands forecast what soak and simmer do."""

    quantities: Quantities
    gypsum_g: float
    soak_water_l: float
    """Water to cover the grain, in the soak and again in the pot."""
    vessel_l: float
    """Dry grain and that water together."""
    moisture_after_soak: Band
    moisture_at_fill: Band
    """By weighing, if a drained mass was given; else the forecast."""
    bulk_swelling: Band
    jars_per_jar: Band
    """Jars that one full jar of dry grain fills."""
    jar_grain_kg: Band
    """Wet grain in a jar, as the room between kernels may be; a fill in grams is exact."""
    trade_rule: tuple[TradeRule, ...]
    target_reached: TargetReached
    simmer_for_target_s: float | None
    """Simmer after which the target is likely; none within four hours."""
    advice: Advice | None
    jars_from_drained: float | None
    widest_cause: str | None
    narrow_it_with: str
    inputs: tuple[Input, ...]
    width_left: dict[str, float]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    """What lies outside common practice or beyond what was measured."""
    cautions: tuple[str, ...] = CAUTIONS
    texture_tests: tuple[str, ...] = TEXTURE_TESTS


def dry_grain_for_jars(
    grain: Grain,
    jar: Jar,
    fill: Fill,
    jars: float,
    *,
    target: float = float(moisture.TARGET),
    dry_moisture: float = float(moisture.DRY_MOISTURE),
    leached: float = float(moisture.LEACHED),
) -> Quantities:
    """Grain as bought, and the water that it takes up, for a number of jars.

    Raises `Unusable` for a number of jars, a fill or a moisture that cannot be.
    """
    _check_amount("The number of jars", jars)
    filled = _filled(grain, jar, fill, target, dry_moisture)
    wet = jars * filled.grain_kg
    dry = float(moisture.dry_mass_for_kg(wet, dry_moisture, target, leached))
    water = float(moisture.water_taken_up_kg(dry, dry_moisture, target, leached))
    return Quantities(jars, dry, wet, water, filled)


def jars_from_dry_grain(
    grain: Grain,
    jar: Jar,
    fill: Fill,
    dry_kg: float,
    *,
    target: float = float(moisture.TARGET),
    dry_moisture: float = float(moisture.DRY_MOISTURE),
    leached: float = float(moisture.LEACHED),
) -> Quantities:
    """Jars, not rounded, that a mass of grain as bought fills; raises as `dry_grain_for_jars`."""
    _check_amount("The dry grain in kilograms", dry_kg)
    filled = _filled(grain, jar, fill, target, dry_moisture)
    wet = float(moisture.mass_at_moisture_kg(dry_kg, dry_moisture, target, leached))
    water = float(moisture.water_taken_up_kg(dry_kg, dry_moisture, target, leached))
    return Quantities(wet / filled.grain_kg, dry_kg, wet, water, filled)


def hydrate(question: HydrateQuestion) -> HydrateAnswer:
    """Quantities, forecast and, with a drained mass, what the scale says.

    Raises `Contradiction` or another `Unusable` for what cannot be.
    """
    asked = question
    quantities = _quantities(asked)
    inputs = _inputs(asked)
    draws = draw(inputs, SCENARIOS)
    measured = asked.drained_kg is not None
    if measured:
        _check_drained(asked, quantities.dry_kg)
    at_fill = band(_at_fill(asked, quantities.dry_kg, draws))
    swollen = band(_swollen(asked, draws))
    cause, left = _widest(asked, quantities.dry_kg, inputs)
    return HydrateAnswer(
        quantities=quantities,
        gypsum_g=quantities.dry_kg * asked.gypsum * 1000,
        soak_water_l=quantities.dry_kg * soak.COVER_M3_KG * 1000,
        vessel_l=_vessel_l(asked, quantities.dry_kg),
        moisture_after_soak=band(_after_soak(asked, draws)),
        moisture_at_fill=at_fill,
        bulk_swelling=swollen,
        jars_per_jar=swollen.times(1 / quantities.filled.share),
        jar_grain_kg=_jar_grain(asked, quantities.filled, draws),
        trade_rule=_trade_rule(asked),
        target_reached=target_reached(at_fill.likely, at_fill.high, asked.target),
        simmer_for_target_s=_simmer_for_target_s(asked, draws),
        advice=advice_by_weight(at_fill.likely, asked.target) if measured else None,
        jars_from_drained=_from_drained(asked, quantities.filled),
        widest_cause=cause.name if cause else None,
        narrow_it_with=cause.narrow_with if cause else "",
        inputs=tuple(inputs),
        width_left=left,
        notes=notes_on(asked),
        warnings=warnings_on(asked, quantities.filled),
    )


def _check_amount(what: str, amount: float) -> None:
    if not 0 < amount < 1e6:
        raise Unusable(f"{what} must be above zero and below a million, not {amount:g}.")


def _filled(grain: Grain, jar: Jar, fill: Fill, target: float, dry_moisture: float) -> FilledJar:
    if target <= dry_moisture:
        raise Contradiction(
            f"The target of {target:.0%} is no wetter than the grain as bought, "
            f"{dry_moisture:.0%}; spawn grain is 45 to 52%."
        )
    return filled_jar(jar, fill, float(swelling.wet_bulk_density_kg_m3(grain, target)))


def _book(asked: HydrateQuestion) -> tuple[float, float]:
    dry = moisture.DRY_MOISTURE if asked.dry_moisture is None else asked.dry_moisture
    leached = moisture.LEACHED if asked.leached is None else asked.leached
    return float(dry), float(leached)


def _quantities(asked: HydrateQuestion) -> Quantities:
    if (asked.jars is None) == (asked.dry_kg is None):
        raise Contradiction(
            "Say how many jars are to be filled (--jars 10) or how much dry grain there is "
            '(--dry "2 kg"): exactly one of the two.'
        )
    dry_moisture, leached = _book(asked)
    given = {"target": asked.target, "dry_moisture": dry_moisture, "leached": leached}
    if asked.jars is not None:
        return dry_grain_for_jars(asked.grain, asked.jar, asked.fill, asked.jars, **given)
    assert asked.dry_kg is not None  # exactly one of the two is given
    return jars_from_dry_grain(asked.grain, asked.jar, asked.fill, asked.dry_kg, **given)


def _inputs(asked: HydrateQuestion) -> list[Input]:
    def book(name: str, number: Estimate, given: float | None, spread: float, ask: str) -> Input:
        cut = (0.0, 0.5)
        if given is None:
            return Input.of(name, number, narrow_with=ask, cut=cut)
        ends = given - spread, given + spread
        return Input(name, "normal", given, *ends, "-", "given", ask, cut=cut)

    grain, batches = asked.grain, "weigh two batches dry and drained"
    return [
        book("dry moisture", moisture.DRY_MOISTURE, asked.dry_moisture, _READ_TO, _WEIGHED_FIRST),
        *soak.soak_inputs(grain, asked.soak_s, asked.water_c),
        *simmer.simmer_inputs(grain),
        book("leached", moisture.LEACHED, asked.leached, 0.0, batches),
        Input.of("scale", SCALE, narrow_with="weigh a full bottle of water of known volume"),
        Input.of("wet void", grain.wet_void, narrow_with="weigh one filled jar", cut=(0.2, 0.7)),
        Input.of("dry bulk density", grain.dry_bulk_density_kg_m3,
                 narrow_with="weigh one jar of dry grain, struck level"),
    ]  # fmt: skip


def _after_soak(asked: HydrateQuestion, draws: Mapping[str, Floats]) -> Floats:
    soaked: Floats = soak.soaked_moisture(
        asked.grain,
        asked.soak_s,
        asked.water_c,
        draws["dry moisture"],
        quickness=draws["soak quickness"],
        uptake=draws["soak uptake"],
        limit_db=draws["soak limit"],
    )
    return soaked


def _after_simmer(
    asked: HydrateQuestion, soaked: Floats, draws: Mapping[str, Floats], simmer_s: float
) -> Floats:
    simmered: Floats = simmer.simmered_moisture(
        asked.grain,
        simmer_s,
        soaked,
        asked.simmer_c,
        gelatinized_per_s=draws["gelatinized"],
        uptake=draws["simmer uptake"],
        cooked_db=draws["cooked"],
    )
    return simmered


def _simmer_for_target_s(asked: HydrateQuestion, draws: Mapping[str, Floats]) -> float | None:
    soaked = _after_soak(asked, draws)

    def likely(simmer_s: float) -> float:
        return band(_after_simmer(asked, soaked, draws, simmer_s)).likely

    return simmer.simmer_time_for_s(likely, asked.target)


def _at_fill(asked: HydrateQuestion, dry_kg: float, draws: Mapping[str, Floats]) -> Floats:
    if asked.drained_kg is None:
        return _after_simmer(asked, _after_soak(asked, draws), draws, asked.simmer_s)
    weighed = asked.drained_kg * draws["scale"]
    found: Floats = moisture.moisture_by_weighing(
        draws["dry moisture"], dry_kg, weighed, draws["leached"]
    )
    return found


def _swollen(asked: HydrateQuestion, draws: Mapping[str, Floats]) -> Floats:
    swollen: Floats = swelling.bulk_swelling(
        asked.grain,
        asked.target,
        draws["dry moisture"],
        void=draws["wet void"],
        dry_bulk_density_kg_m3=draws["dry bulk density"],
    )
    return swollen


def _jar_grain(asked: HydrateQuestion, filled: FilledJar, draws: Mapping[str, Floats]) -> Band:
    if asked.fill.kind == "mass":
        return Band.exactly(filled.grain_kg)
    density: Floats = swelling.wet_bulk_density_kg_m3(asked.grain, asked.target, draws["wet void"])
    return band(filled.share * asked.jar.nominal_volume_m3 * density)


def _widest(
    asked: HydrateQuestion, dry_kg: float, inputs: list[Input]
) -> tuple[Input | None, dict[str, float]]:
    bed = ("wet void", "dry bulk density")
    weighing = ("dry moisture", "leached", "scale")
    in_question = [
        each
        for each in inputs
        if (each.name in weighing if asked.drained_kg is not None
            else each.name not in (*bed, "leached", "scale"))
    ]  # fmt: skip
    return widest(in_question, lambda draws: _at_fill(asked, dry_kg, draws), SCENARIOS)


def _vessel_l(asked: HydrateQuestion, dry_kg: float) -> float:
    dry_moisture, _ = _book(asked)
    kernels = dry_kg * (1 - dry_moisture)
    volume = kernels * float(swelling.kernel_volume_m3_kg(asked.grain, dry_moisture))
    return 1000 * (volume + dry_kg * soak.COVER_M3_KG)


def _trade_rule(asked: HydrateQuestion) -> tuple[TradeRule, ...]:
    dry_moisture, _ = _book(asked)
    return tuple(
        TradeRule(
            jars,
            fill,
            float(swelling.moisture_for_swelling(asked.grain, jars * fill, dry_moisture)),
        )
        for jars in (3.0, 3.5)
        for fill in (2 / 3, 3 / 4)
    )


def _from_drained(asked: HydrateQuestion, filled: FilledJar) -> float | None:
    return None if asked.drained_kg is None else asked.drained_kg / filled.grain_kg


def _check_drained(asked: HydrateQuestion, dry_kg: float) -> None:
    drained, (dry_moisture, leached) = asked.drained_kg or 0.0, _book(asked)
    _check_amount("The drained grain in kilograms", drained)
    found = float(moisture.moisture_by_weighing(dry_moisture, dry_kg, drained, leached))
    said = f"{written_mass(drained)} drained from {written_mass(dry_kg)} of dry grain"
    if found <= dry_moisture:
        raise Unusable(
            f"{said} would mean that it took up no water; check the tare of the bowl, and give "
            "the dry mass of just this grain with --dry."
        )
    if found > float(moisture.wet_basis(asked.grain.cooked_db)) + 0.05:
        raise Unusable(
            f"{said} would be {found:.0%} water, more than fully cooked grain holds; drain it, "
            "check the tare of the bowl, and give the dry mass of just this grain with --dry."
        )
