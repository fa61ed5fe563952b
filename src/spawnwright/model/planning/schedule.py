"""Schedule: the chain of a batch on a grid of quarter hours, by exhaustive search.

Every start of the cooking within the horizon is tried, for each with the earliest runs that the
free hours and the waiting limits allow; the one that ends first is taken, of equal ones the one
that waits least. Lots follow one another: for a later lot it only matters when the grower and
the canner are free again, so the earliest end of each is the best start for the next.
Formulation, checks and limits: docs/models/plan.md.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from spawnwright.model.planning.free_hours import Flags, cells_for
from spawnwright.model.planning.open_cells import NEVER, Calendar, Cells
from spawnwright.model.planning.schedule_problem import (
    Chore,
    Lot,
    PlacedLot,
    Placement,
    Problem,
    Session,
    Waits,
)

HALF_A_DAY = cells_for(12 * 60)


def earliest(problem: Problem, cook_from: int = 0) -> Placement | None:
    """The schedule that is inoculated first, of those that cook no grain before `cook_from`.

    Parameters
    ----------
    problem : Problem
        Lots, chores, free cells and limits [cells of a quarter hour].
    cook_from : int
        No cooking begins before this; soaks and chores may [cell].

    Returns
    -------
    Placement or None
        None if nothing fits.

    Notes
    -----
    For one lot the search is exhaustive over the starts of cooking, and the earliest run after
    each is the best one for it. For several lots it errs to the late side: no lot is cooked
    before the runs of the one before are over.
    """
    calendar = Calendar(problem.free)
    placed: list[PlacedLot] = []
    chores: dict[str, int] = {}
    busy_until, canner_free = cook_from, 0
    cold_left = problem.waits.cold_loads
    for number, lot in enumerate(problem.lots):
        own = [each for each in problem.chores if each.lot == number]
        found = _place(calendar, lot, own, problem.waits, cold_left, busy_until, canner_free)
        if found is None:
            return None
        where, begun = found
        placed.append(where)
        chores |= begun
        last, load = lot.runs[-1], where.loads[-1]
        busy_until = load + last.load + last.presence
        canner_free = load + last.load + last.to_zero + last.reuse
    sessions = _sessions(calendar, problem, placed)
    if sessions is None:
        return None
    return Placement(tuple(placed), chores, sessions, calendar.taken)


def latest(problem: Problem, meets: Callable[[Placement], bool]) -> Placement | None:
    """The schedule whose cooking begins last of those which `meets` accepts, or none.

    `meets` must hold for every schedule that is over earlier than one for which it holds; then
    halving the time in which to begin finds the last beginning [cells]. On that day it then
    begins with the free hours, not at the last minute of them.
    """
    found = earliest(problem)
    if found is None or not meets(found):
        return None
    low, high = 0, len(problem.free)
    while high - low > 1:
        middle = (low + high) // 2
        trial = earliest(problem, middle)
        if trial is not None and meets(trial):
            low, found = middle, trial
        else:
            high = middle
    relaxed = earliest(problem, _start_of_stretch(problem.free, low))
    return relaxed if relaxed is not None and meets(relaxed) else found


def _start_of_stretch(free: Flags, cell: int) -> int:
    """The beginning of the free hours that a cell lies in, at most half a day before it."""
    first = min(cell, len(free) - 1)
    while first > max(0, cell - HALF_A_DAY) and free[first - 1]:
        first -= 1
    return first


def latest_cooking(problem: Problem, placed: Placement) -> int:
    """How late the first lot may be cooked so that a schedule like `placed` is still found [cell].

    The grower's hours and all waiting limits hold; what comes later may move.
    """
    low, high = placed.lots[0].cook, len(problem.free)
    while high - low > 1:
        middle = (low + high) // 2
        if earliest(problem, middle) is None:
            high = middle
        else:
            low = middle
    return low


@dataclass
class _Candidates:
    """Starts of the cooking that are possible, with the runs that follow each, best first."""

    cook: Cells
    loads: list[Cells] = field(default_factory=list)
    cold: list[Flags] = field(default_factory=list)


def _place(
    calendar: Calendar,
    lot: Lot,
    chores: list[Chore],
    waits: Waits,
    cold_loads: int,
    busy_until: int,
    canner_free: int,
) -> tuple[PlacedLot, dict[str, int]] | None:
    cook = np.flatnonzero(calendar.starts(lot.cook))
    cook = cook[cook >= busy_until]
    if lot.soaking_since is not None and lot.soak is not None:
        least, _, most = lot.soak
        cook = cook[(cook >= lot.soaking_since + least) & (cook <= lot.soaking_since + most)]
    elif lot.soak is not None:
        cook = cook[_soak_exists(calendar, lot.soak, cook)]
    for chore in chores:
        done = calendar.first(chore.cells, 0) + chore.cells
        cook = cook[_chore_end(chore, lot, cook) >= done]
    best = _runs(calendar, lot, cook, waits, cold_loads, canner_free)
    for place in range(len(best.cook)):
        found = _settle(calendar, lot, chores, best, place)
        if found is not None:
            return found
    return None


def _soak_exists(calendar: Calendar, soak: tuple[int, int, int], cook: Cells) -> Flags:
    """Whether a soak can begin between most and least before each start of the cooking."""
    least, _, most = soak
    total = np.concatenate(([0], np.cumsum(calendar.open)))
    first = np.clip(cook - most, 0, len(calendar.open))
    last = np.clip(cook - least + 1, first, len(calendar.open))
    return np.asarray(total[last] > total[first])


def _chore_end(chore: Chore, lot: Lot, cook: Cells) -> Cells:
    return cook + (lot.lids if chore.before_lids else 0) - chore.gap


def _runs(
    calendar: Calendar, lot: Lot, cook: Cells, waits: Waits, cold_loads: int, canner_free: int
) -> _Candidates:
    """The earliest runs after each start of the cooking, those that break no limit, best first."""
    drained = cook + lot.drained if lot.drained_since is None else 0 * cook + lot.drained_since
    loads: list[Cells] = []
    cold: list[Flags] = []
    allowed = np.ones(len(cook), dtype=np.bool_)
    most = waits.drained_cold if cold_loads or lot.is_cold else waits.drained
    earliest_load = np.maximum(cook + lot.cook, canner_free)
    for run in lot.runs:
        load = calendar.next_start(run.load + run.presence, earliest_load)
        wait = load + run.load - drained
        loads.append(load)
        cold.append(wait > waits.drained)
        allowed &= (load < NEVER) & (wait <= most)
        earliest_load = load + run.load + np.maximum(run.presence, run.to_zero + run.reuse)
    if not lot.is_cold:
        allowed &= np.sum(cold, axis=0) <= cold_loads
    order = np.lexsort((-cook, loads[-1]))
    order = order[allowed[order]]
    return _Candidates(cook[order], [each[order] for each in loads], [each[order] for each in cold])


def _settle(
    calendar: Calendar,
    lot: Lot,
    chores: list[Chore],
    best: _Candidates,
    place: int,
) -> tuple[PlacedLot, dict[str, int]] | None:
    """Place soak and chores around one candidate, and take its cells; none if they do not fit."""
    cook = int(best.cook[place])
    loads = tuple(int(each[place]) for each in best.loads)
    trial = Calendar(calendar.open)
    trial.take(cook, lot.cook)
    for load, run in zip(loads, lot.runs, strict=True):
        trial.take(load, run.load + run.presence)
    soak = None
    if lot.soak is not None and lot.soaking_since is None:
        soak = _best_soak(trial, lot.soak, cook)
        if soak is None:
            return None
        trial.take(soak, 1)
    begun: dict[str, int] = {}
    for chore in chores:
        at = _best_chore(trial, chore, int(_chore_end(chore, lot, np.array([cook]))[0]))
        if at is None:
            return None
        trial.take(at, chore.cells)
        begun[chore.key] = at
    calendar.taken |= trial.taken
    calendar.open[:] = trial.open
    calendar.take(0, 0)
    cold = tuple(bool(each[place]) for each in best.cold)
    return PlacedLot(soak, cook, loads, cold), begun


def _best_soak(calendar: Calendar, soak: tuple[int, int, int], cook: int) -> int | None:
    least, best, most = soak
    first = max(0, cook - most)
    starts = first + np.flatnonzero(calendar.open[first : max(first, cook - least + 1)])
    if not len(starts):
        return None
    return int(starts[np.argmin(np.abs(cook - starts - best))])


def _best_chore(calendar: Calendar, chore: Chore, end: int) -> int | None:
    if chore.best_gap is not None:
        near, far = (gap - chore.gap for gap in chore.best_gap)
        preferred = calendar.latest(chore.cells, end - far - chore.cells, end - near)
        if preferred is not None:
            return preferred
    return calendar.latest(chore.cells, 0, end)


@dataclass(frozen=True)
class _Due:
    """Jars that wait for inoculation: from when, until when, how many."""

    number: int
    jars: int
    cool: int
    until: int


def _sessions(
    calendar: Calendar, problem: Problem, placed: list[PlacedLot]
) -> tuple[Session, ...] | None:
    """Inoculations, from the last run backwards, each for as many runs as cost it no delay."""
    due: list[_Due] = []
    number = 0
    if problem.sterile is not None:
        jars = problem.sterile
        due.append(_Due(0, jars.jars, jars.cool, jars.until))
    for where, lot in zip(placed, problem.lots, strict=True):
        for load, run in zip(where.loads, lot.runs, strict=True):
            zero = load + run.load + run.to_zero
            until = load + run.load + problem.waits.sterile
            number += 1
            due.append(_Due(number, run.jars, zero + run.cool, until))
    sessions: list[Session] = []
    end = len(due)
    while end:
        found = _session(calendar, problem, due, end)
        if found is None:
            return None
        first, session = found
        calendar.take(session.at, session.cells)
        sessions.append(session)
        end = first
    return tuple(sorted(sessions, key=lambda each: each.at))


def _session(
    calendar: Calendar, problem: Problem, due: list[_Due], end: int
) -> tuple[int, Session] | None:
    best: tuple[int, Session] | None = None
    for first in range(end - 1, -1, -1):
        group = due[first:end]
        cells = _inoculation_cells(problem, group)
        at = calendar.first(cells, max(each.cool for each in group))
        if at + cells > min(each.until for each in group):
            break
        alone = calendar.first(_inoculation_cells(problem, group[:1]), group[0].cool)
        if best is not None and (at > best[1].at or at - alone > problem.waits.together):
            break
        jars = sum(each.jars for each in group)
        best = first, Session(group[0].number, group[-1].number, at, cells, jars)
    return best


def _inoculation_cells(problem: Problem, group: list[_Due]) -> int:
    ready, each_jar = problem.inoculate_min
    return cells_for(ready + each_jar * sum(each.jars for each in group))
