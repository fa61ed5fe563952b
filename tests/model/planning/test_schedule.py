"""The search keeps every limit, and finds what a search without cleverness finds."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spawnwright.model.planning.schedule import earliest, latest
from spawnwright.model.planning.schedule_problem import (
    Chore,
    Lot,
    Placement,
    Problem,
    Run,
    Sterile,
    Waits,
)

RUN = Run(jars=7, load=1, to_zero=14, presence=14, cool=30, reuse=32)
LOT = Lot(runs=(RUN,), cook=11, drained=4, lids=9, soak=(49, 72, 96))
DAYS = 14


def evenings(first: int, until: int, days: int = DAYS) -> np.ndarray:
    """Free from cell `first` to cell `until` of every day of 96 cells."""
    flags = np.zeros(96 * days, dtype=bool)
    for day in range(days):
        flags[96 * day + first : 96 * day + until] = True
    return flags


def problem(free: np.ndarray, lots: tuple[Lot, ...] = (LOT,), **more: object) -> Problem:
    return Problem(
        free, lots, Waits(**more.pop("waits", {})), more.pop("inoculate_min", (30.0, 3.0)), **more
    )


def broken(placed: Placement, given_: Problem) -> list[str]:
    """Every limit that a placement breaks, looked at one by one."""
    faults: list[str] = []
    busy = [(each.at, each.at + each.cells) for each in placed.sessions]
    runs: list[tuple[int, int, int]] = []
    canner_free = 0
    for where, lot in zip(placed.lots, given_.lots, strict=True):
        busy.append((where.cook, where.cook + lot.cook))
        soak = lot.soaking_since if where.soak is None else where.soak
        busy += [(where.soak, where.soak + 1)] if where.soak is not None else []
        if lot.soak and not lot.soak[0] <= where.cook - soak <= lot.soak[2]:
            faults.append("soak")
        before = where.cook + lot.cook
        waits = []
        for load, run in zip(where.loads, lot.runs, strict=True):
            waits.append(load + run.load - where.cook - lot.drained)
            if load < max(before, canner_free):
                faults.append("canner or grower not free")
            busy.append((load, load + run.load + run.presence))
            zero = load + run.load + run.to_zero
            runs.append((run.jars, zero + run.cool, load + run.load))
            canner_free, before = zero + run.reuse, load + run.load + run.presence
        chilled = [wait for wait in waits if wait > given_.waits.drained]
        if len(chilled) > given_.waits.cold_loads:
            faults.append("no room in the cold")
        if any(wait > given_.waits.drained_cold for wait in chilled):
            faults.append("drained grain waits")
    return faults + _late(placed, given_, runs, busy) + _clashes(given_.free, busy)


def _late(placed: Placement, given_: Problem, runs, busy) -> list[str]:
    faults: list[str] = []
    for session in placed.sessions:
        for _, cool, heat_on in runs[max(0, session.first - 1) : session.last]:
            if session.at < cool or session.at - heat_on > given_.waits.sterile:
                faults.append("inoculation")
    if sum(each.jars for each in placed.sessions) != sum(jars for jars, _, _ in runs):
        faults.append("jars left out")
    for chore in given_.chores:
        at, where, lot = placed.chores[chore.key], placed.lots[chore.lot], given_.lots[chore.lot]
        busy.append((at, at + chore.cells))
        if at + chore.cells > where.cook + (lot.lids if chore.before_lids else 0) - chore.gap:
            faults.append(chore.key)
    return faults


def _clashes(free: np.ndarray, busy) -> list[str]:
    seen = np.zeros(len(free), dtype=int)
    for first, end in busy:
        seen[max(0, first) : end] += 1
    outside = any(first < 0 or not free[first:end].all() for first, end in busy)
    return ["outside the free hours"] * outside + ["two things at once"] * bool((seen > 1).any())


def by_brute_force(given_: Problem) -> int | None:
    """The earliest inoculation of one lot with one run: every combination is looked at."""
    (lot,), (run,) = given_.lots, given_.lots[0].runs
    free, cells, waits = given_.free, len(given_.free), given_.waits
    session = -(-int(given_.inoculate_min[0] + given_.inoculate_min[1] * run.jars) // 15)

    def fits(first: int, length: int) -> bool:
        return first + length <= cells and bool(free[first : first + length].all())

    found = []
    for soak in (each for each in range(cells) if fits(each, 1)):
        for cook in range(soak + lot.soak[0], soak + lot.soak[2] + 1):
            for load in range(cook + lot.cook, cells) if fits(cook, lot.cook) else ():
                heat_on = load + run.load
                most = waits.drained_cold if waits.cold_loads else waits.drained
                if heat_on - cook - lot.drained > most:
                    break
                if not fits(load, run.load + run.presence):
                    continue
                cool = max(heat_on + run.to_zero + run.cool, heat_on + run.presence)
                at = next((each for each in range(cool, cells) if fits(each, session)), None)
                if at is not None and at + session - heat_on <= waits.sterile:
                    found.append(at)
    return min(found, default=None)


def test_a_batch_fits_a_saturday_after_a_soak_over_night():
    found = earliest(problem(evenings(32, 88)))

    assert found is not None
    (lot,) = found.lots
    assert 49 <= lot.cook - lot.soak <= 96
    assert lot.loads[0] == lot.cook + LOT.cook
    assert broken(found, problem(evenings(32, 88))) == []


def test_two_runs_of_a_canner_that_stays_shut_need_two_soaks():
    """A second run on the same grain would begin 8 h later: past 6 h at room temperature."""
    both = Lot(runs=(RUN, RUN), cook=16, drained=4, lids=9, soak=(49, 72, 96))

    assert earliest(problem(evenings(32, 88), (both,))) is None
    split = earliest(problem(evenings(32, 88), (LOT, LOT)))
    assert split is not None
    assert split.lots[1].cook // 96 > split.lots[0].cook // 96
    assert len(split.sessions) == 1, "one inoculation serves both runs within seven days"


def test_the_cold_lets_cooking_and_canner_fall_on_two_evenings():
    short = evenings(72, 90)

    assert earliest(problem(short)) is None
    found = earliest(problem(short, waits={"cold_loads": 1}))
    assert found is not None
    assert found.lots[0].cold == (True,)
    assert found.lots[0].loads[0] // 96 == found.lots[0].cook // 96 + 1


def test_sterile_jars_go_no_later_than_their_seven_days():
    free = evenings(72, 90)
    jars = Sterile(7, cool=0, until=72 + 4)

    assert earliest(problem(free, (), sterile=jars)).sessions[0].at == 72
    assert earliest(problem(free, (), sterile=Sterile(7, cool=0, until=74))) is None


@pytest.mark.parametrize(("is_cold", "wait"), [(False, 24), (True, 96)])
def test_drained_grain_waits_to_the_quarter_hour_and_no_longer(is_cold, wait):
    """Six hours at room temperature, a day in the cold, from draining to heat on."""
    heat_on = 10 + 3 + RUN.load
    free = evenings(10, 90, days=3)

    def lot(since: int) -> Lot:
        return Lot(runs=(RUN,), cook=3, lids=1, drained_since=since, is_cold=is_cold)

    found = earliest(problem(free, (lot(heat_on - wait),)))
    assert found.lots[0].loads == (13,)
    assert earliest(problem(free, (lot(heat_on - wait - 1),))) is None


def test_lids_cure_before_the_first_one_goes_on():
    lids = Chore("lids", 4, gap=96, before_lids=True, best_gap=(144, 192))
    found = earliest(problem(evenings(32, 88), chores=(lids,)))

    assert found is not None
    assert found.lots[0].cook + LOT.lids - (found.chores["lids"] + 4) >= 96
    assert broken(found, problem(evenings(32, 88), chores=(lids,))) == []


def test_the_latest_schedule_is_one_that_meets_and_the_next_does_not():
    given_ = problem(evenings(32, 88))
    deadline = 96 * 8
    found = latest(given_, lambda each: each.sessions[-1].at <= deadline)

    assert found is not None
    assert found.sessions[-1].at <= deadline
    end_of_day = 96 * (found.lots[0].cook // 96 + 1)
    later = earliest(given_, end_of_day)
    assert later is None or later.sessions[-1].at > deadline


def test_the_latest_schedule_begins_with_the_free_hours_of_its_day():
    given_ = problem(evenings(32, 88))

    found = latest(given_, lambda each: each.sessions[-1].at <= 96 * 8)
    assert found.lots[0].cook % 96 == 32


def test_soaking_grain_is_cooked_before_it_sours():
    under_way = Lot(runs=(RUN,), cook=11, drained=4, lids=9, soak=(49, 72, 96), soaking_since=-40)

    found = earliest(problem(evenings(0, 96), (under_way,)))
    assert found.lots[0].soak is None
    assert 9 <= found.lots[0].cook <= 56
    assert earliest(problem(evenings(57, 96), (under_way,))) is None


hours = st.tuples(st.integers(0, 80), st.integers(8, 70))
runs = st.builds(
    Run,
    jars=st.integers(1, 9),
    load=st.integers(1, 2),
    to_zero=st.integers(10, 16),
    presence=st.just(16),
    cool=st.integers(0, 40),
    reuse=st.integers(2, 40),
)
lots = st.builds(
    lambda run, more, cook, drained, lids: Lot(
        runs=tuple(run for _ in range(more)), cook=cook, drained=drained, lids=lids,
        soak=(49, 72, 96),
    ),
    runs, st.integers(1, 2), st.integers(6, 14), st.integers(0, 5), st.integers(0, 6),
)  # fmt: skip


@settings(max_examples=100)
@given(
    days=st.lists(hours, min_size=10, max_size=10),
    many=st.lists(lots, min_size=1, max_size=3),
    cold=st.integers(0, 1),
    cook_from=st.integers(0, 200),
)
def test_no_schedule_breaks_a_limit(days, many, cold, cook_from):
    free = np.zeros(96 * len(days), dtype=bool)
    for day, (first, length) in enumerate(days):
        free[96 * day + first : 96 * day + min(96, first + length)] = True
    given_ = problem(
        free,
        tuple(many),
        waits={"cold_loads": cold},
        chores=(
            Chore("wash", 2),
            Chore("lids", 3, gap=96, before_lids=True, best_gap=(144, 192)),
        ),
    )

    found = earliest(given_, cook_from)
    if found is not None:
        assert broken(found, given_) == []
        assert all(each.cook >= cook_from for each in found.lots)


small_runs = st.builds(
    Run,
    jars=st.integers(1, 9),
    load=st.just(1),
    to_zero=st.integers(3, 4),
    presence=st.integers(4, 5),
    cool=st.integers(0, 10),
    reuse=st.integers(1, 10),
)
stretches = st.lists(st.tuples(st.integers(1, 9), st.integers(1, 14)), min_size=4, max_size=9)


@settings(max_examples=100)
@given(stretches=stretches, run=small_runs, cold=st.integers(0, 1))
def test_one_lot_is_as_early_as_a_search_through_everything_finds(stretches, run, cold):
    free = np.concatenate([np.repeat([False, True], pair) for pair in stretches])
    lot = Lot(runs=(run,), cook=5, drained=2, lids=3, soak=(6, 9, 14))
    waits = {"cold_loads": cold, "drained": 6, "drained_cold": 20, "sterile": 40}
    given_ = problem(free, (lot,), waits=waits)

    found = earliest(given_)
    assert (found.sessions[-1].at if found else None) == by_brute_force(given_)
