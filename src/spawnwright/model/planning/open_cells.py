"""Open cells: the grower's free quarter hours less those that are taken."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spawnwright.model.planning.free_hours import Flags

Cells = NDArray[np.int64]
NEVER = 10**9
"""A cell that is past every horizon."""


class Calendar:
    """Free cells less those that are taken."""

    def __init__(self, free: Flags) -> None:
        self.open = free.copy()
        self.taken = np.zeros_like(free)
        self._starts: dict[int, Flags] = {}
        self._next: dict[int, Cells] = {}

    def take(self, start: int, cells: int) -> None:
        """Mark cells as busy."""
        self.open[max(0, start) : max(0, start + cells)] = False
        self.taken[max(0, start) : max(0, start + cells)] = True
        self._starts.clear()
        self._next.clear()

    def starts(self, cells: int) -> Flags:
        """Whether a stretch of so many open cells begins at each cell, shape (all cells,)."""
        if cells not in self._starts:
            self._starts[cells] = _starts(self.open, cells)
        return self._starts[cells]

    def next_start(self, cells: int, after: Cells) -> Cells:
        """The first start of such a stretch at or after each of `after`; `NEVER` if none."""
        if cells not in self._next:
            count = len(self.open)
            places = np.where(self.starts(cells), np.arange(count), NEVER)
            following = np.minimum.accumulate(places[::-1])[::-1]
            self._next[cells] = np.append(following, NEVER)
        return self._next[cells][np.clip(after, 0, len(self.open))]

    def first(self, cells: int, after: int) -> int:
        """The first start of such a stretch at or after a cell; `NEVER` if none."""
        return int(self.next_start(cells, np.array([after]))[0])

    def latest(self, cells: int, first: int, end: int) -> int | None:
        """The latest start at or after `first` of a stretch that is over by `end`, or none."""
        first, end = max(0, first), min(end, len(self.open))
        if end - first < cells:
            return None
        found = np.flatnonzero(_starts(self.open[first:end], cells))
        return first + int(found[-1]) if len(found) else None


def _starts(open_cells: Flags, cells: int) -> Flags:
    if cells <= 0:
        return np.ones_like(open_cells)
    if cells > len(open_cells):
        return np.zeros_like(open_cells)
    total = np.concatenate(([0], np.cumsum(open_cells)))
    full = total[cells:] - total[:-cells] == cells
    return np.concatenate((full, np.zeros(cells - 1, dtype=np.bool_)))
