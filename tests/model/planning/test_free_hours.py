"""Free hours become cells of a grid in UTC, through the days on which the clocks change."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from spawnwright.model.planning.free_hours import (
    CELL,
    Grid,
    cells_for,
    free_cells,
    intervals,
    longest_stretch,
)
from spawnwright.records.wish import FreeHours

WARSAW = ZoneInfo("Europe/Warsaw")
AUTUMN, SPRING = date(2026, 10, 25), date(2026, 3, 29)


def utc(*numbers: int) -> datetime:
    return datetime(*numbers, tzinfo=UTC)


def evening(start: time = time(18), until: time = time(22)) -> FreeHours:
    return FreeHours((0, 1, 2, 3, 4, 5, 6), None, start, until)


def on(day: date, hours: FreeHours, zone: ZoneInfo = WARSAW) -> list[tuple[datetime, datetime]]:
    first = datetime.combine(day, time(), zone)
    return [
        each
        for each in intervals([hours], zone, first, first + timedelta(days=1))
        if each[0].astimezone(zone).date() == day
    ]


def test_an_evening_is_the_same_wall_clock_hours_in_winter_and_in_summer():
    assert on(date(2026, 1, 10), evening()) == [(utc(2026, 1, 10, 17), utc(2026, 1, 10, 21))]
    assert on(date(2026, 7, 10), evening()) == [(utc(2026, 7, 10, 16), utc(2026, 7, 10, 20))]


def test_hours_past_midnight_end_on_the_next_day():
    assert on(date(2026, 1, 10), evening(time(22), time(2))) == [
        (utc(2026, 1, 10, 21), utc(2026, 1, 11, 1))
    ]


def test_a_whole_day_lasts_as_long_as_the_day_does():
    """Subtracting wall clocks would say 24 h for each; the clocks change on the last two."""
    whole = FreeHours((), None, time(0), time(0))
    lengths = [
        end - begin
        for day in (date(2026, 10, 24), AUTUMN, SPRING)
        for begin, end in on(day, FreeHours((), day, whole.start, whole.until))
    ]

    assert lengths == [timedelta(hours=24), timedelta(hours=25), timedelta(hours=23)]


@pytest.mark.parametrize(
    ("day", "start", "until", "expected"),
    [
        # 02:00-03:00 happens twice in autumn: only what is free on either reading counts
        (AUTUMN, time(2, 30), time(6), (utc(2026, 10, 25, 1, 30), utc(2026, 10, 25, 5))),
        (AUTUMN, time(0), time(2, 30), (utc(2026, 10, 24, 22), utc(2026, 10, 25, 0, 30))),
        # 02:00-03:00 does not happen in spring
        (SPRING, time(2, 30), time(6), (utc(2026, 3, 29, 1, 30), utc(2026, 3, 29, 4))),
        (SPRING, time(0), time(2, 30), (utc(2026, 3, 28, 23), utc(2026, 3, 29, 0, 30))),
    ],
)
def test_when_the_clocks_change_a_window_is_never_longer_than_promised(day, start, until, expected):
    assert on(day, FreeHours((), day, start, until)) == [expected]


def test_windows_that_meet_or_overlap_are_one():
    day = date(2026, 11, 28)
    hours = [
        FreeHours((), day, time(9), time(12)),
        FreeHours((), day, time(12), time(14)),
        FreeHours((5,), None, time(13), time(15)),
    ]

    found = intervals(hours, ZoneInfo("UTC"), utc(2026, 11, 28), utc(2026, 11, 29))

    assert found == [(utc(2026, 11, 28, 9), utc(2026, 11, 28, 15))]
    assert longest_stretch(found) == timedelta(hours=6)


def test_cells_count_only_when_free_from_beginning_to_end():
    grid = Grid.over(utc(2026, 11, 28, 8, 7), utc(2026, 11, 28, 10))
    flags = free_cells([(utc(2026, 11, 28, 8, 20), utc(2026, 11, 28, 9, 10))], grid)

    free = [grid.instant(cell) for cell in flags.nonzero()[0]]
    assert grid.first == utc(2026, 11, 28, 8)
    assert free == [utc(2026, 11, 28, 8, 30), utc(2026, 11, 28, 8, 45)]


def test_instants_become_cells_on_the_safe_side():
    grid = Grid.over(utc(2026, 11, 28, 8), utc(2026, 11, 28, 10))

    assert grid.from_instant(utc(2026, 11, 28, 8, 1)) == 1
    assert grid.up_to_instant(utc(2026, 11, 28, 8, 29)) == 1
    assert grid.from_instant(utc(2026, 11, 28, 7, 50)) == 0
    assert grid.up_to_instant(utc(2026, 11, 28, 7, 50)) == -1
    assert grid.instant(-1) == utc(2026, 11, 28, 8) - CELL


@pytest.mark.parametrize(("minutes", "cells"), [(0, 0), (1, 1), (15, 1), (15.5, 2), (240, 16)])
def test_minutes_take_whole_cells(minutes, cells):
    assert cells_for(minutes) == cells
