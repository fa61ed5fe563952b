"""A grid over a wet porous bed, and one implicit step on it for many beds at once.

Nodes stand on the axis, at the wall, at both ends and at half the depth; each owns the ring
about it. Arrays are (radial nodes, axial nodes, columns), a column being one bed, in single
precision. Radii and heights are shares of the bed's own, so beds of any size are one batch.

A step first goes half its way by implicit Euler, to learn the conductivities of its middle, then
all of it with those: two stages of the Rosenbrock method ROS2, γ = 1 − 1/√2, of second order,
which damps whatever is too quick for the step [VERWER1999]_. Each solve is split into a sweep
along the radii and one along the depth (alternating directions), by the Thomas algorithm.

The conductivity between two nodes is its mean over the temperatures between them (Simpson's
rule), which gives the true steady flow however steeply it rises. The harmonic mean that is
usual for layers would throttle the front, the arithmetic mean would hurry it: on the coarse grid
used here by several percent of F0 either way (docs/models/porous-bed.md).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from spawnwright.model.heat.bed import Bed, Floats
from spawnwright.model.heat.wet_conductivity import WetConductivity

Singles = NDArray[Any]
_GAMMA = 1 - 0.5**0.5
_CONSISTENT = 0.85  # share of the linear elements' mass along the radius: docs/models


class WetBedGrid:
    """Grid, boundary and conductivity of a batch of beds, with the room a step works in."""

    def __init__(
        self,
        bed: Bed,
        conductivity: WetConductivity,
        radial: int,
        axial: int,
        dtype: Any = np.float32,
    ) -> None:
        self.conductivity, self.dtype = conductivity, dtype
        columns = np.size(bed.radius_m)
        self.shape = (radial + 1, axial + 1, columns)
        node = np.arange(radial + 1) / radial
        edge = np.concatenate([[0.0], (node[1:] + node[:-1]) / 2, [1.0]])
        ring = np.diff(edge**2) / 2
        self.mass = _radial_mass(radial, ring).astype(dtype)
        self._mass_diagonal = np.diag(self.mass)[:, None, None]
        self._mass_beside = np.diag(self.mass, 1)[:, None, None]
        length = np.ones(axial + 1, dtype)
        length[[0, -1]] = 0.5
        self.length = length[:, None, None]
        weight = ring[:, None] * length
        self.weight = (weight / weight.sum()).astype(dtype)
        capacity = bed.volumetric_heat_capacity_j_m3k
        radial_scale = np.asarray(1 / (capacity * bed.radius_m**2), dtype)
        axial_scale = np.asarray((axial / bed.depth_m) ** 2 / capacity, dtype)
        # Simpson's sixth and the spacing go into the factors.
        self.radial_factor = (edge[1:-1] * radial / 6).astype(dtype)[:, None, None] * radial_scale
        self.axial_factor = axial_scale / dtype(6)
        self.side = np.asarray(bed.side_w_m2k / (capacity * bed.radius_m), dtype)
        end = axial / (capacity * bed.depth_m)
        self.bottom = np.asarray(bed.bottom_w_m2k * end, dtype)
        self.top = np.asarray(bed.top_w_m2k * end, dtype)
        quickest = max(float((radial**2 * radial_scale).max()), float(axial_scale.max()))
        self.longest_step_s = 5.0 / (quickest * conductivity.cap_w_mk)
        self._make_room()

    mode = 1

    def _make_room(self) -> None:
        rows, levels, columns = self.shape

        def room(*shape: int) -> Singles:
            return np.empty((*shape, columns), self.dtype)

        nodes, across, along = rows * levels, (rows - 1) * levels, rows * (levels - 1)
        self._warm, self._k = room(nodes + across + along), room(nodes + across + along)
        self._split = (nodes, nodes + across)
        self.radial_flow, self.axial_flow = room(rows - 1, levels), room(rows, levels - 1)
        self._between_rings, self._between_levels = room(rows - 1, levels), room(rows, levels - 1)
        self._along = room(rows, levels)
        self._radial = _Lines((rows, levels, columns), self.dtype)
        self._axial = _Lines((levels, rows, columns), self.dtype)

    def mean(self, field: Singles) -> Floats:
        """Mean temperature of each bed, (columns,) [°C]."""
        return np.asarray(np.tensordot(self.weight, field, axes=2), dtype=float)

    def step(
        self,
        field: Singles,
        duration: float,
        vessel: Singles,
        pressure: Singles,
        limits: tuple[Singles, Singles],
    ) -> Singles:
        """The field after a step.

        `vessel` (2, columns) is given at both ends [°C], `pressure` (columns,) in the middle
        [Pa]; `limits`, lowest and highest temperature that each bed can have by now, bound the
        look ahead.
        """
        lowest, highest = limits
        half = self.dtype(duration / 2)
        self._conduct(field, pressure)
        self._factor(half)
        middle = self._stage(field, (vessel[0] + vessel[1]) / self.dtype(2), None)
        middle *= half
        middle += field
        np.clip(middle, lowest, highest, out=middle)
        self._conduct(middle, pressure)
        self._factor(self.dtype(_GAMMA * duration))
        first = self._stage(field, vessel[0], None)
        trial = field + self.dtype(duration) * first
        second = self._stage(trial, vessel[1], first)
        first *= self.dtype(1.5)
        second *= self.dtype(0.5)
        first += second
        first *= self.dtype(duration)
        first += field
        return first

    def _conduct(self, field: Singles, pressure: Singles) -> None:
        """Conductances between neighbors, from the temperatures at and between them."""
        rows, levels, columns = self.shape
        cut, end = self._split
        warm, k = self._warm, self._k
        warm[:cut].reshape(self.shape)[...] = field
        across = warm[cut:end].reshape(rows - 1, levels, columns)
        along = warm[end:].reshape(rows, levels - 1, columns)
        half = self.dtype(0.5)
        np.add(field[1:], field[:-1], out=across)
        np.add(field[:, 1:], field[:, :-1], out=along)
        warm[cut:] *= half
        self.conductivity.at(warm, pressure, out=k)
        k[cut:] *= self.dtype(4)
        node = k[:cut].reshape(self.shape)
        np.add(node[1:], node[:-1], out=self.radial_flow)
        self.radial_flow += k[cut:end].reshape(across.shape)
        self.radial_flow *= self.radial_factor
        np.add(node[:, 1:], node[:, :-1], out=self.axial_flow)
        self.axial_flow += k[end:].reshape(along.shape)
        self.axial_flow *= self.axial_factor

    def _factor(self, reach: Any) -> None:
        """Factor both tridiagonal matrices, mass less `reach` × flow [s]."""
        lines = self._radial
        lines.diagonal[...] = self._mass_diagonal
        np.multiply(self.radial_flow, reach, out=lines.beside)
        lines.diagonal[:-1] += lines.beside
        lines.diagonal[1:] += lines.beside
        lines.diagonal[-1] += reach * self.side
        np.subtract(self._mass_beside, lines.beside, out=lines.beside)
        lines.factor()
        lines = self._axial
        lines.diagonal[...] = self.length
        np.multiply(np.swapaxes(self.axial_flow, 0, 1), reach, out=lines.beside)
        lines.diagonal[:-1] += lines.beside
        lines.diagonal[1:] += lines.beside
        lines.diagonal[0] += reach * self.bottom
        lines.diagonal[-1] += reach * self.top
        np.negative(lines.beside, out=lines.beside)
        lines.factor()

    def _stage(self, field: Singles, vessel: Singles, earlier: Singles | None) -> Singles:
        """Solve one stage: rates of change, (radial, axial, columns) [K/s]."""
        along, flow = self._along, self._between_levels
        np.subtract(field[:, 1:], field[:, :-1], out=flow)
        flow *= self.axial_flow
        along[:, :-1] = flow
        along[:, -1] = self.top * (vessel - field[:, -1])
        along[:, 1:] -= flow
        along[:, 0] += self.bottom * (vessel - field[:, 0])
        along[:, 0] *= self.dtype(2)  # the end nodes own half a layer
        along[:, -1] *= self.dtype(2)
        if earlier is not None:
            along -= earlier
            along -= earlier
        rates = (self.mass @ along.reshape(along.shape[0], -1)).reshape(self.shape)
        flow = self._between_rings
        np.subtract(field[1:], field[:-1], out=flow)
        flow *= self.radial_flow
        rates[:-1] += flow
        rates[1:] -= flow
        rates[-1] += self.side * (vessel - field[-1])
        self._radial.solve(rates)
        rates[:, 0] *= self.dtype(0.5)
        rates[:, -1] *= self.dtype(0.5)
        self._axial.solve(np.swapaxes(rates, 0, 1))
        return rates


class _Lines:
    """Symmetric tridiagonal systems along the first axis, factored once and solved twice."""

    def __init__(self, shape: tuple[int, ...], dtype: Any) -> None:
        self.diagonal, self.inverse = np.empty(shape, dtype), np.empty(shape, dtype)
        self.beside = np.empty((shape[0] - 1, *shape[1:]), dtype)
        self._ratio, self._room = np.empty_like(self.beside), np.empty(shape[1:], dtype)

    def factor(self) -> None:
        """Thomas algorithm, its part for the matrix; uses up the diagonal."""
        diagonal, beside, inverse, ratio = self.diagonal, self.beside, self.inverse, self._ratio
        np.reciprocal(diagonal[0], out=inverse[0])
        for row in range(1, diagonal.shape[0]):
            np.multiply(beside[row - 1], inverse[row - 1], out=ratio[row - 1])
            np.multiply(beside[row - 1], ratio[row - 1], out=self._room)
            diagonal[row] -= self._room
            np.reciprocal(diagonal[row], out=inverse[row])

    def solve(self, right: Singles) -> None:
        """Thomas algorithm, its part for one right side, in place."""
        ratio, room = self._ratio, self._room
        for row in range(1, right.shape[0]):
            np.multiply(ratio[row - 1], right[row - 1], out=room)
            right[row] -= room
        right *= self.inverse
        for row in range(right.shape[0] - 2, -1, -1):
            np.multiply(ratio[row], right[row + 1], out=room)
            right[row] -= room


def _radial_mass(radial: int, ring: Floats) -> Floats:
    """Mass along the radius: rings lumped at the nodes, and linear elements, blended."""
    inner = np.arange(radial) / radial
    outer = inner + 1 / radial
    consistent = np.zeros((radial + 1, radial + 1))
    for place in range(radial):
        low, high = inner[place], outer[place]
        consistent[place : place + 2, place : place + 2] += (
            np.array([[3 * low + high, low + high], [low + high, low + 3 * high]]) / 12 / radial
        )
    return np.asarray((1 - _CONSISTENT) * np.diag(ring) + _CONSISTENT * consistent)
