"""A surrogate: results of scenarios that were not solved, from those that were.

Kriging: a straight trend and, about it, a smooth surface through the solved scenarios. It says
how wrong it is: its error is that of leaving each solved scenario out in turn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spawnwright.errors import Unusable
from spawnwright.model.scenarios import Floats

_REACH = 3.0  # correlation length, in standard deviations of the input that matters most
_LEAST_WEIGHT = 0.05  # of an input that hardly matters, against the one that matters most
_NUGGET = 1e-3  # variance at one point: solved scenarios carry small errors of their own
_FLAT = 1e-9  # spread of a result, against its size, below which it is one number
_NEIGHBORHOOD = 0.3  # width over which errors are averaged, along the first input


@dataclass(frozen=True)
class Surrogate:
    """A surface through solved scenarios, for one or more results at once."""

    middle: Floats
    scale: Floats
    weight: Floats
    """How much each input matters, at most 1."""
    solved: Floats
    """The solved scenarios, scaled and weighted, shape (solved, inputs)."""
    coefficients: Floats
    """Shape (solved + inputs + 1, results)."""
    left_out: Floats
    """Error at each solved scenario when it is left out, shape (solved, results)."""

    def __call__(self, inputs: Floats) -> Floats:
        """Results of scenarios, (scenarios, inputs) to (scenarios, results)."""
        scaled = (inputs - self.middle) / self.scale
        surface = _correlation(scaled * self.weight, self.solved)
        return np.asarray(np.hstack([surface, _trend(scaled)]) @ self.coefficients)

    def error(self, inputs: Floats) -> Floats:
        """One standard deviation of the error there, shape (scenarios, results).

        The root mean square of the left-out errors of solved scenarios with a like first input.
        """
        first = ((inputs[:, 0] - self.middle[0]) / self.scale[0])[:, None]
        own = self.solved[:, 0] / self.weight[0]
        near = np.exp(-0.5 * ((first - own) / _NEIGHBORHOOD) ** 2) + 1e-12
        near /= near.sum(axis=1, keepdims=True)
        return np.asarray(np.sqrt(near @ self.left_out**2))


def fit(inputs: Floats, results: Floats) -> Surrogate:
    """Fit a surrogate to solved scenarios.

    Parameters
    ----------
    inputs : array
        Shape (solved, inputs); scaled here, so in any units. The first is the one along which
        errors differ [-].
    results : array
        What was solved for, shape (solved, results) [-].

    Returns
    -------
    Surrogate
        With its own error [-].

    Raises
    ------
    Unusable
        If there are too few scenarios to fit even a straight trend.

    Notes
    -----
    Universal kriging [CRESSIE1993]_ with a straight trend and a Matérn correlation (3/2) of one
    reach, inputs weighted by the slopes of a quadratic without products. An error left out is
    that of Dubrule's formula: coefficient over the diagonal of the inverse.
    """
    count, dimensions = inputs.shape
    if count < 3 * dimensions + 3:
        raise Unusable(f"{count} solved scenarios are too few for {dimensions} inputs.")
    middle, spread = inputs.mean(axis=0), inputs.std(axis=0)
    scale = np.where(spread > 1e-12 * (1 + np.abs(middle)), spread, 1.0)
    scaled = (inputs - middle) / scale
    weight = _weights(scaled, results)
    trend = _trend(scaled)
    correlation = _correlation(scaled * weight, scaled * weight) + _NUGGET * np.eye(count)
    terms = trend.shape[1]
    whole = np.block([[correlation, trend], [trend.T, -1e-9 * np.eye(terms)]])
    inverse = np.linalg.inv(whole)
    coefficients = inverse[:, :count] @ results
    left_out = coefficients[:count] / np.diag(inverse)[:count, None]
    return Surrogate(middle, scale, weight, scaled * weight, coefficients, left_out)


def _weights(scaled: Floats, results: Floats) -> Floats:
    terms = np.hstack([_trend(scaled), scaled**2])
    slopes = np.linalg.lstsq(terms, results, rcond=None)[0][1 : 1 + scaled.shape[1]]
    # Results that are all but constant say nothing of the inputs; their ratios would overflow.
    spread = results.std(axis=0)
    telling = spread > _FLAT * np.maximum(np.abs(results).max(axis=0), 1.0)
    if not telling.any():
        return np.ones(scaled.shape[1])
    size = np.sqrt(np.mean((slopes[:, telling] / spread[telling]) ** 2, axis=1))
    return np.asarray(np.maximum(size / size.max(), _LEAST_WEIGHT))


def _trend(scaled: Floats) -> Floats:
    return np.hstack([np.ones((len(scaled), 1)), scaled])


def _correlation(first: Floats, second: Floats) -> Floats:
    square = (first**2).sum(1)[:, None] + (second**2).sum(1) - 2 * first @ second.T
    distance = np.sqrt(3.0 * np.maximum(square, 0.0)) / _REACH
    return np.asarray((1 + distance) * np.exp(-distance))
