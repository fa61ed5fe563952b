"""A wish: what the grower would like, by when, with what, and in which hours.

These are the contents of a wish file with every quantity in SI; `docs/wish.md` shows the file.
All instants carry a time zone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time, tzinfo
from typing import Literal

from spawnwright.records.canner import Canner
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.records.species import Species


@dataclass(frozen=True)
class Goal:
    """What is wanted: jars of spawn or kilograms of fresh mushrooms, and when."""

    species: Species
    jars: int | None
    fresh_kg: float | None
    ready_by: datetime | None
    start: datetime | None
    chance: float
    """The chance of meeting the wish that is good enough, from 0 to 1."""


@dataclass(frozen=True)
class GrainWish:
    """Which grain, and how it is to be prepared."""

    grain: Grain
    dry_moisture: float
    target_moisture: float
    gypsum: float
    """Gypsum as a share of the dry grain's mass; 0 for none."""
    soak_s: float | None
    simmer_s: float | None
    is_new_lot: bool
    in_stock_kg: float | None


@dataclass(frozen=True)
class Kit:
    """What there is to work with."""

    jar: Jar
    fill: float
    jars_free: int
    lids_free: int
    canner: Canner
    gauge_pa: float
    burner_w: float
    pot_m3: float
    trays: int
    scale_max_kg: float
    has_still_place: bool
    has_cold_place: bool
    """A refrigerator with room for the filled jars of one run."""
    cooling: Literal["overnight shut", "opened warm"]
    is_new_routine: bool
    """New lids or a new way of working: a reason for a control jar."""
    fill_kg: float | None = None
    """Wet grain in a jar, where the wish gives grams; `fill` follows from it in the plan."""


@dataclass(frozen=True)
class Place:
    """Where it happens."""

    elevation_m: float
    room_c: float
    shelf_c: float
    time_zone: tzinfo


@dataclass(frozen=True)
class FreeHours:
    """Hours in which the grower is at hand: on weekdays (0 is Monday) or on one date.

    `until` at or before `start` means after midnight, on the next day.
    """

    weekdays: tuple[int, ...]
    on: date | None
    start: time
    until: time


@dataclass(frozen=True)
class Culture:
    """The liquid culture at hand."""

    volume_m3: float
    dose_m3: float
    """Liquid culture for one jar."""
    made: date | None
    tested: date | None
    """The day on which a test came out clean; none if it was not tested."""


@dataclass(frozen=True)
class UnderWay:
    """What has been done already when the plan is asked for."""

    soaking_kg: float = 0.0
    soaking_since: datetime | None = None
    lids_cured: int = 0
    jars_washed: int = 0
    drained_kg: float = 0.0
    """Grain that is cooked and drained, not yet in the canner."""
    drained_since: datetime | None = None
    is_cold: bool = False
    """Whether the drained grain stands in the cold."""
    sterile_jars: int = 0
    sterile_since: datetime | None = None


@dataclass(frozen=True)
class Losses:
    """The grower's own figures for what goes wrong; none where they gave none."""

    jar: float | None = None
    """Share of the jars that are lost one by one, in a good run with a good culture."""
    run: float | None = None
    """Chance that a sterilizer run is bad."""
    run_kill: float | None = None
    """Share of its jars that a bad run spoils."""
    culture: float | None = None
    """Chance that the culture at hand is bad; a bad one spoils every jar."""


@dataclass(frozen=True)
class Wish:
    """Everything that a plan is made from; `now` is when it is asked for."""

    goal: Goal
    grain: GrainWish
    kit: Kit
    place: Place
    free: tuple[FreeHours, ...]
    culture: Culture
    now: datetime
    under_way: UnderWay = field(default_factory=UnderWay)
    losses: Losses = field(default_factory=Losses)
    defaults: tuple[str, ...] = ()
    """The lines that the file left out and what was taken instead, as it would stand there."""
