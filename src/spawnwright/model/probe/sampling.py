"""Draws from the posterior of a run: a few unknowns are searched, the others follow.

Curves bend in the transport, in the film at the glass and in the place of the tip, and what
readings allow of these is a crooked sheet that no single cloud covers. In all else (moisture, size,
start, steam and its moment) they are nearly straight: at each point of the search the likeliest
values come from two steps with one slope, and the room about them from that slope. Draws are
weighed by prior times likelihood over the chance of being proposed; what is not straight, or a
cloud that does not fit, so costs draws but never biases the answer.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from spawnwright.model.heat.bed import Floats
from spawnwright.model.probe.clouds import Cloud, Proposal, log_mixture, tempered

_ROUNDS = (1000, 1500, 2000)  # of the search, after the bank
_FILLS, _A_FILL = 4, 3000
_STEPS = 2
_FAR = 40.0  # log units below the best point of the bank, by a rough guess
_HALF_LOG_TWO_PI = 0.5 * float(np.log(2 * np.pi))


@dataclass(frozen=True)
class Draws:
    """Weighed draws: `scores` (draws, names), log likelihoods `by_noise` (noises, draws).

    The mean of the weights is the chance of the readings.
    """

    scores: Floats
    log_weight: Floats
    by_noise: Floats


@dataclass(frozen=True)
class Problem:
    """What is sampled: readings [°C], places of the searched scores and of the straight ones.

    `curves` and `log_prior` take scores (draws, names); `likelihood` takes curves and gives log
    likelihoods by noise (noises, draws). `whitener` is that of the likeliest noise, `slope` what
    straight scores change in a curve (straight, times) [K].
    """

    temperature_c: Floats
    searched: NDArray[np.intp]
    straight: NDArray[np.intp]
    curves: Callable[[Floats], Floats]
    log_prior: Callable[[Floats], Floats]
    likelihood: Callable[[Floats], Floats]
    whitener: Floats
    slope: Floats

    def scores(self, points: Floats, straight: Floats | float = 0.0) -> Floats:
        """All scores, (points, names), from searched and straight ones."""
        found = np.empty((len(points), self.searched.size + self.straight.size))
        found[:, self.searched], found[:, self.straight] = points, straight
        return found

    @cached_property
    def room(self) -> Floats:
        """Covariance of the straight scores where the searched ones are known."""
        seen = self.slope @ self.whitener
        return np.asarray(np.linalg.inv(np.eye(self.straight.size) + seen @ seen.T))

    def log_density(self, points: Floats) -> Floats:
        """Log prior density of searched scores, (points,)."""
        known = self.straight.size * _HALF_LOG_TWO_PI
        return self.log_prior(self.scores(points)) + known

    def eased(self, points: Floats, curves_c: Floats) -> tuple[Floats, Floats]:
        """The likeliest straight scores at points, (points, straight), and log likelihoods.

        `curves_c` are those without any straight score. The likelihoods have the straight scores
        summed over, as if curves were straight in them.
        """
        pull = self.whitener @ (self.slope @ self.whitener).T
        straight = np.zeros((len(points), self.straight.size))
        for _ in range(_STEPS):
            left = self.temperature_c - curves_c
            straight = straight + (left @ pull - straight) @ self.room
            curves_c = self.curves(self.scores(points, straight))
        room = 0.5 * float(np.linalg.slogdet(self.room)[1])
        found = log_sum(self.likelihood(curves_c)) - 0.5 * (straight**2).sum(axis=1) + room
        return straight, found


def sampled(
    problem: Problem,
    bank: tuple[Floats, Floats],
    start: Cloud,
    enough: float,
    generator: np.random.Generator,
) -> Draws:
    """Search, then fill in what follows.

    Parameters
    ----------
    problem : Problem
        What is sampled [-].
    bank : tuple of arrays
        Searched scores drawn from the prior (points, searched) [-], and their curves [°C].
    start : Cloud
        A first guess of the posterior of the searched scores [-].
    enough : float
        Effective draws at which filling in stops [-].
    generator : numpy.random.Generator
        The dice [-].

    Returns
    -------
    Draws
        Of all scores [-].
    """
    points, straight, log_likelihood, log_weight = _searched(problem, bank, start, generator)
    center = np.zeros(problem.straight.size)
    usual = Cloud(center, np.asarray(np.linalg.cholesky(problem.room).T))
    clouds, fills, apart, weights, by_noise = [usual], [], [], [], []
    chance = np.exp(log_weight - log_weight.max())
    for _ in range(_FILLS):
        kept = systematic(chance, _A_FILL, generator)
        apart.append(clouds[-1].draw(_A_FILL, generator))
        filled = straight[kept] + apart[-1]
        fills.append(problem.scores(points[kept], filled))
        by_noise.append(problem.likelihood(problem.curves(fills[-1])))
        prior = -0.5 * (filled**2).sum(axis=1) - problem.straight.size * _HALF_LOG_TWO_PI
        weights.append(log_sum(by_noise[-1]) + prior - log_likelihood[kept])
        every = np.concatenate(apart)
        found = np.concatenate(weights) - log_mixture(clouds, [_A_FILL] * len(clouds), every)
        if worth(found) > enough:
            break
        clouds.append(tempered(every, found, usual))
    evidence = float(log_weight.max() + np.log(chance.mean()))
    return Draws(np.concatenate(fills), found + evidence, np.concatenate(by_noise, axis=1))


def _searched(
    problem: Problem, bank: tuple[Floats, Floats], start: Cloud, generator: np.random.Generator
) -> tuple[Floats, Floats, Floats, Floats]:
    """Points, their straight scores, log likelihoods and log weights."""
    straight, found = _of_bank(problem, bank)
    rounds, straights, likelihoods = [bank[0]], [straight], [found]
    clouds: list[Proposal] = [problem]
    following = start
    for count in _ROUNDS:
        clouds.append(following)
        rounds.append(following.draw(count, generator))
        straight, found = problem.eased(rounds[-1], problem.curves(problem.scores(rounds[-1])))
        straights.append(straight)
        likelihoods.append(found)
        points, log_likelihood = np.concatenate(rounds), np.concatenate(likelihoods)
        proposed = log_mixture(clouds, [len(each) for each in rounds], points)
        log_weight = log_likelihood + problem.log_density(points) - proposed
        log_weight = np.where(np.isfinite(log_weight), log_weight, -np.inf)
        following = tempered(points, log_weight, start)
    return points, np.concatenate(straights), log_likelihood, log_weight


def _of_bank(problem: Problem, bank: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """Straight scores and log likelihoods of the bank; nothing of points that are far off."""
    points, curves_c = bank
    seen = problem.slope @ problem.whitener
    left = (problem.temperature_c - curves_c) @ problem.whitener
    rough = ((left @ seen.T @ problem.room) * (left @ seen.T)).sum(axis=1) - (left**2).sum(axis=1)
    near = 0.5 * rough > 0.5 * rough.max() - _FAR
    straight = np.zeros((len(points), problem.straight.size))
    found = np.full(len(points), -np.inf)
    straight[near], found[near] = problem.eased(points[near], curves_c[near])
    return straight, found


def log_sum(by_noise: Floats) -> Floats:
    """Natural logarithm of the sum of `by_noise` (noises, draws) over noises, (draws,) [-]."""
    top = by_noise.max(axis=0)
    return np.asarray(top + np.log(np.exp(by_noise - top).sum(axis=0)))


def worth(log_weight: Floats) -> float:
    """How many independent draws are worth as much as draws of weights `log_weight` [-]."""
    weight = np.exp(log_weight - log_weight.max())
    return float(weight.sum() ** 2 / (weight**2).sum())


def systematic(share: Floats, count: int, generator: np.random.Generator) -> NDArray[np.intp]:
    """Places, `count` of them, drawn evenly in proportion to `share` [-]."""
    ladder = np.cumsum(share)
    marks = (np.arange(count) + generator.random()) / count * ladder[-1]
    places = np.searchsorted(ladder, marks, side="right")
    return np.asarray(np.minimum(places, len(share) - 1), dtype=np.intp)
