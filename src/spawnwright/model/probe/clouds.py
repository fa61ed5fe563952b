"""Clouds of draws that are shaped after weighted draws, and how dense they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from spawnwright.model.heat.bed import Floats

_HEAVY_TAILS = 6.0  # degrees of freedom
_WIDER = 1.25
_FEWEST = 5.0  # effective draws per unknown that shape a cloud
_SHAPE_WORTH = 4.0  # draws per unknown that the shape leaned on is worth


@dataclass(frozen=True)
class Cloud:
    """A multivariate t distribution: a middle, and a root whose rows make draws."""

    middle: Floats
    root: Floats

    def draw(self, count: int, generator: np.random.Generator) -> Floats:
        """Draws, (count, unknowns) [-]."""
        normal = generator.standard_normal((count, len(self.middle)))
        chi = generator.chisquare(_HEAVY_TAILS, count) / _HEAVY_TAILS
        return np.asarray(self.middle + (_WIDER * normal / np.sqrt(chi)[:, None]) @ self.root)

    def log_density(self, scores: Floats) -> Floats:
        """Log density, (draws,) [-]."""
        from scipy.special import gammaln

        size, freedom = len(self.middle), _HEAVY_TAILS
        root = _WIDER * self.root
        apart = np.linalg.solve(root.T, (scores - self.middle).T)
        constant = gammaln((freedom + size) / 2) - gammaln(freedom / 2)
        constant = constant - 0.5 * size * np.log(freedom * np.pi)
        constant = constant - float(np.linalg.slogdet(root)[1])
        far = np.log1p((apart**2).sum(axis=0) / freedom)
        return np.asarray(constant - 0.5 * (freedom + size) * far)


def tempered(scores: Floats, log_weight: Floats, about: Cloud) -> Cloud:
    """A cloud shaped like weighted draws, as far as enough of them count.

    Parameters
    ----------
    scores : array (draws, unknowns)
        Draws [-].
    log_weight : array (draws,)
        Natural logarithm of each one's weight [-].
    about : Cloud
        What its shape leans on while few draws count: few make a cloud too narrow somewhere [-].

    Returns
    -------
    Cloud
        Where too few draws count, their weights are taken to a power below one [-].
    """
    size = scores.shape[1]
    power, share = 1.0, _shares(log_weight)
    while 1 / (share**2).sum() < min(_FEWEST * size, len(scores) / 4) and power > 1e-3:
        power *= 0.8
        share = _shares(power * log_weight)
    enough = 1 / (share**2).sum()
    middle = share @ scores
    apart = scores - middle
    spread = (apart * share[:, None]).T @ apart
    trust = enough / (enough + _SHAPE_WORTH * size)
    mixed = trust * spread + (1 - trust) * (about.root.T @ about.root)
    return Cloud(middle, np.linalg.cholesky(mixed + 1e-9 * np.eye(size)).T)


class Proposal(Protocol):
    """Whatever draws came from."""

    def log_density(self, scores: Floats, /) -> Floats:
        """Log density, (draws,) [-]."""
        ...


def log_mixture(clouds: Sequence[Proposal], counts: Sequence[int], scores: Floats) -> Floats:
    """Log density of proposals together, each by its number of draws, (draws,) [-]."""
    each = np.array([
        np.log(count / sum(counts)) + cloud.log_density(scores)
        for count, cloud in zip(counts, clouds, strict=True)
    ])  # fmt: skip
    top = each.max(axis=0)
    return np.asarray(top + np.log(np.exp(each - top).sum(axis=0)))


def _shares(log_weight: Floats) -> Floats:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())
