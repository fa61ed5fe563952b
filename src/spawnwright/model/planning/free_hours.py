"""The grower's free hours on a grid of quarter hours, in UTC, through summer time.

Wall-clock hours are turned into instants day by day, so that a day of 23 or 25 hours is what it
is; every difference of times is taken in UTC. Where the clock is set back or forward an hour
counts as free only if it is free on either reading: a window is never longer than promised.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

import numpy as np
from numpy.typing import NDArray

from spawnwright.records.wish import FreeHours

CELL = timedelta(minutes=15)
CELL_MIN = 15
DAY = 96  # cells
_EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
Interval = tuple[datetime, datetime]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Grid:
    """Quarter hours from `first`, which is a whole quarter hour of UTC."""

    first: datetime
    cells: int

    @classmethod
    def over(cls, first: datetime, last: datetime) -> Grid:
        """The grid that covers `first` to `last`."""
        begin = _EPOCH + (first.astimezone(UTC) - _EPOCH) // CELL * CELL
        return cls(begin, max(1, -((begin - last.astimezone(UTC)) // CELL)))

    def instant(self, cell: int) -> datetime:
        """The beginning of a cell, in UTC; cells before 0 and past the end have one too."""
        return self.first + int(cell) * CELL

    def from_instant(self, when: datetime) -> int:
        """The first cell that begins at or after `when`."""
        return -((self.first - when.astimezone(UTC)) // CELL)

    def up_to_instant(self, when: datetime) -> int:
        """The last cell that begins at or before `when`."""
        return (when.astimezone(UTC) - self.first) // CELL


def cells_for(minutes: float) -> int:
    """Quarter hours that hold so many minutes, rounded up [-].

    >>> cells_for(60.0), cells_for(61.0), cells_for(0.0)
    (4, 5, 0)
    """
    return -int(-(minutes - 1e-6) // CELL_MIN) if minutes > 0 else 0


def intervals(
    hours: Iterable[FreeHours], zone: tzinfo, first: datetime, last: datetime
) -> list[Interval]:
    """Free intervals that touch `first` to `last`, in UTC, merged where they meet.

    Parameters
    ----------
    hours : iterable of FreeHours
        Hours by weekday or date, as the clock on the wall of `zone` shows them.
    zone : tzinfo
        Time zone of those hours.
    first, last : datetime
        Bounds, with time zone.

    Returns
    -------
    list of (datetime, datetime)
        Beginning and end of each interval, in order; they may reach beyond the bounds.
    """
    entries = tuple(hours)
    day, end = (
        first.astimezone(zone).date() - timedelta(days=2),
        last.astimezone(zone).date() + timedelta(days=1),
    )
    found: list[Interval] = []
    while day <= end:
        found += [
            _on(day, entry, zone)
            for entry in entries
            if entry.on == day or day.weekday() in entry.weekdays
        ]
        day += timedelta(days=1)
    begin, finish = first.astimezone(UTC), last.astimezone(UTC)
    return [each for each in _merged(found) if each[1] > begin and each[0] < finish]


def _on(day: date, entry: FreeHours, zone: tzinfo) -> Interval:
    last_day = day + timedelta(days=1) if entry.until <= entry.start else day
    return max(_readings(day, entry.start, zone)), min(_readings(last_day, entry.until, zone))


def _readings(day: date, clock: time, zone: tzinfo) -> tuple[datetime, datetime]:
    """The instants that a time on the wall may mean; the same but when the clock changes."""
    wall = datetime.combine(day, clock, zone)
    return wall.replace(fold=0).astimezone(UTC), wall.replace(fold=1).astimezone(UTC)


def _merged(found: list[Interval]) -> list[Interval]:
    merged: list[Interval] = []
    for begin, end in sorted(each for each in found if each[0] < each[1]):
        if merged and begin <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((begin, end))
    return merged


def free_cells(free: Sequence[Interval], grid: Grid) -> Flags:
    """Which cells of the grid are free from beginning to end, shape (cells,)."""
    flags = np.zeros(grid.cells, dtype=np.bool_)
    for begin, end in free:
        start, stop = grid.from_instant(begin), grid.up_to_instant(end)
        flags[max(0, start) : max(0, stop)] = True
    return flags


def longest_stretch(free: Sequence[Interval]) -> timedelta:
    """The longest of the intervals; zero without any."""
    return max((end - begin for begin, end in free), default=timedelta())
