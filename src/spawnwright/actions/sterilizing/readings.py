"""What a logged temperature did: lethality, and survivors of one organism."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from spawnwright.model.ranges import check_range
from spawnwright.model.sterilizing import lethality as model
from spawnwright.model.sterilizing.survival import log10_reduction
from spawnwright.records.readings import ReadingChoices, Readings
from spawnwright.records.spore import Spore
from spawnwright.store import catalog
from spawnwright.store.logger_file import read_logger_file

Floats = NDArray[np.float64]

_NEAR_PEAK_C = 1.0
"""Readings further below the peak than this, after it, count as cooling."""


@dataclass(frozen=True)
class LethalityAnswer:
    """The lethality of a logged run, with what was read."""

    readings: Readings
    reference_c: float
    z_c: float
    rule: model.Rule
    curve_min: Floats
    peak_c: float
    minutes_above: float
    other_rule_min: float
    """The lethality by the rule that was not asked for."""
    cooling_min: float
    """The part gathered after the last reading within 1 °C of the peak."""
    reductions: tuple[SporeReduction, ...]

    @property
    def lethality_min(self) -> float:
        """The whole lethality."""
        return float(self.curve_min[-1])


@dataclass(frozen=True)
class SporeReduction:
    """What the run did to one published spore, with its own z."""

    spore: Spore
    log10_reduction: float


@dataclass(frozen=True)
class SurvivorsAnswer:
    """The log reduction of one organism over a logged run."""

    readings: Readings
    d_min: float
    z_c: float
    reference_c: float
    lethality_min: float
    """With the organism's own z."""
    log10_reduction: float
    peak_c: float


def lethality_of_log(
    path: Path,
    choices: ReadingChoices,
    *,
    reference_c: float = model.REFERENCE_C,
    z_c: float = model.Z_C,
    rule: model.Rule = "exact",
) -> LethalityAnswer:
    """Lethality of a logger file, from reading to reading.

    Raises
    ------
    BadFile
        If the file cannot be read; the text names the row, or the option that would decide.
    OutOfRange
        If reference or z is no value that lethality is reckoned with.
    """
    _check(reference_c, z_c)
    readings = read_logger_file(path, choices)
    time_s, temperature_c = readings.time_s, readings.temperature_c
    curve = model.lethality_curve_min(time_s, temperature_c, reference_c, z_c, rule)
    other: model.Rule = "trapezoid" if rule == "exact" else "exact"
    peak = float(np.max(temperature_c))
    last_hot = int(np.flatnonzero(temperature_c >= peak - _NEAR_PEAK_C)[-1])
    return LethalityAnswer(
        readings=readings,
        reference_c=float(reference_c),
        z_c=float(z_c),
        rule=rule,
        curve_min=curve,
        peak_c=peak,
        minutes_above=float(model.minutes_above(time_s, temperature_c, reference_c)),
        other_rule_min=float(model.lethality_min(time_s, temperature_c, reference_c, z_c, other)),
        cooling_min=float(curve[-1] - curve[last_hot]),
        reductions=_reductions(readings, rule),
    )


def survivors_of_log(
    path: Path,
    choices: ReadingChoices,
    *,
    d_min: float,
    z_c: float,
    reference_c: float = model.REFERENCE_C,
    rule: model.Rule = "exact",
) -> SurvivorsAnswer:
    """Log reduction of an organism with its own D and z over a logger file.

    Raises
    ------
    BadFile
        If the file cannot be read; the text names the row, or the option that would decide.
    OutOfRange
        If D, z or reference is no value that lethality is reckoned with.
    """
    _check(reference_c, z_c)
    check_range("D", d_min, 1e-9, 1e9, "min")
    readings = read_logger_file(path, choices)
    lethality = float(
        model.lethality_min(readings.time_s, readings.temperature_c, reference_c, z_c, rule)
    )
    return SurvivorsAnswer(
        readings=readings,
        d_min=d_min,
        z_c=z_c,
        reference_c=float(reference_c),
        lethality_min=lethality,
        log10_reduction=log10_reduction(lethality, d_min),
        peak_c=float(np.max(readings.temperature_c)),
    )


def _check(reference_c: float, z_c: float) -> None:
    check_range("The reference temperature", reference_c, 0.0, 200.0, "°C")
    check_range("z", z_c, 1.0, 100.0, "K")


def _reductions(readings: Readings, rule: model.Rule) -> tuple[SporeReduction, ...]:
    found = []
    for spore in catalog.catalog(Spore, "spores").values():
        minutes = model.lethality_min(
            readings.time_s, readings.temperature_c, model.REFERENCE_C, float(spore.z_c), rule
        )
        found.append(SporeReduction(spore, log10_reduction(float(minutes), float(spore.d_121_min))))
    return tuple(found)
