"""Lots: which jars come from which soak and which run, and the problem of placing them in time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import ceil, floor
from typing import Literal

from spawnwright.actions.planning.facts import Facts, Heat
from spawnwright.model.planning import batch
from spawnwright.model.planning.batch import Cooking, cooking
from spawnwright.model.planning.free_hours import (
    CELL,
    Flags,
    Grid,
    cells_for,
    free_cells,
    intervals,
)
from spawnwright.model.planning.schedule_problem import Chore, Lot, Problem, Run, Sterile, Waits

State = Literal["new", "soaking", "drained"]
CURE_CELLS = cells_for(24 * 60)
BEST_CURE_CELLS = (cells_for(36 * 60), cells_for(48 * 60))
LONGEST_CHORE_CELLS = 8
DRAINED = timedelta(hours=6)
DRAINED_COLD = timedelta(hours=24)
STERILE = timedelta(days=7)


@dataclass(frozen=True)
class RunPlan:
    """Jars of one load; `number` counts through the whole plan from 1."""

    number: int
    jars: int
    """Control jars included."""
    controls: int


@dataclass(frozen=True)
class LotPlan:
    """One soak: its grain, its runs and the work on it."""

    number: int
    state: State
    runs: tuple[RunPlan, ...]
    dry_kg: float
    wet_kg: float
    cooking: Cooking
    since: datetime | None = None
    is_cold: bool = False

    @property
    def jars(self) -> int:
        """Jars filled from it."""
        return sum(run.jars for run in self.runs)


@dataclass(frozen=True)
class Layout:
    """All jars of a plan, by lot and run."""

    lots: tuple[LotPlan, ...]
    sterile: int
    """Jars that are sterile already and are used."""

    @property
    def runs(self) -> tuple[RunPlan, ...]:
        """All runs in order."""
        return tuple(run for lot in self.lots for run in lot.runs)

    @property
    def loaded(self) -> int:
        """Jars that go through the canner."""
        return sum(run.jars for run in self.runs)

    @property
    def controls(self) -> int:
        """Jars that are not inoculated."""
        return sum(run.controls for run in self.runs)

    @property
    def to_make(self) -> int:
        """Jars inoculated."""
        return self.sterile + self.loaded - self.controls

    @property
    def sizes(self) -> tuple[int, ...]:
        """Inoculated jars by run, the sterile ones first."""
        sterile = (self.sterile,) if self.sterile else ()
        return sterile + tuple(run.jars - run.controls for run in self.runs)

    @property
    def new_dry_kg(self) -> float:
        """Dry grain that is still in the sack."""
        return sum(lot.dry_kg for lot in self.lots if lot.state == "new")

    @property
    def dry_kg(self) -> float:
        """Dry grain of all soaks, the one under way included."""
        return sum(lot.dry_kg for lot in self.lots if lot.state != "drained")


@dataclass(frozen=True)
class Begun:
    """What is under way and can still be used, in jars."""

    sterile: int = 0
    drained: int = 0
    soaking: int = 0

    @property
    def jars(self) -> int:
        """All of them."""
        return self.sterile + self.drained + self.soaking


def begun_of(facts: Facts) -> Begun:
    """What is under way and has not waited too long, in whole jars."""
    wish = facts.wish
    way, now, jar = wish.under_way, wish.now, facts.one_jar
    drained = soaking = sterile = 0
    if way.drained_since is not None:
        most = DRAINED_COLD if way.is_cold else DRAINED
        if now - way.drained_since < most:
            drained = floor(way.drained_kg / jar.wet_kg + 1e-9)
    if way.soaking_since is not None:
        longest = timedelta(minutes=facts.soak_min[1])
        if now - way.soaking_since < longest:
            soaking = floor(way.soaking_kg / jar.dry_kg + 1e-9)
    if way.sterile_since is not None and now - way.sterile_since < STERILE:
        sterile = way.sterile_jars
    return Begun(sterile, drained, soaking)


def layout(
    facts: Facts, begun: Begun, to_make: int, new_runs: int, per_soak: int, controls: int
) -> Layout:
    """Share out jars: what is under way first, the rest evenly over new runs.

    `to_make` are inoculated jars, `controls` stand beside them, one at most in a run; `per_soak`
    runs of new grain come from one soak.
    """
    sterile = min(begun.sterile, to_make)
    lots = _shared_out(facts, begun, to_make - sterile + controls, new_runs, per_soak)
    beside = sum(run.jars > 1 for lot in lots for run in lot.runs)
    if beside < controls:  # a control jar alone in a run controls nothing
        return layout(facts, begun, to_make, new_runs, per_soak, beside)
    return Layout(_numbered(lots, controls), sterile)


def _shared_out(
    facts: Facts, begun: Begun, filled: int, new_runs: int, per_soak: int
) -> list[LotPlan]:
    lots: list[LotPlan] = []
    under_way: tuple[tuple[State, int], ...] = (
        ("drained", begun.drained),
        ("soaking", begun.soaking),
    )
    for state, most in under_way:
        jars = min(most, filled)
        if jars > 0:
            lots.append(_lot(facts, state, _evenly(jars, ceil(jars / facts.per_load))))
            filled -= jars
    if filled > 0:
        sizes = _evenly(filled, min(new_runs, filled))
        lots += [
            _lot(facts, "new", sizes[first : first + per_soak])
            for first in range(0, len(sizes), per_soak)
        ]
    return lots


def _evenly(jars: int, runs: int) -> list[int]:
    smaller, larger = divmod(jars, runs)
    return [smaller + 1] * larger + [smaller] * (runs - larger)


def _numbered(lots: Sequence[LotPlan], controls: int) -> tuple[LotPlan, ...]:
    numbered, run_number = [], 0
    for number, lot in enumerate(lots, 1):
        runs = []
        for run in lot.runs:
            run_number += 1
            control = 1 if controls > 0 and run.jars > 1 else 0
            controls -= control
            runs.append(RunPlan(run_number, run.jars, control))
        numbered.append(replace(lot, number=number, runs=tuple(runs)))
    return tuple(numbered)


def _lot(facts: Facts, state: State, sizes: Sequence[int]) -> LotPlan:
    wish, jars = facts.wish, sum(sizes)
    way, kit, one = wish.under_way, wish.kit, facts.one_jar
    dry, wet = jars * one.dry_kg, jars * one.wet_kg
    since = None
    if state == "soaking":
        since, wet = way.soaking_since, way.soaking_kg / one.dry_kg * one.wet_kg
        dry = way.soaking_kg
    elif state == "drained":
        since, wet = way.drained_since, way.drained_kg
        dry = wet / one.wet_kg * one.dry_kg
    work = cooking(
        grain=wish.grain.grain,
        dry_kg=dry,
        wet_kg=wet,
        wet_m3=wet / one.wet_kg * one.filled.share * float(kit.jar.nominal_volume_m3),
        jars=jars,
        simmer_min=(wish.grain.simmer_s or float(wish.grain.grain.simmer_time_s)) / 60,
        pot_m3=kit.pot_m3,
        burner_w=kit.burner_w,
        trays=kit.trays,
        scale_max_kg=kit.scale_max_kg,
    )
    runs = tuple(RunPlan(0, size, 0) for size in sizes)
    return LotPlan(0, state, runs, dry, wet, work, since, state == "drained" and way.is_cold)


@dataclass(frozen=True)
class Clock:
    """The grid that a plan lies on, and its free cells."""

    grid: Grid
    free: Flags

    def at(self, cell: int, minutes: float = 0.0) -> datetime:
        """The instant of a cell, so many minutes later [UTC]."""
        return self.grid.instant(cell) + timedelta(minutes=minutes)


def clock_over(facts: Facts, days: float) -> Clock:
    """From now, or the start that was asked for, over so many days; made once for each span."""
    kept = facts.clocks
    if days not in kept:
        wish = facts.wish
        first = wish.now if wish.goal.start is None else max(wish.now, wish.goal.start)
        begin = first + CELL - timedelta(microseconds=1)  # the first whole quarter hour from then
        last = first + timedelta(days=days)
        free = tuple(intervals(wish.free, wish.place.time_zone, first, last))
        grid = Grid.over(begin, last)
        kept[days] = Clock(grid, free_cells(free, grid))
    clock: Clock = kept[days]
    return clock


def problem_of(facts: Facts, plan: Layout, heat: Heat, clock: Clock, *, cold: bool) -> Problem:
    """The layout as a problem for the search, in quarter hours."""
    lots = tuple(_cells(facts, lot, heat, clock.grid) for lot in plan.lots)
    return Problem(
        free=clock.free,
        lots=lots,
        waits=Waits(cold_loads=int(cold)),
        inoculate_min=(float(batch.INOCULATE_MIN), float(batch.INOCULATE_JAR_MIN)),
        chores=_chores(facts, plan),
        sterile=_sterile(facts, plan, heat, clock.grid),
    )


def run_cells(run: RunPlan, heat: Heat) -> Run:
    """One load of the canner in quarter hours."""
    load, to_zero = cells_for(batch.LOAD_MIN), cells_for(heat.to_zero_min)
    presence, cool = cells_for(heat.presence_min), cells_for(heat.cool_min)
    reuse = presence - to_zero if heat.is_warm_opened else cool
    return Run(run.jars - run.controls, load, to_zero, max(presence, to_zero), cool, reuse)


def _cells(facts: Facts, lot: LotPlan, heat: Heat, grid: Grid) -> Lot:
    work, runs = lot.cooking, tuple(run_cells(run, heat) for run in lot.runs)
    if lot.state == "drained":
        assert lot.since is not None  # a drained lot is under way
        return Lot(
            runs=runs,
            cook=cells_for(work.weigh_min + work.fill_min),
            lids=floor(work.weigh_min / 15),
            drained_since=grid.up_to_instant(lot.since),
            is_cold=lot.is_cold,
        )
    since = None if lot.since is None else grid.up_to_instant(lot.since)
    return Lot(
        runs=runs,
        cook=cells_for(work.minutes),
        drained=floor(work.until_drained_min / 15),
        lids=floor(work.until_fill_min / 15),
        soak=soak_cells(facts),
        soaking_since=since,
    )


def soak_cells(facts: Facts) -> tuple[int, int, int]:
    """Least, best and most of a soak, the quarter hour of starting it included."""
    stated = facts.wish.grain.soak_s
    if stated is not None:
        cells = round(stated / 60 / 15)
        return cells, cells, cells
    least, most = cells_for(facts.soak_min[0]) + 1, floor(facts.soak_min[1] / 15)
    return least, min(cells_for(18 * 60), (least + most) // 2), max(least, most)


def _chores(facts: Facts, plan: Layout) -> tuple[Chore, ...]:
    way = facts.wish.under_way
    washing = _parts(plan, way.jars_washed, batch.WASH_MIN, batch.WASH_JAR_MIN)
    lids = _parts(plan, way.lids_cured, batch.LIDS_MIN, batch.LID_MIN)
    return (
        *(
            Chore(_key("wash-jars", part), cells, lot=lot, pieces=pieces)
            for part, (pieces, cells, lot) in enumerate(washing)
        ),
        *(
            Chore(
                _key("make-lids", part), cells, gap=CURE_CELLS, before_lids=True,
                best_gap=BEST_CURE_CELLS, lot=lot, pieces=pieces,
            )
            for part, (pieces, cells, lot) in enumerate(lids)
        ),
    )  # fmt: skip


def _key(name: str, part: int) -> str:
    return name if part == 0 else f"{name}-{part + 1}"


def _parts(
    plan: Layout, have: int, fixed_min: float, each_min: float
) -> list[tuple[int, int, int]]:
    """Pieces, cells and the lot that needs them first, in stretches of no more than two hours."""
    needed = plan.loaded - have
    if needed <= 0:
        return []
    parts = ceil(cells_for(fixed_min + needed * each_min) / LONGEST_CHORE_CELLS)
    found = []
    for pieces in _evenly(needed, parts):
        cells = cells_for(fixed_min + pieces * each_min)
        found.append((pieces, cells, first_lot_past(plan, have)))
        have += pieces
    return found


def first_lot_past(plan: Layout, jars: int) -> int:
    """Which lot is the first that more than so many jars lead into."""
    filled = 0
    for place, lot in enumerate(plan.lots):
        filled += lot.jars
        if filled > jars:
            return place
    return len(plan.lots) - 1


def _sterile(facts: Facts, plan: Layout, heat: Heat, grid: Grid) -> Sterile | None:
    since = facts.wish.under_way.sterile_since
    if not plan.sterile or since is None:
        return None
    cool = since + timedelta(minutes=heat.drop_min + heat.cool_min)
    return Sterile(
        plan.sterile,
        max(0, grid.from_instant(cool)),
        grid.up_to_instant(since + STERILE),
    )
