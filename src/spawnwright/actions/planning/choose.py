"""Choose: how many jars in how many runs, and when, so that the wish is met as surely as wished.

Fewest runs first; in them the most jars. With a date the latest schedule that is sure enough,
without one the earliest.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from heapq import nlargest
from itertools import islice
from math import ceil, floor, isinf

from spawnwright.actions.planning.facts import Facts, Heat
from spawnwright.actions.planning.lots import (
    Begun,
    Clock,
    Layout,
    begun_of,
    clock_over,
    layout,
    problem_of,
)
from spawnwright.model.planning import batch
from spawnwright.model.planning.chances import chance_by, chance_of_enough_good, plus_days
from spawnwright.model.planning.free_hours import cells_for
from spawnwright.model.planning.open_cells import Calendar
from spawnwright.model.planning.schedule import earliest, latest
from spawnwright.model.planning.schedule_problem import Placement, Problem

MORE_RUNS = 3
"""Runs beyond the fewest that are sure enough, tried for the sake of the date."""
MOST_PER_SOAK = 3
FOREVER_D = 1e6
TEST_DAYS = (7, 10)
USE_DAYS = 1
"""From ready to spawning the substrate."""
TEST_CELLS = cells_for(batch.TEST_MIN)


@dataclass(frozen=True)
class Room:
    """The most jars, inoculated and controls together or apart, and what sets it."""

    inoculated: int
    all_jars: int


@dataclass(frozen=True)
class Share:
    """How jars are shared out: what is under way, how many, over how many new runs and soaks."""

    begun: Begun
    jars: int
    """Inoculated."""
    new_runs: int
    per_soak: int
    controls: int

    def layout(self, facts: Facts) -> Layout:
        """The lots and runs that this comes to."""
        return layout(facts, self.begun, self.jars, self.new_runs, self.per_soak, self.controls)


@dataclass(frozen=True)
class Solution:
    """A schedule that meets the wish."""

    share: Share
    layout: Layout
    problem: Problem
    placement: Placement
    heat: Heat
    clock: Clock
    test: int | None
    """Cell of the culture test, if there is one."""
    chance_of_enough: float
    chance_in_time: float
    is_cold: bool
    """Whether a load may wait in the cold."""

    @property
    def chance(self) -> float:
        """Enough good jars, and ready in time [-]."""
        return self.chance_of_enough * self.chance_in_time

    @property
    def last(self) -> datetime:
        """The end of the last inoculation [UTC]."""
        session = self.placement.sessions[-1]
        return self.clock.at(session.at + session.cells)


def is_control_due(facts: Facts) -> bool:
    """Whether a control jar has a reason beyond a free place."""
    return facts.wish.grain.is_new_lot or facts.wish.kit.is_new_routine


def room_for(facts: Facts, begun: Begun, new_runs: int) -> Room:
    """The most jars that kit, grain, culture and so many new runs allow."""
    wish = facts.wish
    kit, culture, stock = wish.kit, wish.culture, wish.grain.in_stock_kg
    all_jars = min(begun.jars + new_runs * facts.per_load, kit.jars_free, kit.lids_free)
    if stock is not None:
        all_jars = min(all_jars, begun.jars + floor(stock / facts.one_jar.dry_kg + 1e-9))
    doses = culture.volume_m3 / culture.dose_m3
    inoculated = all_jars if isinf(doses) else min(all_jars, floor(doses + 1e-6))
    return Room(inoculated, all_jars)


def fewest_runs(facts: Facts, begun: Begun, jars: int) -> int:
    """New runs that so many jars need beside what is under way [-]."""
    return max(0, ceil((jars - begun.jars) / facts.per_load))


def with_controls(facts: Facts, begun: Begun, new_runs: int) -> tuple[int, int]:
    """Jars to inoculate and control jars, the most that so many new runs hold.

    One control is set aside if grain or routine is new; else one in each run that has a free
    place when the culture gives no more jars.
    """
    room = room_for(facts, begun, new_runs)
    if not begun.drained + begun.soaking + new_runs:  # sterile jars only: no run to control
        return room.inoculated, 0
    if is_control_due(facts):
        return min(room.inoculated, room.all_jars - 1), 1
    free = room.all_jars - room.inoculated
    return room.inoculated, min(free, max(1, new_runs))


def chance_of_enough(facts: Facts, plan: Layout, *, with_test: bool) -> float:
    """Chance of enough good jars from a layout [-]."""
    shares = facts.losses.shares(with_test=with_test)
    return chance_of_enough_good(plan.sizes, facts.wanted, shares)


def days_needed(facts: Facts) -> tuple[float, ...]:
    """Days from inoculation to ready, or to the first harvest, at 1 to 99 percent [d]."""
    ready = facts.ready_percentiles
    if facts.wish.goal.fresh_kg is None:
        return ready
    harvest = facts.wish.goal.species.first_harvest_days
    low, high = getattr(harvest, "low", harvest), getattr(harvest, "high", harvest)
    used = [days + USE_DAYS for days in ready]
    return tuple(plus_days(used, float(harvest), float(low), float(high)).tolist())


def chance_in_time(facts: Facts, last: datetime) -> float:
    """Chance that jars inoculated by `last` are ready by the date, if there is one [-]."""
    ready_by = facts.wish.goal.ready_by
    if ready_by is None:
        return min(1.0, chance_by(FOREVER_D, days_needed(facts)) + 0.01)
    return chance_by((ready_by - last).total_seconds() / 86400, days_needed(facts))


def solve(facts: Facts) -> Solution | None:
    """The plan's jars, runs and schedule; none if the wish cannot be met."""
    if not facts.grows:
        return None
    for begun in _uses(facts):
        sure = (each for each in _shares(facts, begun) if each[0] >= facts.wish.goal.chance)
        for _, share in islice(sure, 1 + MORE_RUNS):
            found = solve_with(facts, begun, share.jars, share.new_runs, share.controls)
            if found is not None:
                return found
    return None


