"""The live clock of a run: how much lethality the core has, and how long is left.

Pure functions of the noted events and an instant; nothing ticks here, and time is the difference
of two instants, so that summer time, a closed lid or a killed program change nothing. A few dozen
scenarios are solved over the past and some hours ahead; every question between two events is read
from them. Range, checks and what is ignored: docs/models/run-clock.md.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import cached_property

import numpy as np

from spawnwright.model.canner.run_inputs import run_inputs
from spawnwright.model.canner.sterilizer_run import Runs, runs
from spawnwright.model.canner.vessel import VENT_S, Heating, heat_up, time_below_s
from spawnwright.model.scenarios import Floats, band, draw
from spawnwright.model.sterilizing.hold_table import COOLING_TIME_S
from spawnwright.model.sterilizing.lethality import lethality_curve_min
from spawnwright.model.watch.run_cautions import cautions_at, forgotten
from spawnwright.model.watch.run_chain import Typical, chain_at
from spawnwright.model.watch.run_events import FOLLOWED_S, stage_after
from spawnwright.model.watch.run_solver import solve_run
from spawnwright.model.watch.run_vessel import (
    FALL_TIME_S,
    Lost,
    Noted,
    come_up_instants_s,
    free_fall_c,
    rise_k_s,
    run_vessel_c,
)
from spawnwright.records.band import Band
from spawnwright.records.run_log import RunEvent, RunLog, RunState
from spawnwright.sources import JUDGMENT, Constant

SCENARIOS = 96
TARGET_F0_MIN = Constant(
    15.0, "min", source=JUDGMENT, where="core F0 of 12 to 15 min covers ordinary spores of grain"
)
_AHEAD_S = 3 * 3600.0  # beyond the planned hold, to see when the target is met
_COOLING_S = 5 * 3600.0
_BEFORE_KNOTS = 24
_AHEAD_STEP_S = 1800.0


@dataclass(frozen=True)
class Kitchen:
    """All scenarios of a run up to pressure; they depend on the set-up alone."""

    every: Runs
    heating: Heating
    hold_s: float

    @cached_property
    def typical(self) -> Typical:
        """Likely times of the steps that the balance foresees."""
        heating, every = self.heating, self.every
        jet = float(np.median(heating.to_jet_s))
        rise = float(np.median(heating.come_up_s - heating.to_jet_s)) - float(VENT_S)
        first = -float(np.max(heating.come_up_s))
        time_s = np.append(np.linspace(first, 0.0, 40), np.linspace(60.0, self.hold_s, 20))
        vessel = run_vessel_c(every, heating, Noted(), time_s)
        curve = free_fall_c(every, heating, time_s, vessel, self.hold_s)
        fall = time_below_s(FALL_TIME_S, curve, every.vessel.boil_c)
        return Typical(jet, float(VENT_S), rise, float(np.median(fall)))


@dataclass(frozen=True)
class RunClock:
    """A run and its solved scenarios, good until `good_until`; made by `run_clock`."""

    log: RunLog
    kitchen: Kitchen
    good_until: datetime | None = None
    """Beyond this instant the scenarios must be solved anew; none before pressure is reached."""
    time_s: Floats | None = None
    """Instants from pressure reached on [s]; arrays below have the shape (scenarios, instants)."""
    vessel_c: Floats | None = None
    core_c: Floats | None = None
    coldest_c: Floats | None = None
    f0_with_cooling_min: Floats | None = None


def kitchen_of(log: RunLog, scenarios: int = SCENARIOS) -> Kitchen:
    """Canner and jars of a run in all scenarios, and their come-up by the balance.

    Parameters
    ----------
    log : RunLog
        Its set-up counts, not its events [-].
    scenarios : int
        How many [-].

    Returns
    -------
    Kitchen
        To be kept for the run.

    Raises
    ------
    Unusable
        If the burner cannot hold the pressure.
    """
    question = log.setup.question
    every = runs(question, draw(run_inputs(question), scenarios))
    return Kitchen(every, heat_up(every.vessel, every.draw), log.setup.hold_s)


def run_clock(log: RunLog, now: datetime, kitchen: Kitchen | None = None) -> RunClock:
    """Solve a run over its past and some hours ahead.

    Parameters
    ----------
    log : RunLog
        Set-up and events [-].
    now : datetime
        The present [-].
    kitchen : Kitchen, optional
        From an earlier clock of this run; made anew if not given [-].

    Returns
    -------
    RunClock
        To be asked with `state_at`.

    Notes
    -----
    The hold is taken as kept from the last event on. While pressure is lost it is taken as being
    brought back from now on, so the clock is good for that instant only.
    """
    kitchen, now = kitchen or kitchen_of(log), now.astimezone(UTC)
    clock = RunClock(log, kitchen)
    reached = log.last("pressure reached")
    if reached is None:
        return clock
    is_over, now = now > _followed_until(log), min(now, _followed_until(log))
    log = _with_end(log, is_over=is_over)
    noted, off_s = _noted(log, reached), _planned_off_s(log, reached, now)
    now_s = (now - reached.at).total_seconds()
    is_off = noted.off_s is not None
    ahead = max(off_s, _AHEAD_STEP_S * np.ceil(max(now_s, 0.0) / _AHEAD_STEP_S))
    last = ahead + (_COOLING_S if is_off else _AHEAD_S)
    time_s = _knots_s(kitchen, noted, off_s, last)
    vessel = run_vessel_c(kitchen.every, kitchen.heating, _brought_back(kitchen, noted, now_s,
                          time_s), time_s)  # fmt: skip
    cooling = None
    if not is_off:
        cooling = free_fall_c(kitchen.every, kitchen.heating, time_s, vessel, off_s, COOLING_TIME_S)
    core, coldest, kept = solve_run(kitchen.every, time_s, vessel, off_s, cooling)
    is_lost = stage_after(log.events) == "pressure lost"
    until = now if is_lost else reached.at + timedelta(seconds=float(ahead))
    return replace(
        clock, good_until=_FOREVER if is_over else max(until, now), time_s=time_s,
        vessel_c=vessel, core_c=core, coldest_c=coldest, f0_with_cooling_min=kept,
    )  # fmt: skip


def state_at(clock: RunClock, now: datetime) -> RunState:
    """Where a run stands at an instant.

    Parameters
    ----------
    clock : RunClock
        From `run_clock`; solved anew here if it is not good for that instant [-].
    now : datetime
        With its offset from UTC, not before the last event [-].

    Returns
    -------
    RunState
        All that a terminal or a page shows.

    Notes
    -----
    F0 counts at the core from burner on, straight lines between the solver's instants. Lethality
    stops to count when the canner is opened, though the grain is still hot then, and a day after
    the last event: then a hold of which nobody noted the end counts for as long as was planned.
    """
    log, stage, now = clock.log, stage_after(clock.log.events), now.astimezone(UTC)
    typical = clock.kitchen.typical
    state = RunState(
        now=now,
        stage=stage,
        since=log.events[-1].at if log.events else None,
        chain=chain_at(log, typical, now),
        cautions=cautions_at(stage),
    )
    reached = log.last("pressure reached")
    if reached is None:
        return state
    if clock.good_until is None or now > clock.good_until:
        clock = run_clock(log, now, clock.kitchen)
    is_over, silent = now > _followed_until(log), now - log.events[-1].at
    opened, now = log.last("opened"), min(now, _followed_until(log))
    is_forgotten, log = is_over and opened is None, _with_end(log, is_over=is_over)
    is_cold = is_over or opened is not None
    seen = _Seen(clock, (now - reached.at).total_seconds())
    at_pressure, since_back = _pressure_s(log, reached, now)
    left, again = log.setup.hold_s - at_pressure, log.setup.hold_s - since_back
    is_off = log.last("heat off") is not None
    return replace(
        state,
        reached_at=reached.at,
        minutes_at_pressure=at_pressure / 60,
        cautions=(*forgotten(silent), *cautions_at(stage)) if is_forgotten else state.cautions,
        vessel_c=None if is_cold else seen.band_of("vessel_c"),
        core_c=None if is_cold else seen.band_of("core_c"),
        f0_min=band(seen.f0_min("core_c")),
        coldest_f0_min=band(seen.f0_min("coldest_c")),
        hold_left_min=None if is_off else left / 60,
        restarted_hold_left_min=None if is_off else again / 60,
        hold_ends_at=None if is_off else now + timedelta(seconds=left),
        restarted_hold_ends_at=None if is_off else now + timedelta(seconds=again),
        to_target_min=None if is_off else seen.to_target_min(log.setup.target_min),
        chance_target_reached=float(np.mean(seen.f0_min("core_c") >= log.setup.target_min)),
        f0_with_cooling_min=_with_cooling(clock, opened is not None),
    )


def _with_cooling(clock: RunClock, is_opened: bool) -> Band | None:
    expected = clock.f0_with_cooling_min
    return None if expected is None or is_opened else band(expected)


class _Seen:
    """Solved scenarios up to an instant."""

    def __init__(self, clock: RunClock, now_s: float) -> None:
        assert clock.time_s is not None
        self.clock, self.now_s = clock, now_s
        self.end = int(np.searchsorted(clock.time_s, now_s))
        self.time_s = np.append(clock.time_s[: self.end], now_s)

    def _at_now(self, name: str) -> Floats:
        time, every = self.clock.time_s, getattr(self.clock, name)
        assert time is not None
        return np.array([np.interp(self.now_s, time, row) for row in every])

    def band_of(self, name: str) -> Band:
        return band(self._at_now(name))

    def f0_min(self, name: str) -> Floats:
        every = getattr(self.clock, name)
        past = np.column_stack([every[:, : self.end], self._at_now(name)])
        return np.asarray(lethality_curve_min(self.time_s, past)[:, -1])

    def to_target_min(self, target_min: float) -> Band:
        """Minutes from now until each scenario has the target; infinite if not by the end."""
        time, core = self.clock.time_s, self.clock.core_c
        assert time is not None
        assert core is not None
        curve = lethality_curve_min(time, core)
        place = np.argmax(curve >= target_min, axis=1)
        is_reached = curve[:, -1] >= target_min
        rows, before = np.arange(len(curve)), np.maximum(place - 1, 0)
        low, high = curve[rows, before], curve[rows, place]
        part = np.where(high > low, (target_min - low) / np.where(high > low, high - low, 1), 1.0)
        at = time[before] + part * (time[place] - time[before])
        left = np.where(is_reached, np.maximum(at - self.now_s, 0.0) / 60, np.inf)
        low_left, likely, high_left = np.percentile(left, (5, 50, 95), method="inverted_cdf")
        return Band(float(low_left), float(likely), float(high_left))


def _noted(log: RunLog, reached: RunEvent) -> Noted:
    def since(event: RunEvent | None) -> float | None:
        return None if event is None else (event.at - reached.at).total_seconds()

    lost: list[Lost] = []
    for event in log.events:
        if event.name == "pressure lost":
            gauge = float(log.setup.question.gauge_pa)
            share = None if event.gauge_pa is None else event.gauge_pa / gauge
            lost.append(Lost((event.at - reached.at).total_seconds(), share, None))
        elif event.name == "back at pressure":
            lost[-1] = replace(lost[-1], back_s=since(event))
    return Noted(
        since(log.last("heat on")), since(log.last("steady jet")), since(log.last("vent closed")),
        tuple(lost), since(log.last("heat off")), since(log.last("zero pressure")),
    )  # fmt: skip


def _followed_until(log: RunLog) -> datetime:
    """To when a run is worked out, however late it is asked for: to the opening, or for a day.

    A lid that was noted as off months later adds nothing either.
    """
    opened = log.last("opened")
    before = [each for each in log.events if each is not opened]
    ends = (before or [log.events[-1]])[-1].at + timedelta(seconds=FOLLOWED_S)
    return ends if opened is None else min(ends, opened.at)


def _with_end(log: RunLog, *, is_over: bool) -> RunLog:
    """The log of a run that is over, with the end of its heat if nobody noted that.

    That is where the hold was full by plan, or where pressure was lost: no later, since more heat
    than was noted is no comfort.
    """
    reached = log.last("pressure reached")
    if not is_over or reached is None or log.last("heat off") is not None:
        return log
    last = log.events[-1]
    held_s, _ = _pressure_s(log, reached, last.at)
    left_s = max(log.setup.hold_s - held_s, 0.0) if last.name != "pressure lost" else 0.0
    off = RunEvent("heat off", last.at + timedelta(seconds=left_s))
    return replace(log, events=(*log.events, off))


_FOREVER = datetime.max.replace(tzinfo=UTC)


def _brought_back(kitchen: Kitchen, noted: Noted, now_s: float, time_s: Floats) -> Noted:
    """Where pressure is lost and nothing is noted since: on its way back from now on."""
    if not noted.lost or noted.lost[-1].back_s is not None or noted.off_s is not None:
        return noted
    every = kitchen.every
    falling = run_vessel_c(every, kitchen.heating, noted, time_s)
    now_c = np.array([np.interp(now_s, time_s, row) for row in falling])
    back = now_s + (every.vessel.hold_c - now_c) / rise_k_s(every)
    return replace(noted, lost=(*noted.lost[:-1], replace(noted.lost[-1], back_s=back)))


def _pressure_s(log: RunLog, reached: RunEvent, now: datetime) -> tuple[float, float]:
    """Seconds at pressure since it was first reached, and since it was last brought back."""
    whole, began = 0.0, reached.at
    is_held, restarted = True, 0.0
    for event in log.events[log.events.index(reached) + 1 :]:
        if event.name in ("pressure lost", "heat off") and is_held:
            restarted = (event.at - began).total_seconds()
            whole, is_held = whole + restarted, False
            restarted = 0.0 if event.name == "pressure lost" else restarted
        elif event.name == "back at pressure":
            began, is_held = event.at, True
    if is_held:
        restarted = (now - began).total_seconds()
        whole += restarted
    return whole, restarted


def _planned_off_s(log: RunLog, reached: RunEvent, now: datetime) -> float:
    """Seconds from pressure reached to heat off: noted, or with time lost added to the hold."""
    off = log.last("heat off")
    if off is not None:
        return max((off.at - reached.at).total_seconds(), 1.0)
    whole, _ = _pressure_s(log, reached, now)
    left = max(log.setup.hold_s - whole, 0.0)
    held_now = (now - reached.at).total_seconds()
    return max(held_now + left, log.setup.hold_s)


def _knots_s(kitchen: Kitchen, noted: Noted, off_s: float, last_s: float) -> Floats:
    """Instants for the solver: close where the vessel bends."""
    first = min(-60.0, float(np.min(come_up_instants_s(kitchen.heating, noted)[:, 0])))
    before = first * np.linspace(1.0, 0.0, _BEFORE_KNOTS + 1)[:-1] ** 1.2
    close = [np.arange(0.0, min(1800.0, last_s), 90.0), np.arange(0.0, last_s, 180.0)]
    for lost in noted.lost:
        back = lost.at_s + 1800.0 if lost.back_s is None else float(np.max(lost.back_s))
        close.append(np.arange(max(lost.at_s - 1800.0, 0.0), min(back + 600.0, last_s), 60.0))
        close.append(np.clip([lost.at_s, back], 0.0, last_s))
    if noted.off_s is not None:
        close.append(np.arange(off_s, min(off_s + 3600.0, last_s), 60.0))
    after = np.unique(np.round(np.concatenate([*close, [off_s, last_s]]), 3))
    kept = after[np.concatenate([[True], np.diff(after) > 5.0])]
    return np.concatenate([before, kept])
