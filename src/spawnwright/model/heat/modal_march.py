"""Modes marched from knot to knot of a vessel curve, each in closed form over each straight piece.

What is carried is v, a mode's distance from the lag that it would have behind a vessel that
warms as steadily as now: over a piece v decays, and at a knot it is kicked by the bend of the
vessel's curve over the mode's rate. Arrays are (modes, holds, scenarios).
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from spawnwright.model.heat.bed import Floats
from spawnwright.model.heat.modes import Deviations, Modes, Outlook

_FORGOTTEN_K = 0.005  # a mode is left to the lag while its own part is below this
_FEW = 262_144  # numbers: so many deviations at all knots are few


def march(
    modes: Modes,
    outlook: Outlook,
    first: Floats,
    time: Floats,
    slope: Floats,
    keeper: Keeper | None,
) -> Iterator[tuple[slice, Deviations]]:
    """Deviations at the knots after the first, from `first`, (modes, holds, scenarios) [K].

    `time` are the knots, (times,) [s]; `slope` is the vessel's over the pieces between them,
    (pieces, holds or 1, scenarios) [K/s]. Gives knots, and the v there of the modes that matter,
    (knots, modes, holds, scenarios) [K], to be read at once: the room is used again.
    """
    if first.size * (time.size - 1) <= _FEW:
        yield slice(1, time.size), _all_knots(modes, first, time, slope, keeper)
    else:
        yield from _knot_by_knot(modes, outlook, first, time, slope, keeper)


def _all_knots(
    modes: Modes, first: Floats, time: Floats, slope: Floats, keeper: Keeper | None
) -> Deviations:
    """All modes at all knots: for a few beds, whose time goes into the steps themselves."""
    durations, kind = np.unique(np.diff(time), return_inverse=True)
    decay = modes.decay(durations)[:, :, None, :]
    kick = np.diff(slope, axis=0)[:, None] / modes.rate[:, None, :]
    rows = np.empty((time.size - 1, *first.shape))
    now = first
    if first.shape[1] == 1:  # flat arrays step more quickly
        flat = [each.reshape(len(each), first.size) for each in (rows, kick, decay)]
        now = first.ravel()
    else:
        flat = [rows, kick, decay]
    places, kicks, decays = (list(each) for each in flat)
    for piece, each in enumerate(kind.tolist()):
        if piece:
            now = np.add(places[piece - 1], kicks[piece - 1], out=places[piece])
        if keeper is not None:
            keeper.keep(piece + 1, now.reshape(first.shape))
        np.multiply(now, decays[each], out=places[piece])
    return rows


def _knot_by_knot(
    modes: Modes,
    outlook: Outlook,
    first: Floats,
    time: Floats,
    slope: Floats,
    keeper: Keeper | None,
) -> Iterator[tuple[slice, Deviations]]:
    """Many beds, one knot after the other, in single precision: it halves what is moved.

    A mode is carried while what its largest v in any bed could do, at the places that are looked
    at, exceeds `_FORGOTTEN_K`. Modes stand in the order of their rates, so those are always the
    first few.
    """
    now, room = first.astype(np.float32), np.empty(first.shape, np.float32)
    slowest = modes.rate.min(axis=1)
    lag = (1 / modes.rate)[:, None, :].astype(np.float32)
    bend = np.diff(slope, axis=0).astype(np.float32)
    sharpest = np.abs(bend).max(axis=(1, 2), initial=0.0)
    weight = np.abs(outlook.share).max(axis=(0, 2))
    memory = np.abs(first).max(axis=(1, 2)) * weight
    weight /= slowest
    carried, duration = len(modes.rate), 0.0
    for end in range(1, time.size):
        if time[end] - time[end - 1] != duration:
            duration = float(time[end] - time[end - 1])
            decay = modes.decay(np.array([duration]))[0, :, None, :].astype(np.float32)
            fade = np.exp(-slowest * duration)
        if end > 1 and sharpest[end - 2] > 0:
            memory += sharpest[end - 2] * weight
            carried = max(carried, _last_above(memory))
            np.multiply(lag[:carried], bend[end - 2], out=room[:carried])
            now[:carried] += room[:carried]
        if keeper is not None:
            keeper.keep(end, now[:carried])
        memory *= fade
        fewer = _last_above(memory)
        now[fewer:carried] = 0.0
        carried = fewer
        now[:carried] *= decay[:carried]
        yield slice(end, end + 1), now[None, :carried]


def _last_above(memory: Floats) -> int:
    """How many of the first modes hold all that still matter."""
    matter = np.flatnonzero(memory > _FORGOTTEN_K)
    return int(matter[-1]) + 1 if matter.size else 1


class Keeper:
    """Notes the beds at chosen instants, (scenarios, holds), while they pass."""

    def __init__(self, modes: Modes, off: Floats, time: Floats, vessel: Floats) -> None:
        scenarios, holds = off.shape
        self.rate, self.off, self.time = modes.rate, off, time
        self.deviation = np.zeros((len(modes.rate), holds, scenarios))
        self.piece = np.clip(np.searchsorted(time, off, side="left"), 1, time.size - 1)
        rows = np.arange(scenarios)[:, None]
        rise = vessel[rows, self.piece] - vessel[rows, self.piece - 1]
        self.slope = (rise / (time[self.piece] - time[self.piece - 1])).T
        self.asked = set(self.piece.ravel().tolist())

    def keep(self, end: int, deviation: Deviations) -> None:
        """Keep those whose instant lies in the piece that ends at this knot."""
        if end in self.asked:
            scenario, hold = np.nonzero(self.piece == end)
            since = self.off[scenario, hold] - self.time[end - 1]
            some = len(deviation)
            left = np.exp(-self.rate[:some, scenario] * since)
            self.deviation[:some, hold, scenario] = deviation[:, 0, scenario] * left
