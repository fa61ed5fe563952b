"""The fit of a probe run: which transports the readings allow, and how surely.

Readings = emulator (transport, jar, placement, vessel) + offset + noise. All unknowns are standard
normal scores. A climb from the nearest draws of a bank finds the likeliest point, and from there
`sampling.py` draws the posterior. The noise, the sensor's offset and the emulator's own error are
summed over in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import partial

import numpy as np
from numpy.typing import NDArray

from spawnwright.model.heat.bed import Floats
from spawnwright.model.probe.clouds import Cloud
from spawnwright.model.probe.emulator import LEVELS, Emulator
from spawnwright.model.probe.noise import Binned, Noise, bends, noises
from spawnwright.model.probe.prior import PROBE_OFFSET_K
from spawnwright.model.probe.sampling import Draws, Problem, log_sum, sampled, systematic, worth
from spawnwright.model.probe.setting import COORDINATES

DRAWS = 2000
_BANK, _NEAREST = 4000, 200
ENOUGH = 2000.0
_WORTH_KEEPING = 4.0  # log units below the likeliest noise
_REACH = 0.5  # scores; how far a slope looks that is to hold for a whole posterior
_STEPS, _PROBE, _GAIN = 8, 0.05, 0.02  # of the climb: how many, how far a slope looks, the least
_DAMPINGS = np.array([0.05, 1.0, 20.0])
_TRANSPORT_HOLD = 0.5
_WITHIN, _FARTHEST = 1.9, 5.0  # scores: a transport's range ends at 2
_LEAST_STEEP_K = 0.05
_HALF_LOG_TWO_PI = 0.5 * float(np.log(2 * np.pi))


@dataclass(frozen=True)
class Posterior:
    """What one way in which heat moves makes of a run.

    `log_evidence` is the natural logarithm of the chance of the readings; `scores` are draws of
    all unknowns, (draws, names), equally likely; `values` the same in their units. `curve_c` is
    the likeliest curve at the readings' instants, the sensor's offset in it, and `residual_k` the
    readings less that curve; `noise` is the likeliest noise, `effective_draws` how many independent
    draws these are worth.
    """

    way: str
    log_evidence: float
    scores: Floats
    values: dict[str, Floats]
    log_times: Floats
    curve_c: Floats
    offset_k: float
    residual_k: Floats
    noise: Noise
    effective_draws: float


@dataclass
class Fitter:
    """Fits runs that share an emulator, their instants [s] and counts of readings."""

    emulator: Emulator
    time_s: Floats
    counts: Floats
    _bank: tuple[Floats, Floats] | None = field(default=None, repr=False)

    def fit(self, temperature_c: Floats, generator: np.random.Generator) -> Posterior:
        """The posterior of one run from its binned readings [°C]; the dice are handed in."""
        setting, way = self.emulator.setting, self.emulator.way
        searched, straight = setting.parts(way)
        bank = self._drawn(searched, generator)
        scores, curves = self._nearest(temperature_c, bank, searched)
        readings = (self.emulator, self.time_s, self.counts, temperature_c)
        few = _Likelihood(*readings, curves[0], noises(few=True))
        found = few(curves)
        best = np.argmax(found.max(axis=0) + setting.log_prior(way, scores))
        mode = self._climbed(scores[best], few, int(np.argmax(found[:, best])))
        near = self.curves(mode.middle[None])[0]
        chances = _Likelihood(*readings, near, ()).worthwhile(*self._slope(mode.middle, near))
        kept = _Likelihood(*readings, near, chances)
        likeliest = int(np.argmax(kept(near[None])[:, 0]))
        problem = Problem(
            temperature_c, searched, straight, self.curves, partial(setting.log_prior, way), kept,
            kept.whiteners[likeliest][0], self._straight_slope(mode.middle, straight),
        )  # fmt: skip
        spread = (mode.root.T @ mode.root)[np.ix_(searched, searched)]
        start = Cloud(mode.middle[searched], np.asarray(np.linalg.cholesky(spread).T))
        drawn = sampled(problem, bank, start, ENOUGH, generator)
        return self._posterior(drawn, kept, temperature_c, generator)

    def curves(self, scores: Floats) -> Floats:
        """What the means of readings would be for scores, (columns, times) [°C]."""
        found = self.emulator.curves(scores, self.time_s)
        return found + bends(found, self.time_s, self.counts)

    def _slope(self, scores: Floats, near_c: Floats) -> tuple[Floats, Floats]:
        """What each unknown's own spread changes, (names, times) [K], and scores in spreads [-]."""
        spread = np.ones(scores.size)
        spread[: len(COORDINATES[self.emulator.way])] = _TRANSPORT_HOLD**-0.5
        moved = self.curves(scores + _PROBE * np.eye(scores.size))
        return spread[:, None] * (moved - near_c) / _PROBE, scores / spread

    def _straight_slope(self, scores: Floats, straight: NDArray[np.intp]) -> Floats:
        """What straight scores change in a curve, (straight, times) [K], near the likeliest one."""
        at = scores.copy()
        at[straight] = 0.0
        step = _REACH * np.eye(scores.size)[straight]
        return (self.curves(at + step) - self.curves(at - step)) / (2 * _REACH)

    def _climbed(self, start: Floats, likelihood: _Likelihood, noise: int) -> Cloud:
        """The likeliest scores from a start, and the shape of the posterior about them.

        Damped Gauss-Newton steps; a transport's score counts as one with a wide normal prior.
        """
        size, whitener = start.size, likelihood.whiteners[noise][0]
        own = len(COORDINATES[self.emulator.way])
        hold, most = np.ones(size), np.full(size, _FARTHEST)
        hold[:own], most[:own] = _TRANSPORT_HOLD, _WITHIN
        place, damping = start, 0.3

        def seen(each: Floats) -> Floats:
            return self.curves(each) @ whitener

        readings = likelihood.temperature_c @ whitener
        for _ in range(_STEPS):
            moved = seen(np.concatenate([place + _PROBE * np.eye(size), place[None]]))
            slope = (moved[:-1] - moved[-1]) / _PROBE
            left = readings - moved[-1]
            cost = left @ left + hold @ place**2
            information = slope @ slope.T + np.diag(hold)
            downhill = slope @ left - hold * place
            trials = np.array([
                place + np.clip(np.linalg.solve(
                    information + each * np.diag(np.diagonal(information)), downhill), -1.5, 1.5)
                for each in damping * _DAMPINGS
            ])  # fmt: skip
            trials = np.clip(trials, -most, most)
            costs = ((readings - seen(trials)) ** 2).sum(axis=1) + trials**2 @ hold
            chosen = int(np.argmin(costs))
            if costs[chosen] >= cost - _GAIN:
                break
            place, damping = trials[chosen], max(damping * _DAMPINGS[chosen], 1e-3)
        return Cloud(place, np.linalg.inv(np.linalg.cholesky(information)))

    def _drawn(
        self, searched: NDArray[np.intp], generator: np.random.Generator
    ) -> tuple[Floats, Floats]:
        """Searched scores drawn from the prior, and their curves without any other; drawn once."""
        if self._bank is None:
            setting, way = self.emulator.setting, self.emulator.way
            scores = setting.draw(way, _BANK, generator)
            points = scores[:, searched]
            self._bank = points, self.curves(_only(points, searched, scores.shape[1]))
        return self._bank

    def _nearest(
        self, temperature_c: Floats, bank: tuple[Floats, Floats], searched: NDArray[np.intp]
    ) -> tuple[Floats, Floats]:
        """All scores of those of the bank that are nearest to the readings, and curves."""
        points, curves = bank
        left = temperature_c - curves
        misfit = (left**2).mean(axis=1) - left.mean(axis=1) ** 2 / 2
        order = np.argsort(misfit)[:_NEAREST]
        size = len(self.emulator.setting.names(self.emulator.way))
        return _only(points[order], searched, size), curves[order]

    def _posterior(
        self,
        drawn: Draws,
        likelihood: _Likelihood,
        temperature_c: Floats,
        generator: np.random.Generator,
    ) -> Posterior:
        scores, log_weight, emulator = drawn.scores, drawn.log_weight, self.emulator
        top = float(log_weight.max())
        weight = np.exp(log_weight - top)
        chosen = scores[systematic(weight, DRAWS, generator)]
        found = log_sum(drawn.by_noise)
        noise = likelihood.noises[int(np.argmax(np.exp(drawn.by_noise - found) @ weight))]
        likeliest = int(np.argmax(found + emulator.setting.log_prior(emulator.way, scores)))
        curve = self.curves(scores[[likeliest]])[0]
        offset, residual = likelihood.taken_apart(temperature_c - curve, noise)
        return Posterior(
            emulator.way,
            top + float(np.log(weight.mean())),
            chosen,
            emulator.setting.values(emulator.way, chosen),
            emulator.log_times_of(chosen),
            temperature_c - residual,
            offset,
            residual,
            noise,
            worth(log_weight),
        )


