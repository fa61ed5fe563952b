"""Heat conduction in a filled jar: the exact modal series of a finite cylinder.

The bed starts at one temperature and is driven by any piecewise-linear vessel temperature. With
θ the bed's temperature less the vessel's, each mode obeys y' = −λ y − dTv/dt and is advanced in
closed form over each straight piece, so there is no error of time-stepping. Range, checks and
open questions: docs/models/conduction.md.

What is carried from knot to knot is not y but v = y + (dTv/dt)/λ, its distance from the lag that
it would have behind a steadily warming vessel. The lag itself is summed over *all* modes at
once: it solves a Poisson equation (`model/modes.py`). So a mode that is left out costs only its
own short memory of the last bend in the vessel's curve.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import ArrayLike

from spawnwright.model.bed import (
    Bed,
    BedHistory,
    Floats,
    candidate_heights,
    curve,
    knots,
    least_lethal_height,
    steam_off_instants,
)
from spawnwright.model.modes import Modes, Outlook, bed_modes

_UNFELT = 0.02  # α t/ℓ² until which the core has felt nothing: to 1e-4 of a step
_FORGOTTEN_K = 0.02  # the quick modes are left to the lag while each is below this at the core


@dataclass(frozen=True)
class BedState:
    """Beds as they were at chosen instants, to be continued with `continue_from`.

    `steam_off_s` [s], `core_c`, `mean_c` and `vessel_c` [°C] have the shape (scenarios, holds).
    """

    steam_off_s: Floats
    core_c: Floats
    mean_c: Floats
    vessel_c: Floats
    coldest_height_m: Floats
    modes: Modes
    deviation: Floats  # v at these instants × the mode's share, (modes, holds, scenarios) [K]
    slope: Floats  # of the vessel just before them, (holds, scenarios) [K/s]


def conduct(
    bed: Bed,
    diffusivity_m2_s: ArrayLike,
    start_c: ArrayLike,
    time_s: ArrayLike,
    vessel_c: ArrayLike,
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
    Modes left out change F0 by less than 0.5 % (tests/model/test_conduction.py). Between the
    knots the bed's own curve is bent: knots 60 s apart are close enough to count F0 in a jar.
    Errs: too cold for grain that drains freely, where vapor carries heat as well.
    """
    return conduct_and_keep(bed, diffusivity_m2_s, start_c, time_s, vessel_c)[0]


def conduct_and_keep(
    bed: Bed,
    diffusivity_m2_s: ArrayLike,
    start_c: ArrayLike,
    time_s: ArrayLike,
    vessel_c: ArrayLike,
    steam_off_s: ArrayLike = (),
) -> tuple[BedHistory, BedState]:
    """As `conduct`, and the beds as they were at instants from which cooling may begin.

    `steam_off_s` has the shape (holds,) or (scenarios, holds) and lies anywhere between the
    first and the last knot [s]. One heating trajectory then serves every hold.
    """
    time = knots(time_s)
    vessel = np.asarray(vessel_c, dtype=float)
    bed, (diffusivity, start, _) = bed.spread(diffusivity_m2_s, start_c, vessel[..., 0])
    vessel = curve(vessel, (start.size, time.size), "The vessel's temperature")
    off = steam_off_instants(steam_off_s, time, start.size)
    modes = bed_modes(bed, diffusivity)
    height = _coldest_height(modes, start, time, vessel)
    outlook = modes.outlook(np.stack([np.full_like(height, 0.5), height]))
    slope, first = _drive(modes, start, time, vessel)
    keeper = _Keeper(modes, outlook, off, time, slope)
    seen = np.empty((3, time.size, start.size))
    seen[:, 0] = start
    for end, deviation in _march(modes, first, time, slope, keeper):
        seen[:, end] = outlook.see(deviation, slope[end - 1])[:, 0] + vessel[:, end]
    unfelt = (time - time[0])[:, None] * modes.felt_rate < _UNFELT
    np.copyto(seen[:2], start, where=unfelt)
    core_c, coldest_c, mean_c = (np.ascontiguousarray(one.T) for one in seen)
    history = BedHistory(time, core_c, coldest_c, mean_c, height * bed.depth_m)
    return history, keeper.state(vessel, history)


def _drive(modes: Modes, start: Floats, time: Floats, vessel: Floats) -> tuple[Floats, Floats]:
    """Slopes of the vessel, (pieces, 1, scenarios), and the first v, (modes, 1, scenarios)."""
    slope = np.diff(vessel.T, axis=0)[:, None, :] / np.diff(time)[:, None, None]
    return slope, (start - vessel[:, 0] + slope[0] / modes.rate)[:, None, :]


