"""Heat in a wet bed of loose grain: conduction that vapor in the pores makes several times better.

An axisymmetric bed whose conductivity follows temperature and pressure, solved on a coarse grid
by an implicit method, many beds as one batch (`model/heat/wet_bed_grid.py`). With a pore factor of
zero it is the model of `model/heat/conduction.py`. Range, checks and open questions:
docs/models/porous-bed.md.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spawnwright.errors import Unusable
from spawnwright.model.heat.bed import (
    Bed,
    BedHistory,
    Floats,
    curve,
    interpolated,
    knots,
    least_lethal_height,
    steam_off_instants,
)
from spawnwright.model.heat.wet_bed_grid import Singles, WetBedGrid
from spawnwright.model.heat.wet_conductivity import WetConductivity

GRID = (7, 10)  # intervals along the radius and the depth; the second must be even
LONGEST_STEP_S = 100.0
_SHORTEST_STEP_S = 8.0
"""A step is never shorter for the grid's sake: layers of a shallow bed are so thin that a run took
minutes to solve. Such steps are held within what the bed can have by then, or a jump of the steam
would make them run away; F0 differs by 0.3 % at most."""
_CALM_K = 1.0


@dataclass(frozen=True)
class WetBedState:
    """Wet beds as they were at chosen instants, to be continued with `continue_from`.

    `steam_off_s` [s], `core_c`, `mean_c` and `vessel_c` [°C] have the shape (scenarios, holds).
    """

    steam_off_s: Floats
    core_c: Floats
    mean_c: Floats
    vessel_c: Floats
    coldest_height_m: Floats
    bed: Bed
    resting_conductivity_w_mk: Floats
    pore_factor: Floats
    points: Floats  # weights of the axis's nodes for core, coldest, end: (3, nodes, scenarios)
    field_c: NDArray[Any]  # (radial nodes, axial nodes, holds, scenarios)


class _Step(NamedTuple):
    """One step of a batch: its two ends, the knot that it reached (or −1), the fields there."""

    since: float
    until: float
    knot: int
    before: Singles
    after: Singles


def heat_wet_bed(
    bed: Bed,
    resting_conductivity_w_mk: ArrayLike,
    pore_factor: ArrayLike,
    start_c: ArrayLike,
    time_s: ArrayLike,
    vessel_c: ArrayLike,
    vessel_pressure_pa: ArrayLike,
    *,
    core_at: ArrayLike = 0.5,
    grid: tuple[int, int] = GRID,
    longest_step_s: float = LONGEST_STEP_S,
) -> BedHistory:
    """Temperatures at the knots of a wet bed whose pores carry vapor.

    k = k0 + η λ_v(T, P), at most 3 W/(m K), also where vapor pressure reaches P.

    Parameters
    ----------
    bed : Bed
        Size, film coefficients and heat capacity; each a number or (scenarios,).
    resting_conductivity_w_mk : float or array (scenarios,)
        k0, conductivity without vapor, below 3 [W/(m K)].
    pore_factor : float or array (scenarios,)
        η, porosity / tortuosity of the pores that are open to vapor, 0 to 1 [-].
    start_c : float or array (scenarios,)
        Temperature of the whole bed at the first knot [°C].
    time_s : array (times,)
        Knots, rising [s].
    vessel_c : array (times,) or (scenarios, times)
        Vessel temperature at the knots; straight lines between them [°C].
    vessel_pressure_pa : array (times,) or (scenarios, times)
        Absolute pressure in the vessel at the knots, straight lines between them [Pa].
    core_at : float or array (scenarios,)
        Height of the point called core, as a share of the depth: half, unless a probe stands
        elsewhere on the axis [-].
    grid : tuple of int
        Intervals along the radius and (an even number) along the depth [-].
    longest_step_s : float
        Longest time step; a step never passes a knot [s].

    Returns
    -------
    BedHistory
        Arrays of shape (scenarios, times).

    Raises
    ------
    Unusable
        If shapes do not fit, a value is no number, or k0 or η are out of range.

    Notes
    -----
    The vapor's part is `wet_conductivity.vapor_conductivity_w_mk` [PHILIP1957]_. On the default
    grid F0 is within 3 % of the converged value for η from 0.05 to 0.26 in a quart jar, and up
    to a tenth high for less, where F0 is small. Theory, not measured on grain: it errs hot, by
    orders of magnitude of F0, where pores are flooded or the grain is mush.
    """
    return heat_wet_bed_and_keep(
        bed,
        resting_conductivity_w_mk,
        pore_factor,
        start_c,
        time_s,
        vessel_c,
        vessel_pressure_pa,
        core_at=core_at,
        grid=grid,
        longest_step_s=longest_step_s,
    )[0]


def heat_wet_bed_and_keep(
    bed: Bed,
    resting_conductivity_w_mk: ArrayLike,
    pore_factor: ArrayLike,
    start_c: ArrayLike,
    time_s: ArrayLike,
    vessel_c: ArrayLike,
    vessel_pressure_pa: ArrayLike,
    steam_off_s: ArrayLike = (),
    *,
    core_at: ArrayLike = 0.5,
    grid: tuple[int, int] = GRID,
    longest_step_s: float = LONGEST_STEP_S,
) -> tuple[BedHistory, WetBedState]:
    """As `heat_wet_bed`, and the beds as they were at instants from which cooling may begin.

    `steam_off_s` has the shape (holds,) or (scenarios, holds) and lies anywhere between the
    first and the last knot [s]; between two steps the field is taken as a straight line.
    """
    time = knots(time_s)
    vessel, pressure = np.asarray(vessel_c, dtype=float), np.asarray(vessel_pressure_pa, float)
    bed, (resting, factor, start, core_at, *_) = bed.spread(
        resting_conductivity_w_mk, pore_factor, start_c, core_at, vessel[..., 0], pressure[..., 0]
    )
    _check(resting, factor, grid)
    shape = (start.size, time.size)
    vessel = curve(vessel, shape, "The vessel's temperature")
    pressure = curve(pressure, shape, "The vessel's pressure")
    off = steam_off_instants(steam_off_s, time, start.size)
    batch = WetBedGrid(bed, WetConductivity(resting, factor, np.float32), *grid)
    field = np.broadcast_to(start, batch.shape).astype(np.float32)
    kept = np.zeros((*batch.shape[:2], off.shape[1], start.size), dtype=np.float32)
    kept[...] = field[:, :, None]
    axis = np.empty((time.size, *batch.shape[1:]), dtype=np.float32)
    mean = np.empty((time.size, start.size))
    axis[0], mean[0] = start, start
    for step in _steps(batch, field, time, vessel, pressure, longest_step_s):
        if step.knot > 0:
            axis[step.knot], mean[step.knot] = step.after[0], batch.mean(step.after)
        scenario, hold = np.nonzero((off > step.since) & (off <= step.until))
        if scenario.size:
            share = (off[scenario, hold] - step.since) / (step.until - step.since)
            before, after = step.before[:, :, scenario], step.after[:, :, scenario]
            kept[:, :, hold, scenario] = before + share.astype(np.float32) * (after - before)
    heights, candidates = _upper_half(bed, axis)
    height = least_lethal_height(heights, time, candidates)
    points = np.stack([_between_nodes(share, grid[1]) for share in (core_at, height, heights[-1])])
    core, coldest, end = np.einsum("tzs,pzs->pst", axis, points)
    mean = np.ascontiguousarray(mean.T)
    history = BedHistory(time, core, coldest, mean, height * bed.depth_m, end)
    return history, WetBedState(
        steam_off_s=off,
        core_c=np.einsum("zhs,zs->sh", kept[0], points[0]),
        mean_c=batch.mean(kept).T,
        vessel_c=interpolated(off, time, vessel),
        coldest_height_m=history.coldest_height_m,
        bed=bed,
        resting_conductivity_w_mk=resting,
        pore_factor=factor,
        points=points,
        field_c=kept,
    )


def continue_from(
    state: WetBedState,
    time_s: ArrayLike,
    vessel_c: ArrayLike,
    vessel_pressure_pa: ArrayLike,
    *,
    longest_step_s: float = LONGEST_STEP_S,
) -> BedHistory:
    """Temperatures of wet beds from the instants of `state` on, for instance while they cool.

    Parameters
    ----------
    state : WetBedState
        From `heat_wet_bed_and_keep`.
    time_s : array (times,)
        Knots counted from each bed's own instant: the first is 0 [s].
    vessel_c, vessel_pressure_pa : array (times,), (scenarios, times) or (scenarios, holds, times)
        Vessel temperature [°C] and absolute pressure [Pa] at these knots.
    longest_step_s : float
        Longest time step [s].

    Returns
    -------
    BedHistory
        Arrays of shape (scenarios, holds, times); the coldest point stays the one that was
        coldest over the whole heating.
    """
    time = knots(time_s)
    scenarios, holds = state.core_c.shape
    shape = (scenarios, holds, time.size)
    # Columns run over holds, then scenarios, as the kept fields do.
    vessel, pressure = (
        np.swapaxes(curve(values, shape, what), 0, 1).reshape(-1, time.size)
        for values, what in (
            (vessel_c, "The vessel's temperature"),
            (vessel_pressure_pa, "The vessel's pressure"),
        )
    )
    # Beds, like the fields that were kept, stand one row of scenarios after the other.
    bed = state.bed.repeated(holds)
    resting, factor = (
        np.tile(state.resting_conductivity_w_mk, holds),
        np.tile(state.pore_factor, holds),
    )
    points = np.tile(state.points, holds)
    radial, axial = (nodes - 1 for nodes in state.field_c.shape[:2])
    batch = WetBedGrid(bed, WetConductivity(resting, factor, np.float32), radial, axial)
    field = state.field_c.reshape(batch.shape)
    seen = np.empty((4, time.size, holds * scenarios))

    def look(knot: int, field: Singles) -> None:
        seen[:3, knot] = np.einsum("zs,pzs->ps", field[0], points)
        seen[3, knot] = batch.mean(field)

    look(0, field)
    for step in _steps(batch, field, time, vessel, pressure, longest_step_s):
        if step.knot > 0:
            look(step.knot, step.after)
    core, coldest, end, mean = (
        np.ascontiguousarray(one.reshape(time.size, holds, scenarios).T) for one in seen
    )
    return BedHistory(time, core, coldest, mean, state.coldest_height_m, end)


def _check(resting: Floats, factor: Floats, grid: tuple[int, int]) -> None:
    if not np.all(resting > 0):
        raise Unusable(f"A resting conductivity must be above zero; one is {resting.min():g}.")
    if not np.all((factor >= 0) & (factor <= 1)):
        wrong = float(factor[(factor < 0) | (factor > 1) | ~np.isfinite(factor)][0])
        raise Unusable(
            f"A pore factor is a share from 0 to 1, 0.05 to 0.26 in grain; one is {wrong:g}."
        )
    if grid[0] < 2 or grid[1] < 4 or grid[1] % 2:
        raise Unusable(
            f"A grid needs 2 or more radial and an even 4 or more axial intervals, not {grid}."
        )


def _steps(
    batch: WetBedGrid,
    field: Singles,
    time: Floats,
    vessel: Floats,
    pressure: Floats,
    longest_step_s: float,
) -> Iterator[_Step]:
    """Advance a batch through a vessel curve, (columns, times), in steps that stop at knots.

    A step is longer than `longest_step_s`, up to thrice, while no node changes by `_CALM_K` in it.
    """
    base = min(longest_step_s, max(batch.longest_step_s, _SHORTEST_STEP_S))
    is_long = base > batch.longest_step_s
    lowest, highest = field.min(axis=(0, 1)), field.max(axis=(0, 1))
    rate = np.inf
    for knot in range(1, time.size):
        since, length = float(time[knot - 1]), float(time[knot] - time[knot - 1])
        longest = float(np.clip(_CALM_K / max(rate, 1e-9), base, 3 * base))
        count = ceil(length / longest - 1e-9)
        ends = np.arange(count + 1)[:, None] / count
        warm = vessel[:, knot - 1] + ends * (vessel[:, knot] - vessel[:, knot - 1])
        push = pressure[:, knot - 1] + ends * (pressure[:, knot] - pressure[:, knot - 1])
        warm, push = warm.astype(np.float32), ((push[1:] + push[:-1]) / 2).astype(np.float32)
        instants = np.append(since + length * np.arange(count) / count, time[knot])
        for place in range(count):
            both = warm[place : place + 2]
            lowest = np.minimum(lowest, both.min(axis=0))
            highest = np.maximum(highest, both.max(axis=0))
            after = batch.step(field, length / count, both, push[place], (lowest, highest))
            if is_long:
                np.clip(after, lowest, highest, out=after)
            last = place + 1 == count
            start, until = float(instants[place]), float(instants[place + 1])
            yield _Step(start, until, knot if last else -1, field, after)
            if last:
                rate = float(np.abs(after - field).max()) * count / length
            field = after


def _upper_half(bed: Bed, axis: Singles) -> tuple[Floats, Floats]:
    """Nodes from mid-depth to the end that is heated less, as `least_lethal_height` wants them."""
    middle = (axis.shape[1] - 1) // 2
    up = np.asarray(bed.top_w_m2k) <= bed.bottom_w_m2k
    share = np.linspace(0.0, 0.5, middle + 1)[:, None]
    heights = np.where(up, 0.5 + share, 0.5 - share)
    toward_top, toward_bottom = axis[:, middle:], axis[:, middle::-1]
    chosen = np.where(up, toward_top, toward_bottom)
    return heights, np.swapaxes(chosen, 0, 1)


def _between_nodes(height: Floats, axial: int) -> Floats:
    """Weights of the axis's nodes for a parabola's value at heights [-], (nodes, columns)."""
    place = height * axial
    middle = np.clip(np.rint(place).astype(int), 1, axial - 1)
    offset = place - middle
    weight = np.zeros((axial + 1, height.size))
    columns = np.arange(height.size)
    weight[middle - 1, columns] = offset * (offset - 1) / 2
    weight[middle, columns] = 1 - offset**2
    weight[middle + 1, columns] = offset * (offset + 1) / 2
    return weight
