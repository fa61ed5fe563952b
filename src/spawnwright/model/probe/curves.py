"""What a probe anywhere in a bed would read, by either way in which heat moves.

By conduction: the modal series of a finite cylinder, at any point. By the wet porous bed: the
grid of `wet_bed_grid`, between its nodes. Both take many beds at once, for the table that a probe
run is compared with.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spawnwright.model.heat.bed import Bed, Floats, curve, knots
from spawnwright.model.heat.eigenvalues import cylinder_modes, slab_modes
from spawnwright.model.heat.wet_bed_grid import WetBedGrid
from spawnwright.model.heat.wet_conductivity import WetConductivity

_RADIAL_MODES, _AXIAL_MODES = 16, 24
Grid = tuple[tuple[int, int], float]
"""Intervals along radius and depth, and longest step [s], for the wet bed."""
MIDDLING: Grid = ((8, 10), 120.0)
CLOSER: Grid = ((12, 15), 60.0)
FINE: Grid = ((16, 20), 30.0)
TO_THE_LIMIT = 1.5
"""What (CLOSER − MIDDLING) is to be stretched by, for the limit of ever finer grids: measured on
grids up to 24 × 30."""


@dataclass(frozen=True)
class VesselCurve:
    """Temperature [°C] and absolute pressure [Pa] of the vessel at instants, straight between.

    `time_s` has the shape (times,); the others (times,) or (columns, times).
    """

    time_s: Floats
    temperature_c: Floats
    pressure_pa: Floats


@dataclass(frozen=True)
class Places:
    """Where probes are: height as a share of the depth, distance from the axis as one of the
    radius; each (places,), or (places, columns) for places of each bed's own.
    """

    height: Floats
    off_axis: Floats


def conduction_curves(
    bed: Bed,
    diffusivity_m2_s: ArrayLike,
    start_c: ArrayLike,
    vessel: VesselCurve,
    places: Places,
) -> Floats:
    """Readings in beds that conduct heat with one diffusivity each.

    Parameters
    ----------
    bed : Bed
        Size, films and heat capacity; numbers or (columns,).
    diffusivity_m2_s, start_c : float or array (columns,)
        Diffusivity [m²/s] and temperature at the first instant [°C].
    vessel : VesselCurve
        Its temperature is used [°C].
    places : Places
        Where the probes are [-].

    Returns
    -------
    array (columns, places, times)
        Temperatures at the instants of the vessel's curve [°C].

    Notes
    -----
    T = Tv + Σ share · y, y' = −λ y − dTv/dt, each mode advanced exactly over a straight piece
    [CARSLAW1959]_. With 384 modes a core that has felt nothing yet is up to 0.2 K off; from then
    on it is exact to 0.01 K.
    """
    time = knots(vessel.time_s)
    warm = np.asarray(vessel.temperature_c, dtype=float)
    bed, (diffusivity, start, _) = bed.spread(diffusivity_m2_s, start_c, warm[..., 0])
    warm = curve(warm, (start.size, time.size), "The vessel's temperature")
    conductivity = diffusivity * bed.volumetric_heat_capacity_j_m3k
    radial = cylinder_modes(bed.side_w_m2k * bed.radius_m / conductivity, _RADIAL_MODES)
    axial = slab_modes(
        bed.bottom_w_m2k * bed.depth_m / conductivity,
        bed.top_w_m2k * bed.depth_m / conductivity,
        _AXIAL_MODES,
    )
    rate = diffusivity * (
        (radial.root[:, None] / bed.radius_m) ** 2 + (axial.root / bed.depth_m) ** 2
    )
    heights, far = (
        each[:, None, None] if each.ndim == 1 else each[:, None, :]
        for each in (np.asarray(places.height, float), np.asarray(places.off_axis, float))
    )
    seen = radial.at(far)[:, :, None] * axial.at(heights)[:, None]
    modes = rate.reshape(-1, start.size)
    seen = seen.reshape(len(seen), *modes.shape)
    found = np.empty((time.size, len(seen), start.size))
    state = np.broadcast_to(start - warm[:, 0], modes.shape).copy()
    found[0] = np.einsum("pmc,mc->pc", seen, state)
    step, left = 0.0, np.ones_like(modes)
    for end in range(1, time.size):
        if time[end] - time[end - 1] != step:
            step = float(time[end] - time[end - 1])
            left = np.exp(-modes * step)
        lag = (warm[:, end] - warm[:, end - 1]) / step / modes
        state = (state + lag) * left - lag
        found[end] = np.einsum("pmc,mc->pc", seen, state)
    found += warm.T[:, None, :]
    return np.ascontiguousarray(found.T)


def wet_bed_curves(
    bed: Bed,
    resting_conductivity_w_mk: ArrayLike,
    pore_factor: ArrayLike,
    start_c: ArrayLike,
    vessel: VesselCurve,
    places: Places,
    how: Grid = MIDDLING,
) -> Floats:
    """Readings in wet beds whose pores carry vapor.

    Parameters
    ----------
    bed : Bed
        Size, films and heat capacity; numbers or (columns,).
    resting_conductivity_w_mk : float or array (columns,)
        k0 [W/(m K)].
    pore_factor : float or array (columns,)
        η, 0 to 1 [-].
    start_c : float or array (columns,)
        Temperature at the first instant [°C].
    vessel : VesselCurve
        Temperature [°C] and pressure [Pa].
    places : Places
        Where the probes are [-].
    how : tuple
        Grid and longest step, such as `MIDDLING` [-].

    Returns
    -------
    array (columns, places, times)
        Temperatures at the instants of the vessel's curve [°C].

    Notes
    -----
    The equations and steps of `porous_bed.heat_wet_bed`, which keeps no point off the axis.
    On `MIDDLING` a bed warms about a tenth of a minute too early: up to 0.7 K where it warms
    quickest; 0.3 K on `FINE`.
    """
    (radial, axial), longest = how
    time = knots(vessel.time_s)
    warm, push = (np.asarray(each, float) for each in (vessel.temperature_c, vessel.pressure_pa))
    bed, (resting, factor, start, *_) = bed.spread(
        resting_conductivity_w_mk, pore_factor, start_c, warm[..., 0], push[..., 0]
    )
    shape = (start.size, time.size)
    warm = curve(warm, shape, "The vessel's temperature").T.astype(np.float32)
    push = curve(push, shape, "The vessel's pressure").T.astype(np.float32)
    grid = WetBedGrid(bed, WetConductivity(resting, factor, np.float32), radial, axial)
    across = _weights(np.asarray(places.off_axis, float) * radial, radial, is_mirrored=True)
    along = _weights(np.asarray(places.height, float) * axial, axial, is_mirrored=False)
    field = np.broadcast_to(start, grid.shape).astype(np.float32)
    longest = min(longest, grid.longest_step_s)
    found = np.empty((time.size, len(across), start.size), np.float32)
    found[0] = start
    lowest, highest = field.min(axis=(0, 1)), field.max(axis=(0, 1))
    for end in range(1, time.size):
        span = float(time[end] - time[end - 1])
        count = ceil(span / longest - 1e-9)
        share = (np.arange(count + 1) / count).astype(np.float32)[:, None]
        ends = warm[end - 1] + share * (warm[end] - warm[end - 1])
        lowest = np.minimum(lowest, ends.min(axis=0))
        highest = np.maximum(highest, ends.max(axis=0))
        for place in range(count):
            middle = (share[place] + share[place + 1]) / 2
            pressure = push[end - 1] + middle * (push[end] - push[end - 1])
            both = ends[place : place + 2]
            field = grid.step(field, span / count, both, pressure, (lowest, highest))
        found[end] = _looked_at(field, across, along)
    return np.ascontiguousarray(found.T, dtype=float)


def _looked_at(
    field: NDArray[np.float32], across: NDArray[np.float32], along: NDArray[np.float32]
) -> Floats:
    """A field (radial nodes, axial nodes, columns) at places, (places, columns)."""
    if across.ndim == 2:
        rows = np.tensordot(across, field, axes=(1, 0))  # (places, axial nodes, columns)
        return np.asarray(np.einsum("pzc,pz->pc", rows, along))
    return np.asarray(np.einsum("rzc,prc,pzc->pc", field, across, along, optimize=True))


def _weights(place: Floats, last: int, *, is_mirrored: bool) -> NDArray[np.float32]:
    """Weights of nodes 0 … last for a cubic through the four nodes about each place.

    `place` (places,) or (places, columns) in intervals; the weights have a node axis behind the
    first. Mirrored: the nodes go on beyond 0 as they are on this side of it.
    """
    lowest = -1 if is_mirrored else 0
    first = np.clip(np.floor(place).astype(int) - 1, lowest, last - 3)
    offset = place - first
    weights = np.zeros((len(place), last + 1, *place.shape[1:]))
    for node in range(4):
        value = np.ones_like(place)
        for other in range(4):
            if other != node:
                value = value * (offset - other) / (node - other)
        index = np.abs(first + node)
        for each in range(last + 1):
            weights[:, each] += np.where(index == each, value, 0.0)
    return weights.astype(np.float32)
