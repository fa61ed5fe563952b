"""An invented grower's season, as its scenario file tells it; days count back from now."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SeasonCulture:
    """A culture: where it came from, what became of it."""

    key: str
    name: str
    form: str
    days_ago: float
    strain: str | None = None
    species: str | None = None
    parent: str | None = None
    volume_ml: float | None = None
    test: str | None = None
    clarity: str | None = None
    ended_days_ago: float | None = None


@dataclass(frozen=True)
class SeasonBatch:
    """A batch of jars; `days_ago` is when it was inoculated, 0 while it is in the canner."""

    key: str
    name: str
    days_ago: float
    jars: int
    jar: str
    fill: float
    culture: str | None = None
    from_batch: str | None = None
    dose_ml: float | None = None
    controls: int = 0
    spoiled: int = 0
    sign: str = "green"
    stalled: int = 0
    given_away: int = 0
    blocks: int = 0
    flushes: int = 0
    pressure_lost: bool = False
    planned: bool = False
    quarantine: str | None = None


@dataclass(frozen=True)
class Season:
    """The whole scenario."""

    seed: int
    grower: str
    laptop: str
    phone: str
    elevation_m: float
    gauge_pa: float
    hold_min: float
    shelf_c: float
    cultures: tuple[SeasonCulture, ...]
    batches: tuple[SeasonBatch, ...]
