"""Drawing a posterior of a few crooked and a few nearly straight unknowns."""

from __future__ import annotations

import numpy as np
import pytest

from spawnwright.model.probe.clouds import Cloud
from spawnwright.model.probe.sampling import Problem, sampled, systematic, worth

SD = np.array([0.08, 0.05])
"""Of the two noises, equally likely."""
TIMES = np.linspace(0.0, 1.0, 6)
READ = np.array([0.15, 0.55, 0.65, 0.95, 1.0, 1.35])


def curves(scores):
    """Two crooked scores trade off along a bow; a third one is a little bent, a fourth straight."""
    a, b, c, d = (each[:, None] for each in scores.T)
    return (a + 0.4 * b**2) * TIMES + 0.3 * (c + 0.15 * c**2) * (1 - TIMES) + 0.2 * d * TIMES**2


def log_prior(scores):
    return -0.5 * (scores**2).sum(axis=1) - 2 * np.log(2 * np.pi)


def likelihood(found):
    apart = ((READ - found) ** 2).sum(axis=1)
    return np.array([
        -0.5 * apart / sd**2 - TIMES.size * np.log(sd * np.sqrt(2 * np.pi)) - np.log(2) for sd in SD
    ])  # fmt: skip


def slope():
    ends = curves(0.5 * np.array([[0, 0, 1, 0], [0, 0, 0, 1], [0, 0, -1, 0], [0, 0, 0, -1.0]]))
    return ends[:2] - ends[2:]


def by_many():
    """Ends and middle of each score, and the chance of the readings, by two million prior draws."""
    generator = np.random.default_rng(5)
    scores = np.concatenate([generator.standard_normal((200_000, 4)) for _ in range(10)])
    chance = np.concatenate([
        np.exp(likelihood(curves(part))).sum(axis=0) for part in np.array_split(scores, 20)
    ])  # fmt: skip
    ends = []
    for each in scores.T:
        order = np.argsort(each)
        share = np.cumsum(chance[order]) / chance.sum()
        ends.append(each[order][np.searchsorted(share, (0.025, 0.5, 0.975))])
    return np.array(ends), chance.mean()


@pytest.mark.parametrize("start", [(1.0, 0.0), (-1.0, 1.5)], ids=["on the bow", "off it"])
def test_draws_of_a_crooked_posterior_are_those_of_many_prior_draws(start):
    """In middle and ends of every score, and in the chance of the readings."""
    generator = np.random.default_rng(1)
    points = generator.standard_normal((4000, 2))
    problem = Problem(
        READ, np.array([0, 1]), np.array([2, 3]), curves, log_prior, likelihood,
        np.eye(TIMES.size) / SD[0], slope(),
    )  # fmt: skip
    bank = points, curves(problem.scores(points))
    drawn = sampled(problem, bank, Cloud(np.array(start), 0.3 * np.eye(2)), np.inf, generator)
    quantiles, evidence = by_many()

    weight = np.exp(drawn.log_weight - drawn.log_weight.max())
    kept = drawn.scores[systematic(weight, 20_000, generator)]
    below = np.array([(each[:, None] < ends).mean(axis=0) for each, ends in zip(
        kept.T, quantiles, strict=True)])  # fmt: skip
    assert worth(drawn.log_weight) > 4000
    assert below[:, 0] == pytest.approx(0.025, abs=0.015)
    assert below[:, 1] == pytest.approx(0.5, abs=0.05)
    assert below[:, 2] == pytest.approx(0.975, abs=0.015)
    found = np.log(weight.mean()) + drawn.log_weight.max()
    assert found == pytest.approx(np.log(evidence), abs=0.05)
