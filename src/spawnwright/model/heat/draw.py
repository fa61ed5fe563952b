"""How the jars in a canner draw heat: a few modes that follow the vessel's temperature.

A small stand-in for the beds of `conduction` and `porous_bed`, good enough for the heat that the
burner must bring; the temperatures in a jar come from those. Checks: docs/models/vessel.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from spawnwright.model.scenarios import Floats

Rows = NDArray[Any]  # places of scenarios, or whether each is chosen

# Roots of J0 and of cos: modes of a cylinder with heated side and bottom. Mathematics, no source.
_RADIAL_ROOTS = np.array([2.404825557695773, 5.520078110286311, 8.653727912911012])
_AXIAL_ROOTS = (np.arange(1, 4) - 0.5) * pi


class Diffusivity(Protocol):
    """Diffusivity of beds [m²/s] by vessel and mean bed temperature [°C], one a scenario."""

    def __call__(self, vessel_c: Floats, mean_c: Floats) -> Floats:
        """At these temperatures, each of shape (scenarios,)."""

    def rows(self, chosen: Rows) -> Diffusivity:
        """That of some of the scenarios."""


@dataclass(frozen=True)
class FixedDiffusivity:
    """A diffusivity that no temperature changes."""

    diffusivity_m2_s: Floats

    def __call__(self, vessel_c: Floats, mean_c: Floats) -> Floats:
        return self.diffusivity_m2_s

    def rows(self, chosen: Rows) -> FixedDiffusivity:
        return FixedDiffusivity(self.diffusivity_m2_s[chosen])


@dataclass(frozen=True)
class Draw:
    """How the grain of all jars draws heat: a sum of modes, each following the vessel.

    `rate_m2` times the diffusivity is a mode's rate [1/s]; `weight` its share of the mean, shape
    (modes,), or (scenarios, modes) for a load of several kinds.
    """

    capacity_j_k: Floats
    rate_m2: Floats
    weight: Floats
    diffusivity_m2_s: Diffusivity

    @property
    def modes(self) -> int:
        """How many there are [-]."""
        return int(self.rate_m2.shape[1])

    def mean(self, modes: Floats) -> Floats:
        """Mean over the load, (scenarios,), of something by mode, (scenarios, modes)."""
        if self.weight.ndim == 1:
            return np.asarray(modes @ self.weight)
        return np.asarray(np.einsum("sm,sm->s", modes, self.weight))

    def rows(self, chosen: Rows) -> Draw:
        """The draw of some of the scenarios."""
        return Draw(
            self.capacity_j_k[chosen],
            self.rate_m2[chosen],
            self.weight if self.weight.ndim == 1 else self.weight[chosen],
            self.diffusivity_m2_s.rows(chosen),
        )


def draw_of_jars(
    capacity_j_k: Floats,
    radius_m: Floats,
    depth_m: Floats,
    film_m: Floats,
    diffusivity_m2_s: Diffusivity,
) -> Draw:
    """How jars draw heat from a vessel of uniform temperature.

    Parameters
    ----------
    capacity_j_k : array
        Heat capacity of the grain in all jars, shape (scenarios,) [J/K].
    radius_m : array
        Inner radius of a jar [m].
    depth_m : array
        Depth of the grain [m].
    film_m : array
        Conductivity over film coefficient: the film and glass as a layer of grain [m].
    diffusivity_m2_s : Diffusivity
        By vessel and mean bed temperature [m²/s].

    Returns
    -------
    Draw
        Nine modes; what more of them would hold is in the fastest [-].

    Notes
    -----
    A cylinder heated at side and bottom, top closed: rates α ((j/R')² + (ζ/H')²), weights
    4/j² and 2/ζ². The film is taken as an extra layer, R' = R + k/h, whose first root is within
    1 % of the exact one for k/hR below 0.1. Heat through the top is left out, so the draw comes
    out low by a few percent. With a diffusivity that changes it follows the mean state.
    """
    radial = (_RADIAL_ROOTS[None, :] / (radius_m + film_m)[:, None]) ** 2
    axial = (_AXIAL_ROOTS[None, :] / (depth_m + film_m)[:, None]) ** 2
    rate = (radial[:, :, None] + axial[:, None, :]).reshape(len(radial), -1)
    weight = ((4 / _RADIAL_ROOTS**2)[:, None] * (2 / _AXIAL_ROOTS**2)[None, :]).ravel()
    weight[-1] += 1.0 - weight.sum()
    return Draw(capacity_j_k, rate, weight, diffusivity_m2_s)


def draw_together(draws: Sequence[Draw]) -> Draw:
    """How jars of several kinds draw heat from one vessel, all filled with the same.

    Parameters
    ----------
    draws : sequence of Draw
        One for each kind [-].

    Returns
    -------
    Draw
        The modes of all, each weighted by its kind's share of the heat capacity [-].

    Notes
    -----
    A diffusivity that follows the state is taken at the mean of the whole load: small jars among
    large ones draw a little too slowly, large ones too fast.
    """
    if len(draws) == 1:
        return draws[0]
    capacity = np.sum([each.capacity_j_k for each in draws], axis=0)
    weights = [each.weight * (each.capacity_j_k / capacity)[:, None] for each in draws]
    return Draw(
        capacity,
        np.hstack([each.rate_m2 for each in draws]),
        np.hstack(weights),
        draws[0].diffusivity_m2_s,
    )


def draw_of_well_mixed(capacity_j_k: Floats, rate_s: Floats) -> Draw:
    """How jars of a liquid draw heat: one temperature each, behind the vessel's.

    Parameters
    ----------
    capacity_j_k : array
        Heat capacity of all jars, shape (scenarios,) [J/K].
    rate_s : array
        Film times area over the heat capacity of one jar [1/s].

    Returns
    -------
    Draw
        One mode [-].
    """
    whole = FixedDiffusivity(np.ones_like(rate_s))
    return Draw(capacity_j_k, rate_s[:, None], np.ones(1), whole)


def advance_modes(
    modes_c: Floats, rate_s: Floats, step_s: Floats, before_c: Floats, after_c: Floats
) -> Floats:
    """Modes of the jars after a step in which the vessel's temperature runs straight.

    Parameters
    ----------
    modes_c : array
        State of each mode, shape (scenarios, modes) [°C].
    rate_s : array
        Rate of each mode, above 0 [1/s].
    step_s : array
        Length of the step, shape (scenarios,) [s].
    before_c, after_c : array
        Temperature of the vessel at its ends [°C].

    Returns
    -------
    array
        State of each mode [°C].

    Notes
    -----
    The exact solution of ds/dt = rate (T - s) for T straight in time.
    """
    kept, followed = mode_response(rate_s, step_s)
    before, after = np.asarray(before_c)[:, None], np.asarray(after_c)[:, None]
    return np.asarray(modes_c * kept + before * (1 - kept) + (after - before) * followed)


def mode_response(rate_s: Floats, step_s: Floats) -> tuple[Floats, Floats]:
    """Share of each mode that is kept, and of a straight rise that it follows, in one step.

    Parameters
    ----------
    rate_s : array
        Rate of each mode, above 0, shape (scenarios, modes) [1/s].
    step_s : array
        Length of the step, shape (scenarios,) [s].

    Returns
    -------
    tuple of array
        exp(-x) and 1 - (1 - exp(-x)) / x, with x = rate * step [-].
    """
    decay = rate_s * np.asarray(step_s)[:, None]
    gone = -np.expm1(-decay)
    small = decay < 1e-6
    followed = np.where(small, decay / 2, 1 - gone / np.where(small, 1.0, decay))
    return 1 - gone, followed
