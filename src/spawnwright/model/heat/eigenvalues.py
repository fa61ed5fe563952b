"""Eigenvalues of heat conduction in a slab and in a cylinder with a film at their surfaces.

Both conditions are monotone between neighboring poles, so each root has its own bracket and
none can be missed. Biot numbers are taken from 1e-8 (as good as insulated) to 1e8 (as good as
held at the vessel's temperature); outside they are refused.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spawnwright.errors import OutOfRange

Floats = NDArray[np.float64]
LOWEST_BIOT, HIGHEST_BIOT = 1e-8, 1e8
_STEPS = 60  # of Newton's method at most; 4 to 12 are usual


@dataclass(frozen=True)
class SlabModes:
    """Modes cos(root·x − phase) of a slab, x from 0 at the bottom to 1; shape (modes, …).

    `weight` is each mode's share in a uniform temperature: the sum of weight·mode is 1 [-].
    """

    root: Floats
    phase: Floats
    weight: Floats

    def at(self, height: float | Floats) -> Floats:
        """Weight times mode at a height as a share of the depth [-]; broadcasts over it."""
        return np.asarray(self.weight * np.cos(self.root * height - self.phase))

    def mean(self) -> Floats:
        """Weight times the mode's mean over the depth [-]; these sum to 1."""
        half = self.root / 2
        return np.asarray(self.weight * np.cos(half - self.phase) * np.sin(half) / half)


@dataclass(frozen=True)
class CylinderModes:
    """Modes J0(root·r/R) of a long cylinder; shape (modes, …).

    `weight` is each mode's share in a uniform temperature, and its value on the axis [-].
    """

    root: Floats
    weight: Floats
    mean: Floats

    def at(self, share_of_radius: float | Floats) -> Floats:
        """Weight times mode at a distance from the axis as a share of the radius [-]."""
        from scipy.special import j0

        return np.asarray(self.weight * j0(self.root * share_of_radius))


def slab_modes(bottom_biot: ArrayLike, top_biot: ArrayLike, count: int) -> SlabModes:
    """The first `count` modes of a slab with different films at its two faces.

    The root μ of mode n solves μ = (n − 1)π + arctan(Bi_bottom/μ) + arctan(Bi_top/μ), which is
    the usual tan μ = μ(Bi_bottom + Bi_top)/(μ² − Bi_bottom·Bi_top) with its branches told apart.

    Parameters
    ----------
    bottom_biot, top_biot : array_like
        Film coefficient × depth / conductivity of the two faces, 1e-8 to 1e8 [-].
    count : int
        Number of modes [-].

    Returns
    -------
    SlabModes
        Arrays of shape (count, *shape of the Biot numbers).

    Raises
    ------
    OutOfRange
        If a Biot number lies outside that range.

    Notes
    -----
    The left side minus the right is rising and concave, so Newton's method lands left of the
    root and from there climbs to it, never passing it. A slab with the same film on both faces
    has the roots of the half slab in the textbooks: ζ = μ/2, Bi = Bi_bottom/2 [CARSLAW1959]_.
    """
    bottom, top = np.broadcast_arrays(_biot(bottom_biot), _biot(top_biot))
    base = _column(np.arange(count) * np.pi, bottom.ndim)
    # The first root is climbed to from half the thin slab's, sqrt(B/(1 + B/2)), B the sum.
    total = bottom + top
    root = base + np.arctan(bottom / (base + 1)) + np.arctan(top / (base + 1))
    root[0] = np.sqrt(total / (1 + total / 2)) / 2
    for _ in range(_STEPS):
        excess = root - base - np.arctan(bottom / root) - np.arctan(top / root)
        slope = 1 + bottom / (root**2 + bottom**2) + top / (root**2 + top**2)
        step = excess / slope
        root = root - step
        if np.all(np.abs(step) <= 1e-11 * root):  # squared by the step that was just made
            break
    phase = np.arctan(bottom / root)
    half = root / 2
    whole = 0.5 + np.cos(root - 2 * phase) * np.sin(root) / (2 * root)
    weight = np.cos(half - phase) * np.sin(half) / half / whole
    return SlabModes(root, phase, weight)


def cylinder_modes(biot: ArrayLike, count: int) -> CylinderModes:
    """The first `count` modes of a long cylinder with a film at its side.

    The root β of mode n solves β J1(β) = Bi J0(β) between the (n − 1)th zero of J1 and the nth
    zero of J0; weight 2 J1/(β (J0² + J1²)).

    Parameters
    ----------
    biot : array_like
        Film coefficient × radius / conductivity, 1e-8 to 1e8 [-].
    count : int
        Number of modes [-].

    Returns
    -------
    CylinderModes
        Arrays of shape (count, *shape of the Biot number).

    Raises
    ------
    OutOfRange
        If a Biot number lies outside that range.

    Notes
    -----
    β J1 − Bi J0 is monotone in that bracket (its derivative β J0 + Bi J1 does not change sign);
    Newton's method on the phase arctan(β J1/(Bi J0)), which is nearly straight for all Biot
    numbers, is kept inside it by bisection [CARSLAW1959]_.
    """
    from scipy.special import j0, j1

    number = _biot(biot)
    low, high = (
        np.broadcast_to(_column(ends, number.ndim), (count, *number.shape))
        for ends in _brackets(count)
    )
    root = _cylinder_guess(number, low, high)
    for _ in range(_STEPS):
        zeroth, first = j0(root), j1(root)
        outer, inner = np.abs(root * first), number * np.abs(zeroth)
        excess = np.arctan2(outer, inner) - np.pi / 4
        above = excess > 0
        high, low = np.where(above, root, high), np.where(above, low, root)
        step = excess * (outer**2 + inner**2) / (number * root * (zeroth**2 + first**2))
        trial = root - step
        root = np.where((trial >= low) & (trial <= high), trial, (low + high) / 2)
        if np.all(np.abs(step) <= 1e-11 * root):  # squared by the step that was just made
            break
    first = j1(root)
    weight = 2 * first / (root * (j0(root) ** 2 + first**2))
    return CylinderModes(root, weight, weight * 2 * first / root)


@cache
def _brackets(count: int) -> tuple[Floats, Floats]:
    """Between the zeros of J1 (and the origin) and those of J0 lies one root each."""
    from scipy.special import jn_zeros

    low = np.zeros(count)
    low[1:] = jn_zeros(1, count)[: count - 1]
    return low, np.asarray(jn_zeros(0, count))


def _cylinder_guess(biot: Floats, low: Floats, high: Floats) -> Floats:
    """Roots near enough to start from, inside their brackets.

    Far from the axis J1/J0 is the tangent of β − π/4; the first root runs from √(2 Bi) to 2.405.
    """
    inside = np.arctan2(biot, (low + 3 * high) / 4) / (np.pi / 2)
    guess = low + (high - low) * inside
    guess[0] = np.sqrt(2 * biot / (1 + 2 * biot / _FIRST_ZERO**2))
    return guess


_FIRST_ZERO = 2.404825557695773  # of J0


def _column(values: ArrayLike, dimensions: int) -> Floats:
    return np.asarray(values, dtype=float).reshape((-1,) + (1,) * dimensions)


def _biot(value: ArrayLike) -> Floats:
    number = np.asarray(value, dtype=float)
    bad = ~((number >= LOWEST_BIOT) & (number <= HIGHEST_BIOT))
    if np.any(bad):
        raise OutOfRange("A Biot number", float(number[bad].flat[0]), LOWEST_BIOT, HIGHEST_BIOT, "")
    return number