def _shares(facts: Facts, begun: Begun) -> Iterator[tuple[float, Share]]:
    """From the fewest runs that hold the jars up to twice as many: the chance, at best."""
    fewest = fewest_runs(facts, begun, facts.wanted + is_control_due(facts))
    for new_runs in range(fewest, 2 * fewest + MORE_RUNS + 1):
        jars, controls = with_controls(facts, begun, new_runs)
        if jars < facts.wanted or (new_runs > fewest and jars < new_runs):
            continue
        share = Share(begun, jars, new_runs, 1, controls)
        yield chance_of_enough(facts, share.layout(facts), with_test=True) + 1e-12, share


def _uses(facts: Facts) -> Iterator[Begun]:
    """What is under way: all of it; as much as has cured lids; none of what must be cooked."""
    begun = begun_of(facts)
    yield begun
    cured = facts.wish.under_way.lids_cured
    if begun.drained + begun.soaking > cured:
        drained = min(begun.drained, cured)
        yield Begun(begun.sterile, drained, min(begun.soaking, cured - drained))
    if begun.drained and begun.soaking:
        yield Begun(begun.sterile, 0, begun.soaking)
    if begun.drained or begun.soaking:
        yield Begun(begun.sterile)
    if begun.sterile:
        yield Begun()


def solve_with(
    facts: Facts, begun: Begun, jars: int, new_runs: int, controls: int
) -> Solution | None:
    """The schedule for so many jars in so many new runs; none if none is sure enough."""
    best: Solution | None = None
    wants_last = facts.wish.goal.ready_by is not None and not begun.jars
    for cold in (False, True) if facts.wish.kit.has_cold_place else (False,):
        for per_soak in range(min(MOST_PER_SOAK, max(1, new_runs)), 0, -1):
            share = Share(begun, jars, new_runs, per_soak, controls)
            found = _placed(facts, share, cold=cold)
            if found is None:
                continue
            if wants_last:
                return found
            if best is None or found.last < best.last:
                best = found
    return best


def _placed(facts: Facts, share: Share, *, cold: bool) -> Solution | None:
    plan = share.layout(facts)
    tries = [
        (with_test, chance_of_enough(facts, plan, with_test=with_test))
        for with_test in ((False,) if facts.losses.is_tested else (True, False))
    ]
    tries = [each for each in tries if each[1] >= facts.wish.goal.chance - 1e-12]
    if not tries:
        return None
    cold = cold or any(lot.is_cold for lot in plan.lots)
    heat = facts.heat_from_cold if cold else facts.heat
    clock = clock_over(facts, horizon_days(facts, plan))
    problem = problem_of(facts, plan, heat, clock, cold=cold)
    if not _single_lots_fit(problem):
        return None
    for with_test, enough in tries:
        found = _scheduled(facts, share, problem, heat, clock, enough, with_test, cold)
        if found is not None:
            return found
    return None