def _coldest_height(modes: Modes, start: Floats, time: Floats, vessel: Floats) -> Floats:
    """Share of the depth at which the axis is coldest, (scenarios,) [-].

    Lethality is so flat about its least that slow modes and some of the knots do for this.
    """
    some = np.unique(np.append(np.arange(0, time.size, -(-time.size // 50)), time.size - 1))
    time, vessel = time[some], vessel[:, some]
    heights = candidate_heights(modes.bed)
    outlook = modes.outlook(heights)
    slope, first = _drive(modes, start, time, vessel)
    seen = np.empty((heights.shape[0], time.size, start.size))
    seen[:, 0] = start
    for end, deviation in _march(modes, first, time, slope, None):
        seen[:, end] = outlook.see(deviation[: modes.slow], slope[end - 1])[:-1, 0] + vessel[:, end]
    return least_lethal_height(heights, time, seen)


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
    modes = state.modes
    height = state.coldest_height_m / modes.bed.depth_m
    outlook = modes.outlook(np.stack([np.full_like(height, 0.5), height]))
    slope = np.diff(vessel.T, axis=0) / np.diff(time)[:, None, None]
    # The vessel may fall at once, when steam is let go: then the bed is that much warmer.
    drop = (state.vessel_c - vessel[..., 0]).T
    bend = (slope[0] - state.slope) / modes.rate[:, None, :]
    seen = np.empty((3, time.size, holds, scenarios))
    seen[:, 0] = outlook.see(state.deviation, state.slope) + state.vessel_c.T
    for end, deviation in _march(modes, state.deviation + bend + drop, time, slope, None):
        seen[:, end] = outlook.see(deviation, slope[end - 1]) + vessel[..., end].T
    core_c, coldest_c, mean_c = (np.ascontiguousarray(one.T) for one in seen)
    return BedHistory(time, core_c, coldest_c, mean_c, state.coldest_height_m)


def _march(
    modes: Modes, first: Floats, time: Floats, slope: Floats, keeper: _Keeper | None
) -> Iterator[tuple[int, Floats]]:
    """Advance the deviations v, (modes, holds, scenarios), from knot to knot.

    Gives each knot's number and the v of the modes that still matter there, to be read at once:
    the array is used again. `slope` has the shape (pieces, holds or 1, scenarios) [K/s].
    """
    slow, rate = modes.slow, modes.rate
    slow_lag, quick_lag = (1 / part[:, None, :] for part in (rate[:slow], rate[slow:]))
    slowest = float(rate[slow:].min(initial=np.inf))
    now = first.copy()
    memory = float(np.abs(now[slow:]).max(initial=0.0))  # bound on what any quick mode holds
    step = 0.0
    for end in range(1, time.size):
        if time[end] - time[end - 1] != step:
            step = float(time[end] - time[end - 1])
            decay = modes.decay(step)[:, None, :]
            fade = exp(-slowest * step)
        if keeper is not None:
            keeper.keep(end, now)
        memory *= fade
        carried = modes.count if memory > _FORGOTTEN_K else slow
        alive = now[:carried]
        alive *= decay[:carried]
        yield end, alive
        if end < time.size - 1:
            now[carried:] = 0.0
            bend = slope[end] - slope[end - 1]
            largest = float(np.abs(bend).max())
            if largest > 0:
                now[:slow] += slow_lag * bend
                memory += largest / slowest
            if memory > _FORGOTTEN_K:
                now[slow:] += quick_lag * bend


class _Keeper:
    """Notes the beds at chosen instants while they pass."""

    def __init__(
        self, modes: Modes, outlook: Outlook, off: Floats, time: Floats, slope: Floats
    ) -> None:
        scenarios, holds = off.shape
        self.modes, self.outlook, self.off, self.time = modes, outlook, off, time
        self.deviation = np.zeros((modes.count, holds, scenarios))
        self.piece = np.clip(np.searchsorted(time, off, side="left"), 1, time.size - 1)
        columns = np.arange(scenarios)[:, None]
        self.slope = slope[self.piece - 1, 0, columns].T
        self.asked = set(np.unique(self.piece).tolist())

    def keep(self, end: int, deviation: Floats) -> None:
        """Keep those whose instant lies in the piece that ends at this knot."""
        if end not in self.asked:
            return
        scenario, hold = np.nonzero(self.piece == end)
        since = self.off[scenario, hold] - self.time[end - 1]
        left = np.exp(-self.modes.rate[:, scenario] * since)
        self.deviation[:, hold, scenario] = deviation[:, 0, scenario] * left

    def state(self, vessel: Floats, history: BedHistory) -> BedState:
        """All that was kept."""
        rows = np.arange(self.off.shape[0])[:, None]
        span = self.time[self.piece] - self.time[self.piece - 1]
        share = (self.off - self.time[self.piece - 1]) / span
        vessel_c = vessel[rows, self.piece - 1] * (1 - share) + vessel[rows, self.piece] * share
        seen = self.outlook.see(self.deviation, self.slope)
        return BedState(
            self.off,
            seen[0].T + vessel_c,
            seen[-1].T + vessel_c,
            vessel_c,
            history.coldest_height_m,
            self.modes,
            self.deviation,
            self.slope,
        )
