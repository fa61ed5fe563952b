"""A run of an evening as it is noted: what is planned, what happened when, and where it stands."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Literal

from spawnwright.records.band import Band
from spawnwright.records.sterilizing import SterilizeQuestion

EventName = Literal[
    "soak begun", "simmer begun", "spread to dry", "heat on", "steady jet", "vent closed",
    "pressure reached", "pressure lost", "back at pressure", "heat off", "zero pressure", "opened",
]  # fmt: skip
EVENTS: tuple[EventName, ...] = EventName.__args__  # type: ignore[attr-defined]

Stage = Literal[
    "not begun", "soaking", "simmering", "drying", "heating", "venting", "coming to pressure",
    "holding", "pressure lost", "cooling", "at zero pressure", "opened",
]  # fmt: skip


@dataclass(frozen=True)
class RunEvent:
    """One thing that happened, at an instant with its offset from UTC."""

    name: EventName
    at: datetime
    """Kept in UTC: two local times of one zone would be subtracted as the clocks show them."""
    gauge_pa: float | None = None
    """What the gauge showed when pressure was lost, if somebody read it."""

    def __post_init__(self) -> None:
        if self.at.tzinfo is not None:
            object.__setattr__(self, "at", self.at.astimezone(UTC))


@dataclass(frozen=True)
class ChainTimes:
    """How long the steps before the canner are to take; nothing for what is not done tonight."""

    soak_s: float | None = None
    simmer_s: float | None = None
    dry_s: float | None = None


@dataclass(frozen=True)
class RunSetup:
    """What was known before the run began."""

    question: SterilizeQuestion
    hold_s: float
    target_min: float
    """Lethality wanted at the core, F0 at the end of the hold [min]."""
    chain: ChainTimes = field(default_factory=ChainTimes)


@dataclass(frozen=True)
class RunLog:
    """A run as far as it was noted; events in the order of their instants."""

    setup: RunSetup
    events: tuple[RunEvent, ...] = ()

    def last(self, name: EventName) -> RunEvent | None:
        """The latest event of a name, or none."""
        return next((each for each in reversed(self.events) if each.name == name), None)


@dataclass(frozen=True)
class ChainStep:
    """One step of the evening: begun or foreseen, and when it is over or due."""

    name: str
    begins_at: datetime
    ends_at: datetime
    state: Literal["done", "running", "to come"]
    is_due: bool
    """It runs, and its time has come: a bell."""
    what_then: str
    """What to do when it is over, and which event to note."""


@dataclass(frozen=True)
class RunState:
    """Where a run stands at an instant: all that a terminal or a page shows.

    Bands run over all scenarios of how heat moves. Before pressure was first reached there is
    no lethality to speak of, and those numbers are none.
    """

    now: datetime
    stage: Stage
    since: datetime | None
    chain: tuple[ChainStep, ...]
    cautions: tuple[str, ...]
    reached_at: datetime | None = None
    minutes_at_pressure: float | None = None
    """Time with pressure lost not counted [min]."""
    vessel_c: Band | None = None
    core_c: Band | None = None
    f0_min: Band | None = None
    """At the core, so far [min]."""
    coldest_f0_min: Band | None = None
    hold_left_min: float | None = None
    """Until the planned hold is full, with time lost not counted; below zero when over [min]."""
    restarted_hold_left_min: float | None = None
    """The same by the rule for canned food: the clock starts again at each return [min]."""
    hold_ends_at: datetime | None = None
    restarted_hold_ends_at: datetime | None = None
    to_target_min: Band | None = None
    """Until the core has the lethality wanted; infinite if not within the hours looked at [min]."""
    chance_target_reached: float | None = None
    """Share of the scenarios in which the core has it already [-]."""
    f0_with_cooling_min: Band | None = None
    """At the core, with the planned hold kept to its end and natural cooling counted [min]."""
