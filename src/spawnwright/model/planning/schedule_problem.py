"""What is to be scheduled and what a schedule is, in quarter hours of a grid."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.model.planning.free_hours import Flags, cells_for


@dataclass(frozen=True)
class Run:
    """One load of the canner, in cells: how long each part of it takes."""

    jars: int
    load: int
    to_zero: int
    """From heat on to zero pressure."""
    presence: int
    """From heat on until nobody is needed any more."""
    cool: int
    """From zero pressure until the jars can be inoculated."""
    reuse: int
    """From zero pressure until the canner can be loaded again."""


@dataclass(frozen=True)
class Lot:
    """One soak and its runs, in cells; what is under way has its beginning."""

    runs: tuple[Run, ...]
    cook: int
    """From rinsing (or weighing, if it is drained already) to the last jar filled."""
    drained: int = 0
    """From the start of that until the first grain is drained."""
    lids: int = 0
    """From the start of that until the first lid goes on."""
    soak: tuple[int, int, int] | None = None
    """Least, best and most; none if it is drained already."""
    soaking_since: int | None = None
    drained_since: int | None = None
    is_cold: bool = False
    """Whether drained grain that is under way stands in the cold already."""


@dataclass(frozen=True)
class Chore:
    """Something to be done once before a lot, in its own stretch of free hours.

    It ends at least `gap` before the lot's first lid goes on (`before_lids`) or before its
    cooking begins, and at best between the two of `best_gap`.
    """

    key: str
    cells: int
    gap: int = 0
    before_lids: bool = False
    best_gap: tuple[int, int] | None = None
    lot: int = 0
    pieces: int = 0
    """Jars or lids that are done in it."""


@dataclass(frozen=True)
class Sterile:
    """Jars that are sterile already: when they are cool enough, and until when they are good."""

    jars: int
    cool: int
    until: int


@dataclass(frozen=True)
class Waits:
    """Waiting limits in cells, and how many loads find room in the cold."""

    drained: int = cells_for(6 * 60)
    drained_cold: int = cells_for(24 * 60)
    sterile: int = cells_for(7 * 24 * 60)
    together: int = cells_for(3 * 24 * 60)
    """Jars that could be inoculated do not wait longer than this for others to join them."""
    cold_loads: int = 0


@dataclass(frozen=True)
class Problem:
    """What is to be placed, and where it may go; cell 0 begins at or after now."""

    free: Flags
    lots: tuple[Lot, ...]
    waits: Waits
    inoculate_min: tuple[float, float]
    """Minutes of an inoculation: to get ready, and for each jar."""
    chores: tuple[Chore, ...] = ()
    sterile: Sterile | None = None


@dataclass(frozen=True)
class PlacedLot:
    """Where a lot went: cells at which its parts begin."""

    soak: int | None
    cook: int
    loads: tuple[int, ...]
    cold: tuple[bool, ...]
    """Which loads wait in the cold."""


@dataclass(frozen=True)
class Session:
    """One inoculation: runs `first` to `last`, counted from 1 through all lots; 0: sterile jars."""

    first: int
    last: int
    at: int
    cells: int
    jars: int


@dataclass(frozen=True)
class Placement:
    """A schedule."""

    lots: tuple[PlacedLot, ...]
    chores: dict[str, int]
    sessions: tuple[Session, ...]
    taken: Flags
    """Cells in which the grower is busy."""