def horizon_days(facts: Facts, plan: Layout) -> float:
    """Days to look ahead: to the date, or as long as so many runs could take [d]."""
    goal = facts.wish.goal
    first = facts.wish.now if goal.start is None else max(facts.wish.now, goal.start)
    if goal.ready_by is None:
        return 35.0 + 7.0 * len(plan.runs)
    return max(1.0, (goal.ready_by - first).total_seconds() / 86400)


def _single_lots_fit(problem: Problem) -> bool:
    """Whether each kind of new lot fits at all, for itself; saves searching for many in vain."""
    seen = set()
    for lot in problem.lots:
        if lot.soaking_since is None and lot.drained_since is None and lot not in seen:
            seen.add(lot)
            alone = Problem(problem.free, (lot,), problem.waits, problem.inoculate_min)
            if earliest(alone) is None:
                return False
    return True


def _scheduled(
    facts: Facts,
    share: Share,
    problem: Problem,
    heat: Heat,
    clock: Clock,
    enough: float,
    with_test: bool,
    cold: bool,
) -> Solution | None:
    goal = facts.wish.goal

    def last_of(placed: Placement) -> datetime:
        session = placed.sessions[-1]
        return clock.at(session.at + session.cells)

    def meets(placed: Placement) -> bool:
        in_time = chance_in_time(facts, last_of(placed))
        return enough * in_time >= goal.chance - 1e-12

    is_late = goal.ready_by is not None and not share.begun.jars and facts.wants_latest
    placed = latest(problem, meets) if is_late else earliest(problem)
    if placed is None or not meets(placed):
        return None
    test = _test(placed, problem) if with_test else None
    if with_test and test is None:
        return None
    return Solution(
        share,
        share.layout(facts),
        problem,
        placed,
        heat,
        clock,
        test,
        enough,
        chance_in_time(facts, last_of(placed)),
        cold,
    )


def _test(placed: Placement, problem: Problem) -> int | None:
    """The latest cell for a culture test, 7 to 10 days before the first inoculation."""
    calendar = Calendar(problem.free & ~placed.taken)
    first = placed.sessions[0].at
    least, most = (96 * days for days in TEST_DAYS)
    return calendar.latest(TEST_CELLS, first - most, first - least + TEST_CELLS)


def attended_hours(facts: Facts, plan: Layout, heat: Heat, *, with_test: bool) -> float:
    """Hours in which somebody must be there [h]."""
    way = facts.wish.under_way
    minutes = TEST_CELLS * 15.0 * with_test
    washed, lids = plan.loaded - way.jars_washed, plan.loaded - way.lids_cured
    minutes += (batch.WASH_MIN + washed * batch.WASH_JAR_MIN) * (washed > 0)
    minutes += (batch.LIDS_MIN + lids * batch.LID_MIN) * (lids > 0)
    for lot in plan.lots:
        minutes += batch.SOAK_START_MIN * (lot.state == "new")
        work = lot.cooking
        minutes += work.weigh_min + work.fill_min if lot.state == "drained" else work.minutes
        minutes += len(lot.runs) * (batch.LOAD_MIN + heat.presence_min)
    return (minutes + batch.INOCULATE_MIN + plan.to_make * batch.INOCULATE_JAR_MIN) / 60


def days_until(facts: Facts, chance: float) -> float | None:
    """Days after the last inoculation by which it is ready with a chance; none if never [d]."""
    for share, days in enumerate(days_needed(facts), 1):
        if share / 100 >= chance and not isinf(days):
            return days
    return None


def most_chance(facts: Facts) -> float:
    """The most that the chance of meeting the wish can be as things are [-]."""
    if not facts.grows:
        return 0.0
    begun, goal = begun_of(facts), replace(facts.wish.goal, chance=0.0)
    anyhow = facts.for_wish(replace(facts.wish, goal=goal))
    best = nlargest(1 + MORE_RUNS, _shares(facts, begun), key=lambda each: each[0])
    found = (
        solve_with(anyhow, begun, share.jars, share.new_runs, share.controls) for _, share in best
    )
    return max((each.chance for each in found if each is not None), default=0.0)
