"""Forecast a jar on the shelf: when to shake it, when it is colonized, when it is ready."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, isfinite

import numpy as np

from spawnwright.errors import Contradiction, OutOfRange
from spawnwright.model.grain.fill import FilledJar, filled_jar
from spawnwright.model.grain.swelling import wet_bulk_density_kg_m3
from spawnwright.model.growing import colonization, growth
from spawnwright.model.growing.coverage import Cylinder, Pattern
from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Floats, Input, band, draw, widest
from spawnwright.records.band import Band
from spawnwright.records.fill import Fill
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.records.species import Species

SCENARIOS = 2000
SEED = 1  # of the simulated drops; another moves the ends of a band by 1 or 2 % of its width
LONGEST_CURVE_D, OPEN_CURVE_D = 180, 60
SHAKE_AT = 0.30  # the share that a shake is forecast for, unless that is too late for the species
WET_DOSE = 0.02  # of the jar's volume; ten times the usual dose
HOT_K = 2.0  # a shelf this close to the alarm is told

KEEP_SHUT = (
    "A jar with green, black or orange powder, slime or a sour smell stays shut: take it away "
    "from the others, sterilize it for a full cycle, its lid loosened only inside the canner, and "
    "empty it then."
)
DOUBT = "A jar in doubt is not shaken: it would spread what is in it."


@dataclass(frozen=True)
class ColonizeQuestion:
    """One kind of jar on one shelf.

    Left out: the usual dose, 5 to 50 drops apart to a milliliter, no shake.
    """

    species: Species
    jar: Jar
    fill: Fill
    grain: Grain
    temperature_c: float
    dose_m3: float | None = None
    pattern: Pattern = "spread"
    drops_per_ml: float | None = None
    starting_points: int | None = None
    shake_at: float | None = None
    """Share colonized at which the jar is shaken, above 0 and below 1."""


@dataclass(frozen=True)
class Curve:
    """Percent of the grain that is colonized, day by day."""

    day: tuple[int, ...]
    percent_low: tuple[float, ...]
    percent_likely: tuple[float, ...]
    percent_high: tuple[float, ...]


@dataclass(frozen=True)
class ColonizeAnswer:
    """Days count from inoculation; an infinite day means that it never comes."""

    days_to_colonized: Band
    """To the last corner; with the shake, if one was asked for."""
    shake_day: Band
    shake_share: float
    """The share that `shake_day` waits for."""
    ready_day: Band
    """The inside of the kernels too."""
    ready_percentiles: tuple[float, ...]
    """Days to ready at 1, 2 … 99 percent of the scenarios."""
    curve: Curve
    rate_mm_per_day: Band
    starting_points: Band
    filled: FilledJar
    widest_cause: str | None
    narrow_it_with: str
    inputs: tuple[Input, ...]
    width_left: dict[str, float]
    """For each input, the share of the width that would be left if it were known."""
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


def colonize(question: ColonizeQuestion) -> ColonizeAnswer:
    """Forecast the days of a jar, with what makes them uncertain.

    Raises `OutOfRange` or another `Unusable` for a dose, share, temperature or fill that no jar
    has.
    """
    asked, species = question, question.species
    check_range("The temperature", asked.temperature_c, growth.LOWEST_C, growth.HIGHEST_C, "°C")
    bulk = float(wet_bulk_density_kg_m3(asked.grain, float(colonization.SOAKED_MOISTURE)))
    filled = filled_jar(asked.jar, asked.fill, bulk)
    bed = Cylinder(float(asked.jar.inner_radius_m), filled.depth_m)
    usual = colonization.usual_dose_m3(asked.jar.nominal_volume_m3)
    dose = usual if asked.dose_m3 is None else asked.dose_m3
    if dose >= asked.jar.nominal_volume_m3:
        raise Contradiction(
            f"A dose of {dose * 1e6:.0f} mL is more than the jar holds; the usual one is "
            f"{usual * 1e6:.1f} mL."
        )
    points = colonization.points_input(dose, asked.drops_per_ml, asked.starting_points)
    table = colonization.reach_table(bed, asked.pattern, points, np.random.default_rng(SEED))
    shake = _shake(asked, bed)
    inputs = colonization.colonization_inputs(species, points, asked.temperature_c, shake)
    draws = draw(inputs, SCENARIOS)
    share = _usual_share(species) if asked.shake_at is None else asked.shake_at
    to_end = colonization.days_to_colonized(draws, table, shake)
    colonized = colonization.days_band(to_end)
    ready = to_end + draws["days for the inside"]
    cause, left = _widest(inputs, table, shake, bool(np.any(np.isfinite(to_end))))
    return ColonizeAnswer(
        days_to_colonized=colonized,
        shake_day=colonization.days_band(colonization.days_to_share(draws, table, share)),
        shake_share=share,
        ready_day=colonization.days_band(ready),
        ready_percentiles=tuple(np.percentile(ready, range(1, 100), method="higher").tolist()),
        curve=_curve(draws, table, shake, colonized),
        rate_mm_per_day=band(growth.drawn_rate(draws, draws["shelf temperature"])),
        starting_points=band(draws["starting points"]),
        filled=filled,
        widest_cause=cause.name if cause else None,
        narrow_it_with=cause.narrow_with if cause else "",
        inputs=tuple(inputs),
        width_left=left,
        notes=_notes(asked, filled, share, colonized, dose),
        cautions=(DOUBT, KEEP_SHUT),
    )


def _usual_share(species: Species) -> float:
    if species.shake_from <= SHAKE_AT <= species.shake_until:
        return SHAKE_AT
    return (species.shake_from + species.shake_until) / 2


def _shake(asked: ColonizeQuestion, bed: Cylinder) -> colonization.Shake | None:
    if asked.shake_at is None:
        return None
    if not 0.01 <= asked.shake_at <= 0.99:
        raise OutOfRange("The share at which the jar is shaken", asked.shake_at, 0.01, 0.99, "")
    kernels = colonization.kernels_input(asked.grain, bed.volume)
    return colonization.Shake(asked.shake_at, kernels, bed)


def _widest(
    inputs: list[Input],
    table: colonization.ReachTable,
    shake: colonization.Shake | None,
    grows: bool,
) -> tuple[Input | None, dict[str, float]]:
    if not grows:
        return None, {}

    def days(draws: Mapping[str, Floats]) -> Floats:
        found = colonization.days_to_colonized(draws, table, shake)
        return np.minimum(found, colonization.NEVER_D)

    in_question = [each for each in inputs if each.name != "days for the inside"]
    return widest(in_question, days, SCENARIOS)


def _curve(
    draws: Mapping[str, Floats],
    table: colonization.ReachTable,
    shake: colonization.Shake | None,
    colonized: Band,
) -> Curve:
    ends = [
        each for each in (colonized.high, 1.5 * colonized.likely, OPEN_CURVE_D) if isfinite(each)
    ]
    last = min(ceil(ends[0]), LONGEST_CURVE_D)
    days = np.unique(np.append(np.arange(0, last, max(1, last // 120)), last))
    percent = 100 * colonization.covered(draws, table, days.astype(float), shake)
    low, likely, high = np.percentile(percent, (5, 50, 95), axis=1)
    return Curve(*(tuple(each.tolist()) for each in (days, low, likely, high)))


def _notes(
    asked: ColonizeQuestion, filled: FilledJar, share: float, colonized: Band, dose_m3: float
) -> tuple[str, ...]:
    species, notes = asked.species, []
    name, at = species.common, asked.temperature_c
    if not isfinite(colonized.low):
        notes.append(
            f"{name} does not grow at {at:g} °C: it grows from about {species.tmin_c:g} to "
            f"{species.tmax_c:g} °C, best at {species.topt_c:g}."
        )
    elif not isfinite(colonized.high):
        notes.append(
            f"At {at:g} °C it is not sure that {name} grows at all; a warmer shelf is. It is best "
            f"at about {species.topt_c:g} °C."
        )
    if at >= species.alarm_c - HOT_K:
        notes.append(
            f"{at:g} °C is hot for {name}: {species.alarm_c:g} °C inside a jar, kept up, harms it "
            "and helps molds, and growing jars are warmer than their shelf."
        )
    if share > species.shake_until:
        notes.append(f"Shaking past {species.shake_until:.0%} costs {name} more than it gives.")
    if asked.shake_at is None and share < SHAKE_AT:
        notes.append(f"{name} is shaken earlier than others, if at all.")
    if dose_m3 > WET_DOSE * asked.jar.nominal_volume_m3:
        notes.append(f"{dose_m3 * 1e6:.0f} mL makes the grain wet, which bacteria like.")
    if filled.is_hard_to_shake:
        notes.append("A jar more than three quarters full is hard to shake.")
    if species.looks_like_trouble:
        notes.append(f"Normal for {name}: {species.looks_like_trouble}")
    return tuple(note[0].upper() + note[1:] for note in notes)
