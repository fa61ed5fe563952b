"""Invented probe runs: jars that are solved on a finer grid than any fit looks at, and noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

from spawnwright.actions.catalogs import look_up
from spawnwright.model.heat.bed import Floats
from spawnwright.model.probe.curves import FINE
from spawnwright.model.probe.emulator import Emulator, emulator
from spawnwright.model.probe.fit import Fitter
from spawnwright.model.probe.noise import Binned, noise_at
from spawnwright.model.probe.prior import PROBE_OFFSET_K
from spawnwright.model.probe.setting import Columns, ProbeSetting
from spawnwright.records.fill import Fill
from spawnwright.records.probe import ProbeQuestion

AMBIENT_PA = 96_035.0  # at 450 m
GAUGE_PA = 103_421.0
START_C, END_S = 20.0, 150 * 60.0
EVERY_S = 60.0


def setting(way: str = "atmospheric", state: str = "unknown", **more) -> ProbeSetting:
    """A quart of rye, the jet after 15 min, pressure (in the canner) after 30."""
    question = ProbeQuestion(
        look_up("jars", "quart"), Fill("share", 0.7), look_up("grains", "rye"), way, AMBIENT_PA,
        gauge_pa=GAUGE_PA if way == "canner" else 0.0, grain_state=state, steam_after_s=900.0,
        pressure_after_s=1800.0 if way == "canner" else None, **more,
    )  # fmt: skip
    return ProbeSetting.of(question, START_C, END_S)


@dataclass(frozen=True)
class Run:
    """An invented run: what the grain has, and what the probe read, binned."""

    truth: dict[str, float]
    bins: Binned


def true_curves(of: ProbeSetting, way: str, values: dict[str, Floats]) -> Floats:
    """What probes would read without noise, on the fine grid, at the setting's instants."""
    return Columns.of(of, values).solve(way, values, FINE)


def with_noise(of: ProbeSetting, curve: Floats, generator: np.random.Generator) -> Binned:
    """Readings a minute apart, with an offset, scatter and drift drawn from their priors.

    Between the knots of the curve by a spline: straight lines would cut its bends by 0.3 K.
    """
    time = np.arange(EVERY_S, of.end_s + 1, EVERY_S)
    read = CubicSpline(of.time_s, curve)(time)
    read += float(PROBE_OFFSET_K) * generator.standard_normal()
    read += noise_at(*generator.standard_normal(3)).draw(time, generator)
    return Binned.of(time, read)


def invented(of: ProbeSetting, way: str, count: int, seed: int) -> list[Run]:
    """Runs whose every unknown, placement too, is drawn from its prior."""
    generator = np.random.default_rng(seed)
    values = of.values(way, of.draw(way, count, generator))
    curves = true_curves(of, way, values)
    return [
        Run({name: float(each[place]) for name, each in values.items()},
            with_noise(of, curves[place], generator))
        for place in range(count)
    ]  # fmt: skip


def fitter(of: ProbeSetting, way: str, made: Emulator | None = None) -> Fitter:
    """Fits such runs."""
    grid = with_noise(of, np.full_like(of.time_s, START_C), np.random.default_rng(0))
    return Fitter(made or emulator(of, way), grid.time_s, grid.counts)


def covers(values: Floats, truth: float, level: float = 0.95) -> bool:
    """Whether the middle of the draws holds the truth."""
    low, high = np.percentile(values, (50 * (1 - level), 100 - 50 * (1 - level)))
    return bool(low <= truth <= high)
