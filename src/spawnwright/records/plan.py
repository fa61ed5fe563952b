"""A plan: the dated chain of steps that answers a wish, or the limits that forbid it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

StepKind = Literal[
    # once
    "culture_test", "wash_jars", "make_lids",
    # for each soak (`soak` says which)
    "soak", "rinse", "simmer", "drain", "surface_dry", "weigh", "fill",
    # for each sterilizer run (`run` says which); `pressure_drop` ends at zero pressure and is
    # attended, `unload` (only if opened warm) follows at once, `cool_down` goes on from zero
    # pressure by itself until the jars can be inoculated
    "load", "heat_up", "vent", "hold", "pressure_drop", "unload", "cool_down",
    # for each inoculation (`run` is the last run whose jars are inoculated then)
    "inoculate",
    # on the shelf and after
    "shelf", "look", "shake", "ready", "use_by", "use", "first_harvest", "wash_up",
]  # fmt: skip


@dataclass(frozen=True)
class Step:
    """One step of a plan.

    A step with hands on it lies within the grower's free hours from `at` to `until`; one without
    runs by itself (a soak, a cool-down) or is a reminder of a day. `key` stays the same when the
    plan is made again, so that a calendar can move the event.
    """

    key: str
    kind: StepKind
    at: datetime
    until: datetime
    title: str
    detail: str
    cautions: tuple[str, ...] = ()
    is_attended: bool = True
    soak: int | None = None
    run: int | None = None
    after: tuple[str, ...] = ()
    """Keys of the steps that must have ended before this one begins."""
    latest: datetime | None = None
    """The latest beginning that breaks no waiting limit, where there is one."""
    amounts: dict[str, float] = field(default_factory=dict)
    """The numbers of the step, by name with unit suffix: `dry_grain_kg`, `hold_min`."""


@dataclass(frozen=True)
class SterilizerRun:
    """One load of the canner."""

    at: datetime
    """Heat on."""
    jars: int
    """Jars loaded, control jars included."""
    controls: int
    hold_min: float
    until: datetime
    """Zero pressure."""


@dataclass(frozen=True)
class Binding:
    """A limit that forbids the wish, and what would free it."""

    limit: str
    would_free: str


@dataclass(frozen=True)
class Choice:
    """One line of the menu of extra jars."""

    jars_to_make: int
    chance: float
    runs: int
    hours: float
    """Hours in which somebody must be there."""
    is_chosen: bool


@dataclass(frozen=True)
class ReadyBand:
    """When the jars are ready: 5th percentile, median, 95th."""

    low: datetime
    likely: datetime
    high: datetime


@dataclass(frozen=True)
class Plan:
    """The answer to a wish; without feasible steps if the wish cannot be met."""

    feasible: bool
    binding: tuple[Binding, ...]
    jars_wanted: int
    jars_to_make: int
    """Jars inoculated; control jars are beside them."""
    controls: int
    dry_grain_kg: float
    """As bought, of all soaks, the one under way included."""
    water_l: float
    """Water that it takes up; what it is soaked in stands at the soak."""
    sterilizer_runs: tuple[SterilizerRun, ...]
    steps: tuple[Step, ...]
    ready: ReadyBand | None
    chance_of_meeting: float
    """Enough good jars, and ready in time; without a plan, the most that could be had."""
    choices: tuple[Choice, ...]
    chance_of_enough: float = 0.0
    """The chance of enough good jars, whenever they are ready."""
    chance_in_time: float = 0.0
    """The chance that the good jars are ready in time."""
    notes: tuple[str, ...] = ()
    """What was assumed, what is uncertain, what can wait and for how long."""
