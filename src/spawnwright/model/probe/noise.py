"""The noise of a probe's readings: scatter from reading to reading, and drift over minutes.

Neighboring readings err alike, so that hundreds of readings are not hundreds of facts. What the
noise is like is not known beforehand; a fit sums over what it may be.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from spawnwright.model.heat.bed import Floats
from spawnwright.sources import JUDGMENT, Estimate

WHITE_K = Estimate(
    0.12, "K", low=0.03, high=0.5, source=JUDGMENT,
    where="scatter from reading to reading: resolution and noise of cheap loggers",
)  # fmt: skip
DRIFT_K = Estimate(
    0.4, "K", low=0.13, high=1.2, source=JUDGMENT,
    where="wander over minutes: draughts of steam, contact, what the model leaves out; one sd",
)  # fmt: skip
DRIFT_S = Estimate(
    480.0, "s", low=150.0, high=1500.0, source=JUDGMENT, where="how long such a wander lasts"
)
_NINETY_FIVE = 1.6448536269514722
_MOST_BINS = 48
_FEW = ((WHITE_K, 1.6, 3), (DRIFT_K, 2.0, 4), (DRIFT_S, 0.8, 2))
_ALL = ((WHITE_K, 2.2, 8), (DRIFT_K, 2.6, 12), (DRIFT_S, 2.0, 5))


@dataclass(frozen=True)
class Noise:
    """Scatter of single readings and drift over minutes: sd [K], correlation time [s].

    `mass` is the natural logarithm of its prior chance.
    """

    white_k: float
    drift_k: float
    drift_s: float
    mass: float = 0.0

    def covariance(self, time_s: Floats, counts: Floats) -> Floats:
        """Of means of `counts` evenly spaced readings about instants, (means, means) [K²].

        A mean wanders less than a reading does, and means wander more alike: taken as single
        readings they would look like a longer drift, with too little of it within half an hour.
        """
        step = reading_step_s(time_s, counts) / self.drift_s
        apart = np.abs(time_s[:, None] - time_s) / self.drift_s
        shared = np.sinh(counts * step / 2) / (counts * np.sinh(step / 2))
        alike = np.exp(-apart) * shared[:, None] * shared
        by_count = {n: _within(int(n), step) for n in np.unique(counts)}
        np.fill_diagonal(alike, [by_count[n] for n in counts])
        return np.asarray(self.drift_k**2 * alike + np.diag(self.white_k**2 / counts))

    def draw(self, time_s: Floats, generator: np.random.Generator) -> Floats:
        """One draw of the noise of single readings at instants [K]; dice are handed in."""
        covariance = self.covariance(time_s, np.ones_like(time_s))
        root = np.linalg.cholesky(covariance + 1e-10 * np.eye(time_s.size))
        return np.asarray(root @ generator.standard_normal(time_s.size))


def reading_step_s(time_s: Floats, counts: Floats) -> float:
    """Time from reading to reading of means of `counts` readings about instants [s]."""
    return float(np.median(2 * np.diff(time_s) / (counts[1:] + counts[:-1])))


def bends(curves_c: Floats, time_s: Floats, counts: Floats) -> Floats:
    """What means of `counts` readings lie above a curve at their instants, (curves, times) [K].

    Where a curve bends its mean is not its middle: by half its second derivative times the
    variance of the readings' instants.
    """
    before, after = np.diff(time_s)[:-1], np.diff(time_s)[1:]
    slope = np.diff(curves_c, axis=1) / np.diff(time_s)
    second = 2 * np.diff(slope, axis=1) / (before + after)
    variance = reading_step_s(time_s, counts) ** 2 * (counts[1:-1] ** 2 - 1) / 12
    return np.pad(second * variance / 2, ((0, 0), (1, 1)))


def _within(count: int, step: float) -> float:
    """Variance of the mean of readings, each `step` correlation times from the last [-]."""
    lag = np.arange(1, count)
    return float(1 + 2 * ((1 - lag / count) * np.exp(-lag * step)).sum()) / count


def noise_at(white: float, drift: float, lasting: float) -> Noise:
    """The noise at standard normal scores of its three numbers [-]."""
    scores = (white, drift, lasting)
    numbers = (WHITE_K, DRIFT_K, DRIFT_S)
    return Noise(*(_at(each, score) for each, score in zip(numbers, scores, strict=True)))


@cache
def noises(*, few: bool = False) -> tuple[Noise, ...]:
    """All noises that a fit sums over, or a few that are tried first."""
    axes = []
    for number, reach, count in _FEW if few else _ALL:
        score = np.linspace(-reach, reach, count)
        mass = -0.5 * score**2
        mass -= np.log(np.exp(mass).sum())
        axes.append([(_at(number, s), float(m)) for s, m in zip(score, mass, strict=True)])
    return tuple(
        Noise(white, drift, lasting, a + b + c)
        for white, a in axes[0] for drift, b in axes[1] for lasting, c in axes[2]
    )  # fmt: skip


def _at(number: Estimate, score: float) -> float:
    end = number.high if score > 0 else number.low
    return float(number * (end / number) ** (abs(score) / _NINETY_FIVE))


@dataclass(frozen=True)
class Binned:
    """Readings averaged over short times, each array (bins,)."""

    time_s: Floats
    temperature_c: Floats
    counts: Floats

    @classmethod
    def of(cls, time_s: Floats, temperature_c: Floats) -> Binned:
        """At most 48 means of neighboring readings; fewer readings stay as they are."""
        if time_s.size <= _MOST_BINS:
            return cls(time_s, temperature_c, np.ones_like(time_s))
        edges = np.linspace(time_s[0], time_s[-1], _MOST_BINS + 1)
        place = np.clip(np.searchsorted(edges, time_s, side="right") - 1, 0, _MOST_BINS - 1)
        counts = np.bincount(place, minlength=_MOST_BINS)
        kept = counts > 0
        sums = (np.bincount(place, each, _MOST_BINS)[kept] for each in (time_s, temperature_c))
        time, temperature = (each / counts[kept] for each in sums)
        return cls(time, temperature, counts[kept].astype(float))
