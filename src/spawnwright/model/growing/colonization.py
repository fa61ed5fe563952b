"""When a jar is colonized: growth at one speed from the places where the drops came to lie.

Pure functions; days, mm/day, meters. A scenario is one jar: so many drops, in such places, on
such a shelf, with such a strain. Nothing here slows growth that real jars meet, such as wet or
stale grain and tired cultures, and nothing warms a jar above its shelf; the lag takes up the
time until growth shows. It errs to the early side for wet jars and to the late side for crowded,
warm ones. Range, checks and open questions: docs/models/colonization.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, floor, pi

import numpy as np

from spawnwright.model.grain.swelling import bed_volume_m3_kg
from spawnwright.model.growing.coverage import Cylinder, Pattern, last_corner_of_many, reach
from spawnwright.model.growing.growth import HIGHEST_C, LOWEST_C, drawn_rate, rate_inputs
from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Floats, Input, band
from spawnwright.records.band import Band
from spawnwright.records.grain import Grain
from spawnwright.records.species import Species
from spawnwright.sources import COMMON, JUDGMENT, Constant, Estimate

MILLIMETERS, MILLILITERS = 1e3, 1e6  # in a meter, in a cubic meter
NEVER_D = 3650.0  # what takes longer is told as never

DROPS_PER_ML = Estimate(
    20.0, "1/mL", low=5.0, high=50.0, source=JUDGMENT, where="drops that lie apart; a guess"
)
DOSE_SHARE = Constant(
    2e-3, "-", source=COMMON, where="liquid culture for one jar: 2 mL to a liter of jar"
)
LEAST_DOSE_M3 = Constant(1e-6, "m³", source=COMMON, where="at least 1 mL to a jar")
RECOVERY_D = Estimate(
    1.5, "d", low=1.0, high=2.0, source=COMMON, where="standstill after a shake, 1-2 days"
)
SHELF_K = Constant(
    1.0, "K", source=JUDGMENT, where="a shelf's mean against what was read there, 5 to 95 %"
)
BOUGHT_MOISTURE = Constant(0.12, "-", source=COMMON, where="of grain as bought, wet basis")
SOAKED_MOISTURE = Constant(0.48, "-", source=COMMON, where="of grain in the jar, wet basis")

SHARES: Floats = np.linspace(0.0, 1.0, 101)
_JARS, _LADDER = 48, 8


@dataclass(frozen=True)
class ReachTable:
    """How far growth must reach in one kind of jar, over numbers of points, luck and share."""

    counts: tuple[int, ...]
    distance_m: Floats
    """Shape (jars, counts, shares); shares are `SHARES`."""

    def at(self, points: Floats, luck: Floats, share: float) -> Floats:
        """Distances to cover a share, for each number of points and luck, shape (count,) [m]."""
        place = share * (len(SHARES) - 1)
        low = min(floor(place), len(SHARES) - 2)
        both = [self._column(points, luck, each) for each in (low, low + 1)]
        return both[0] + (place - low) * (both[1] - both[0])

    def profiles(self, points: Floats, luck: Floats) -> Floats:
        """Distances to cover each of `SHARES`, shape (count, shares) [m]."""
        return np.stack([self._column(points, luck, each) for each in range(len(SHARES))], axis=1)

    def _column(self, points: Floats, luck: Floats, column: int) -> Floats:
        slab = self.distance_m[:, :, column]
        jar, of_jar = _between(luck * len(slab) - 0.5, len(slab))
        steps = np.interp(np.log(points), np.log(self.counts), np.arange(len(self.counts)))
        count, of_count = _between(steps, len(self.counts))
        jar_up, count_up = (
            np.minimum(jar + 1, len(slab) - 1),
            np.minimum(count + 1, slab.shape[1] - 1),
        )
        lucky = slab[jar, count] + of_count * (slab[jar, count_up] - slab[jar, count])
        less = slab[jar_up, count] + of_count * (slab[jar_up, count_up] - slab[jar_up, count])
        return np.asarray(lucky + of_jar * (less - lucky))


@dataclass(frozen=True)
class Shake:
    """One shake, as deep mixing: every colonized kernel is a new starting point."""

    share: float
    """Share colonized when it is shaken, between 0 and 1."""
    kernels: Input
    """Kernels in the jar."""
    bed: Cylinder


def usual_dose_m3(nominal_volume_m3: float) -> float:
    """Liquid culture for one jar, by common practice [m³]."""
    return max(float(LEAST_DOSE_M3), DOSE_SHARE * nominal_volume_m3)


def points_input(
    dose_m3: float, drops_per_ml: float | None = None, starting_points: int | None = None
) -> Input:
    """Starting points in a jar: counted, or drops in the dose.

    Parameters
    ----------
    dose_m3 : float
        Liquid culture for the jar [m³].
    drops_per_ml : float, optional
        Drops that lie apart; left out, 5 to 50 [1/mL].
    starting_points : int, optional
        Points as counted in a jar; the dose does not matter then [-].

    Returns
    -------
    Input
        Named "starting points"; at least one.
    """
    name, ml = "starting points", dose_m3 * MILLILITERS
    if starting_points is not None:
        check_range("The number of starting points", starting_points, 1, 1e5, "")
        return Input.fixed(name, float(starting_points), "-")
    check_range("The dose", ml, 1e-3, 1e4, "mL")
    if drops_per_ml is not None:
        check_range("The number of drops", drops_per_ml, 0.01, 1e4, "per mL")
        return Input.fixed(name, max(1.0, ml * drops_per_ml), "-", "dose times the given drops")
    return Input(
        name, "lognormal", max(1.0, ml * DROPS_PER_ML), max(1.0, ml * DROPS_PER_ML.low),
        max(1.0, ml * DROPS_PER_ML.high), "-", f"{JUDGMENT}: dose times {DROPS_PER_ML.where}",
        "counting the separate white spots in one jar when they first show (--starting-points)",
        cut=(1.0, 1e5),
    )  # fmt: skip


def kernels_input(grain: Grain, bed_volume_m3: float) -> Input:
    """Kernels in a bed of wet grain, from the mass of one and the swelling."""
    dry_kg = bed_volume_m3 / float(bed_volume_m3_kg(grain, float(SOAKED_MOISTURE)))
    of_one = grain.kernel_mass_kg
    low, high = getattr(of_one, "high", of_one), getattr(of_one, "low", of_one)
    likely, few, many = (
        dry_kg / (float(each) * (1 - BOUGHT_MOISTURE)) for each in (of_one, low, high)
    )
    source = f"{of_one.source}: {of_one.where}; in wet grain of {SOAKED_MOISTURE:.0%}"
    if few == many:
        return Input.fixed("kernels in the jar", likely, "-", source)
    return Input(
        "kernels in the jar", "lognormal", likely, few, many, "-", source,
        "weighing a hundred dry kernels",
    )  # fmt: skip


def colonization_inputs(
    species: Species, points: Input, temperature_c: float, shake: Shake | None = None
) -> list[Input]:
    """Everything uncertain about the day a jar is colonized and ready."""
    shelf = Input(
        "shelf temperature", "normal", temperature_c, temperature_c - SHELF_K,
        temperature_c + SHELF_K, "°C", f"{JUDGMENT}: {SHELF_K.where}",
        "a thermometer with a memory between the jars, for three days",
        cut=(LOWEST_C, HIGHEST_C),
    )  # fmt: skip
    luck = Input(
        "where the drops lie", "uniform", 0.5, 0.05, 0.95, "-",
        f"{JUDGMENT}: chance; from the luckiest jar to the unluckiest",
        "inoculating at several places and rolling the jar: it cannot be known, but made narrower",
    )  # fmt: skip
    inputs = [
        *rate_inputs(species),
        Input.of("lag", species.lag_days, "lognormal", narrow_with="the day growth is first seen"),
        points,
        luck,
        shelf,
        Input.of(
            "days for the inside", species.inside_days, "lognormal",
            narrow_with="breaking a few kernels of one ready jar, day by day",
        ),
    ]  # fmt: skip
    if shake is not None:
        recovery = Input.of(
            "standstill after the shake", RECOVERY_D, "normal", cut=(0.0, 10.0),
            narrow_with="the day growth is seen again after the shake",
        )  # fmt: skip
        inputs += [recovery, shake.kernels]
    return inputs


def reach_table(
    bed: Cylinder, pattern: Pattern, points: Input, generator: np.random.Generator
) -> ReachTable:
    """Reaches in simulated jars, over the numbers of points that `points` may have.

    Parameters
    ----------
    bed : Cylinder
        The grain; radius and height [m].
    pattern : str
        As in `coverage.starting_points`.
    points : Input
        From `points_input`.
    generator : numpy.random.Generator
        Where the chance comes from; the same one gives the same table.

    Returns
    -------
    ReachTable
        Of 48 jars at up to eight numbers of points; beyond the middle 99 % of these it is flat.
    """
    few, many = points.at(np.array([0.005, 0.995]))
    ladder = np.unique(np.rint(np.geomspace(floor(few), ceil(many), _LADDER)).astype(int))
    counts = tuple(int(each) for each in (ladder if points.shape != "fixed" else {round(few)}))
    jars = _JARS if counts[-1] <= 1000 else 12
    return ReachTable(counts, reach(pattern, bed, counts, SHARES, generator.spawn(jars)))


def days_to_share(draws: Mapping[str, Floats], table: ReachTable, share: float) -> Floats:
    """Days from inoculation until a share of the bed is colonized, unshaken, shape (count,) [d].

    Jars on which nothing grows get infinity.
    """
    distance = table.at(draws["starting points"], draws["where the drops lie"], share)
    return draws["lag"] + _days(distance, drawn_rate(draws, draws["shelf temperature"]))


def days_to_colonized(
    draws: Mapping[str, Floats], table: ReachTable, shake: Shake | None = None
) -> Floats:
    """Days from inoculation to the last corner, shape (count,) [d].

    After a shake the rest is reached from every colonized kernel, once growth has recovered.
    """
    if shake is None:
        return days_to_share(draws, table, 1.0)
    seeds = np.maximum(3.0, shake.share * draws["kernels in the jar"])
    distance = last_corner_of_many(shake.bed.volume, shake.bed.surface, seeds)
    rate = drawn_rate(draws, draws["shelf temperature"])
    shaken = days_to_share(draws, table, shake.share)
    return shaken + draws["standstill after the shake"] + _days(distance, rate)


def covered(
    draws: Mapping[str, Floats], table: ReachTable, day: Floats, shake: Shake | None = None
) -> Floats:
    """Share of the bed colonized on each day, shape (days, count) [-]."""
    rate = drawn_rate(draws, draws["shelf temperature"]) / MILLIMETERS
    profiles = table.profiles(draws["starting points"], draws["where the drops lie"])
    out = np.stack(
        [_share_within(profiles, rate * np.maximum(each - draws["lag"], 0.0)) for each in day]
    )
    if shake is None:
        return out
    shaken = days_to_share(draws, table, shake.share)
    done = days_to_colonized(draws, table, shake)
    resumed = shaken + draws["standstill after the shake"]
    density = shake.share * draws["kernels in the jar"] / shake.bed.volume
    for place, each in enumerate(day):
        grown = rate * np.maximum(np.where(np.isfinite(resumed), each - resumed, 0.0), 0.0)
        after = 1 - (1 - shake.share) * np.exp(-density * 4 / 3 * pi * grown**3)
        mixed = np.where(each >= done, 1.0, after)
        out[place] = np.where(each >= shaken, mixed, np.minimum(out[place], shake.share))
    return out


def days_band(days: Floats) -> Band:
    """Band of a number of days, shape (count,) [d]; beyond ten years it is infinite."""
    found = band(np.minimum(days, 2 * NEVER_D))
    return Band(
        *(np.inf if each > NEVER_D else each for each in (found.low, found.likely, found.high))
    )


def _days(distance_m: Floats, rate_mm_per_day: Floats) -> Floats:
    grows = rate_mm_per_day > 0
    return np.where(grows, distance_m * MILLIMETERS / np.where(grows, rate_mm_per_day, 1.0), np.inf)


def _between(place: Floats, count: int) -> tuple[np.ndarray[tuple[int], np.dtype[np.intp]], Floats]:
    kept = np.clip(place, 0.0, count - 1.0)
    low = np.floor(kept).astype(np.intp)
    return low, kept - low


def _share_within(profiles: Floats, grown: Floats) -> Floats:
    """Share of each scenario's bed that lies within `grown` of a starting point."""
    passed = (profiles <= grown[:, None]).sum(axis=1)
    row = np.arange(len(grown))
    low, high = np.maximum(passed - 1, 0), np.minimum(passed, len(SHARES) - 1)
    start, end = profiles[row, low], profiles[row, high]
    part = np.where(end > start, (grown - start) / np.where(end > start, end - start, 1.0), 0.0)
    share = SHARES[low] + np.clip(part, 0.0, 1.0) * (SHARES[high] - SHARES[low])
    return np.where(passed == 0, 0.0, share)
