"""Heat conduction in a filled jar: the exact modal series of a finite cylinder.

The bed starts at one temperature and is driven by any piecewise-linear vessel temperature. With
θ the bed's temperature less the vessel's, each mode obeys y' = −λ y − dTv/dt and is advanced in
closed form over each straight piece, so there is no error of time-stepping. Range, checks and
open questions: docs/models/conduction.md.

What is carried from knot to knot is not y but v = y + (dTv/dt)/λ, its distance from the lag that
it would have behind a steadily warming vessel. The lag itself is summed over *all* modes at
once: it solves a Poisson equation (`model/heat/modes.py`). So a mode that is left out costs only
its own short memory of the last bend in the vessel's curve.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from spawnwright.model.heat.bed import (
    Bed,
    BedHistory,
    Floats,
    candidate_heights,
    curve,
    interpolated,
    knots,
    least_lethal_height,
    steam_off_instants,
)
from spawnwright.model.heat.modal_march import Keeper, march
from spawnwright.model.heat.modes import Modes, Outlook, bed_modes

_UNFELT = 0.02  # α t/ℓ² until which the core has felt nothing: to 1e-4 of a step
_BATCH = 512  # scenarios that are marched together: as many as stay near the processor
_SOME = 40  # knots that do to find the coldest height


@dataclass(frozen=True)
class Batch:
    """The modal state of some of the scenarios, at the instants that were asked for."""

    rows: slice
    modes: Modes
    outlook: Outlook  # the core, the coldest point, the end that is heated less, the mean
    deviation: Floats  # v, (modes, holds, scenarios) [K]
    slope: Floats  # of the vessel just before, (holds, scenarios) [K/s]


@dataclass(frozen=True)
class BedState:
    """Beds as they were at chosen instants, to be continued with `continue_from`.

    `steam_off_s` [s], `core_c`, `mean_c` and `vessel_c` [°C] have the shape (scenarios, holds),
    `coldest_height_m` (scenarios,) [m].
    """

    steam_off_s: Floats
    core_c: Floats
    mean_c: Floats
    vessel_c: Floats
    coldest_height_m: Floats
    batches: tuple[Batch, ...]


def conduct(
    bed: Bed,
    diffusivity_m2_s: ArrayLike,
    start_c: ArrayLike,
    time_s: ArrayLike,
    vessel_c: ArrayLike,
    *,
    core_at: ArrayLike = 0.5,
) -> BedHistory:
    """Temperatures at the knots of a bed that conducts heat with one diffusivity.

    Parameters
    ----------
    bed : Bed
        Size, film coefficients and heat capacity; each a number or (scenarios,).
    diffusivity_m2_s : float or array (scenarios,)
        Thermal diffusivity; conductivity is this × volumetric heat capacity [m²/s].
    start_c : float or array (scenarios,)
        Temperature of the whole bed at the first knot [°C].
    time_s : array (times,)
        Knots, rising [s].
    vessel_c : array (times,) or (scenarios, times)
        Vessel temperature at the knots; a straight line between two. A first value that differs
        from the start is a step at the first instant [°C].
    core_at : float or array (scenarios,)
        Height of the point called core, as a share of the depth: half, unless a probe stands
        elsewhere on the axis [-].

    Returns
    -------
    BedHistory
        Arrays of shape (scenarios, times).

    Raises
    ------
    Unusable
        If shapes do not fit or a value is no number.
    OutOfRange
        If a Biot number lies outside 1e-8 to 1e8.

    Notes
    -----
    T = Tv − Tv' G + Σ share·v over cylinder modes × slab modes [CARSLAW1959]_; G is the lag.
    Modes left out change F0 by less than 0.5 % (tests/model/heat/test_conduction.py). Between the
    knots the bed's own curve is bent: knots 60 s apart are close enough to count F0 in a jar.
    Errs: too cold for grain that drains freely, where vapor carries heat as well.
    """
    return conduct_and_keep(bed, diffusivity_m2_s, start_c, time_s, vessel_c, core_at=core_at)[0]


def conduct_and_keep(
    bed: Bed,
    diffusivity_m2_s: ArrayLike,
    start_c: ArrayLike,
    time_s: ArrayLike,
    vessel_c: ArrayLike,
    steam_off_s: ArrayLike = (),
    *,
    core_at: ArrayLike = 0.5,
) -> tuple[BedHistory, BedState]:
    """As `conduct`, and the beds as they were at instants from which cooling may begin.

    `steam_off_s` has the shape (holds,) or (scenarios, holds) and lies anywhere between the
    first and the last knot [s]. One heating trajectory then serves every hold.
    """
    time = knots(time_s)
    vessel = np.asarray(vessel_c, dtype=float)
    bed, (diffusivity, start, core, _) = bed.spread(
        diffusivity_m2_s, start_c, core_at, vessel[..., 0]
    )
    scenarios = start.size
    vessel = curve(vessel, (scenarios, time.size), "The vessel's temperature")
    off = steam_off_instants(steam_off_s, time, scenarios)
    seen, then = np.empty((4, scenarios, time.size)), np.empty((4, *off.shape))
    height, batches = np.empty(scenarios), []
    for first in range(0, scenarios, _BATCH):
        rows = slice(first, first + _BATCH)
        some = bed if scenarios <= _BATCH else bed.part(rows)
        modes = bed_modes(some, diffusivity[rows])
        share = _coldest_share(modes, start[rows], time, vessel[rows])
        height[rows] = share * modes.bed.depth_m
        end = candidate_heights(modes.bed)[-1]
        outlook = modes.outlook(np.stack([core[rows], share, end]))
        keeper = Keeper(modes, off[rows], time, vessel[rows])
        followed = _follow(
            modes, outlook, start[rows], time, vessel[rows], keeper if off.size else None
        )
        seen[:, rows] = followed.swapaxes(1, 2)
        batches.append(Batch(rows, modes, outlook, keeper.deviation, keeper.slope))
        now = outlook.see(keeper.deviation[None])[:, 0] - outlook.behind(keeper.slope)
        then[:, rows] = np.swapaxes(now, 1, 2)
    vessel_then = interpolated(off, time, vessel)
    core_then, _, _, mean_then = then + vessel_then
    history = BedHistory(time, seen[0], seen[1], seen[3], height, seen[2])
    return history, BedState(off, core_then, mean_then, vessel_then, height, tuple(batches))


def continue_from(state: BedState, time_s: ArrayLike, vessel_c: ArrayLike) -> BedHistory:
    """Temperatures of beds from the instants of `state` on, for instance while they cool.

    Parameters
    ----------
    state : BedState
        From `conduct_and_keep`.
    time_s : array (times,)
        Knots counted from each bed's own instant: the first is 0 [s].
    vessel_c : array (times,), (scenarios, times) or (scenarios, holds, times)
        Vessel temperature at these knots, straight lines between them [°C].

    Returns
    -------
    BedHistory
        Arrays of shape (scenarios, holds, times); the coldest point stays the one that was
        coldest over the whole heating.
    """
    time = knots(time_s)
    scenarios, holds = state.core_c.shape
    vessel = curve(vessel_c, (scenarios, holds, time.size), "The vessel's temperature")
    seen = np.empty((4, scenarios, holds, time.size))
    for batch in state.batches:
        rows, modes, outlook = batch.rows, batch.modes, batch.outlook
        slope = np.diff(vessel[rows].T, axis=0) / np.diff(time)[:, None, None]
        # The vessel may fall at once, when steam is let go: then the bed is that much warmer.
        drop = (state.vessel_c[rows] - vessel[rows, :, 0]).T
        bend = (slope[0] - batch.slope) / modes.rate[:, None, :]
        there = np.empty((4, time.size, *drop.shape))
        there[:, :1] = outlook.see(batch.deviation[None])
        there[:, 0] += drop - outlook.behind(batch.slope)
        first = batch.deviation + bend + drop
        for ends, deviation in march(modes, outlook, first, time, slope, None):
            there[:, ends] = outlook.see(deviation)
        there[:, 1:] -= outlook.behind(slope)
        seen[:, rows] = there.transpose(0, 3, 2, 1)
    seen += vessel
    return BedHistory(time, seen[0], seen[1], seen[3], state.coldest_height_m, seen[2])


def _coldest_share(modes: Modes, start: Floats, time: Floats, vessel: Floats) -> Floats:
    """Share of the depth at which the axis is coldest, (scenarios,) [-].

    Lethality is so flat about its least that slow modes and some of the knots do for this.
    """
    some = np.arange(0, time.size, -(-time.size // _SOME))
    some = some if some.size > 1 else np.array([0, time.size - 1])
    heights = candidate_heights(modes.bed)
    slow = modes.slow()
    seen = _follow(slow, slow.outlook(heights), start, time[some], vessel[:, some], None)
    return least_lethal_height(heights, time[some], seen[:-1])


def _follow(
    modes: Modes,
    outlook: Outlook,
    start: Floats,
    time: Floats,
    vessel: Floats,
    keeper: Keeper | None,
) -> Floats:
    """Temperatures in beds from a uniform start, (places, times, scenarios) [°C]."""
    slope = np.diff(vessel.T, axis=0)[:, None, :] / np.diff(time)[:, None, None]
    first = (start - vessel[:, 0] + slope[0] / modes.rate)[:, None, :]
    seen = np.empty((len(outlook.lag_s), time.size, start.size))
    seen[:, 0] = start
    for ends, deviation in march(modes, outlook, first, time, slope, keeper):
        seen[:, ends] = outlook.see(deviation)[:, :, 0]
    seen[:, 1:] += vessel.T[1:] - outlook.behind(slope[:, 0])
    unfelt = (time - time[0])[:, None] * modes.felt_rate < _UNFELT
    np.copyto(seen[:-1], start, where=unfelt)
    return seen