def _only(points: Floats, places: NDArray[np.intp], size: int) -> Floats:
    """Scores (points, size) that are nothing but at some places."""
    found = np.zeros((len(points), size))
    found[:, places] = points
    return found


@dataclass
class _Likelihood:
    """Log likelihoods of curves by noise, (noises, curves): offset and emulator summed over."""

    emulator: Emulator
    time_s: Floats
    counts: Floats
    temperature_c: Floats
    near_c: Floats
    """A curve near to the readings: how steep it is says what the emulator's error costs."""
    noises: tuple[Noise, ...]

    def __post_init__(self) -> None:
        shared = float(PROBE_OFFSET_K) ** 2 + self._of_emulator()
        self.whiteners = []
        for noise in self.noises:
            root = np.linalg.cholesky(noise.covariance(self.time_s, self.counts) + shared)
            constant = noise.mass - float(np.log(np.diagonal(root)).sum())
            constant -= self.time_s.size * _HALF_LOG_TWO_PI
            self.whiteners.append((np.linalg.inv(root).T, constant))

    def __call__(self, curves_c: Floats) -> Floats:
        left = self.temperature_c - curves_c
        return np.array([
            constant - 0.5 * ((left @ whitener) ** 2).sum(axis=1)
            for whitener, constant in self.whiteners
        ])  # fmt: skip

    def worthwhile(self, slope: Floats, place: Floats) -> tuple[Noise, ...]:
        """Of all noises those that no curve about the near one speaks against.

        The near curve is the likeliest: it has taken for itself what noise it could, and alone
        would speak for too little noise. So all unknowns are summed over, as if curves were
        straight in them: by the slope (names, times) [K] at the near curve's place [spreads].
        """
        every = noises()
        shared = float(PROBE_OFFSET_K) ** 2 + self._of_emulator() + slope.T @ slope
        covariances = np.stack([
            each.covariance(self.time_s, self.counts) + shared for each in every
        ])  # fmt: skip
        left = self.temperature_c - self.near_c + place @ slope
        solved = np.linalg.solve(
            covariances, np.broadcast_to(left, covariances.shape[:2])[..., None]
        )
        found = -0.5 * (solved[..., 0] @ left + np.linalg.slogdet(covariances)[1])
        found += np.array([each.mass for each in every])
        return tuple(
            noise
            for noise, each in zip(every, found, strict=True)
            if each > found.max() - _WORTH_KEEPING
        )

    def taken_apart(self, left_k: Floats, noise: Noise) -> tuple[float, Floats]:
        """What a curve leaves of the readings: the sensor's offset, and noise [K].

        The rest is the emulator's own error; each part is its mean given the whole.
        """
        own = noise.covariance(self.time_s, self.counts)
        offset_variance = float(PROBE_OFFSET_K) ** 2
        solved = np.linalg.solve(own + offset_variance + self._of_emulator(), left_k)
        return float(offset_variance * solved.sum()), np.asarray(own @ solved)

    def _of_emulator(self) -> Floats:
        """Covariance of readings from errors of the emulator's times, (times, times) [K²]."""
        setting, curve = self.emulator.setting, self.near_c
        share = (curve - setting.start_c) / (setting.steam_c - setting.start_c)
        place = np.clip(np.interp(share, LEVELS, np.arange(LEVELS.size)), 0, LEVELS.size - 1.001)
        low = place.astype(int)
        weights = np.zeros((curve.size, LEVELS.size))
        rows = np.arange(curve.size)
        weights[rows, low] = 1 - (place - low)
        weights[rows, low + 1] = place - low
        steep = np.gradient(curve, np.log(self.time_s)) + _LEAST_STEEP_K
        leaning = steep[:, None] * weights
        return np.asarray(leaning @ self.emulator.error @ leaning.T)


__all__ = ["Binned", "Fitter", "Posterior"]
