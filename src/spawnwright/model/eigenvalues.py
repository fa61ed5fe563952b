"""Eigenvalues of heat conduction in a slab and in a cylinder with a film at their surfaces.

Both conditions are monotone between neighboring poles, so each root has its own bracket and
none can be missed. Biot numbers are taken from 1e-8 (as good as insulated) to 1e8 (as good as
held at the vessel's temperature); outside they are refused.
"""

from __future__ import annotations

from dataclasses import dataclass

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
    The left side minus the right is rising and concave, so Newton's method from the left of the
    root climbs to it and never passes it. A slab with the same film on both faces has the roots
    of the half slab in the textbooks: ζ = μ/2 with Bi = Bi_bottom/2 [CARSLAW1959]_.
    """
    bottom, top = np.broadcast_arrays(_biot(bottom_biot), _biot(top_biot))
    base = _column(np.arange(count) * np.pi, bottom.ndim)
    # Lower bounds: the branch's own start, or for the first root the thin-slab limit
    # sqrt(B/(1 + B/2)) of the sum B, which stays below the root.
    total = bottom + top
    lowest = np.sqrt(total / (1 + total / 2)) * _FIRST_ROOT_SHRINK
    root = np.maximum(np.broadcast_to(base, (count, *bottom.shape)), lowest)
    for _ in range(_STEPS):
        excess = root - base - np.arctan(bottom / root) - np.arctan(top / root)
        slope = 1 + bottom / (root**2 + bottom**2) + top / (root**2 + top**2)
        step = excess / slope
        root = root - step
        if np.all(np.abs(step) <= 1e-13 * root):
            break
    phase = np.arctan(bottom / root)
    half = root / 2
    whole = 0.5 + np.cos(root - 2 * phase) * np.sin(root) / (2 * root)
    weight = np.cos(half - phase) * np.sin(half) / half / whole
    return SlabModes(root, phase, weight)


_FIRST_ROOT_SHRINK = 0.5


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
    from scipy.special import j0, j1, jn_zeros

    number = _biot(biot)
    low = _column(np.concatenate([[0.0], jn_zeros(1, count)[: count - 1]]), number.ndim)
    high = _column(jn_zeros(0, count), number.ndim)
    low, high = (np.broadcast_to(end, (count, *number.shape)).copy() for end in (low, high))
    root = low + (high - low) * np.clip(number / (number + 0.5 * (low + high)), 0.02, 1.0)
    root[0] = np.minimum(np.sqrt(2 * number / (1 + number / _FIRST_ZERO_SHAPE)), high[0])
    for _ in range(_STEPS):
        zeroth, first = j0(root), j1(root)
        outer, inner = root * first, number * zeroth
        excess = np.arctan2(outer * np.sign(first), inner * np.sign(first)) - np.pi / 4
        above = excess > 0
        high, low = np.where(above, root, high), np.where(above, low, root)
        slope = number * root * (zeroth**2 + first**2) / (outer**2 + inner**2)
        step = excess / slope
        trial = root - step
        inside = (trial >= low) & (trial <= high)
        root = np.where(inside, trial, (low + high) / 2)
        if np.all(np.abs(step) <= 1e-13 * root):
            break
    first = j1(root)
    weight = 2 * first / (root * (j0(root) ** 2 + first**2))
    return CylinderModes(root, weight, weight * 2 * first / root)


_FIRST_ZERO_SHAPE = 2.8915  # half the square of J0's first zero: the limit at large Biot numbers


def _column(values: ArrayLike, dimensions: int) -> Floats:
    return np.asarray(values, dtype=float).reshape((-1,) + (1,) * dimensions)


def _biot(value: ArrayLike) -> Floats:
    number = np.asarray(value, dtype=float)
    bad = ~((number >= LOWEST_BIOT) & (number <= HIGHEST_BIOT))
    if np.any(bad):
        raise OutOfRange("A Biot number", float(number[bad].flat[0]), LOWEST_BIOT, HIGHEST_BIOT, "")
    return number
