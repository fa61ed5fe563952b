"""Kinds of record up to the sterile jar: what was bought, grown, cooked and sterilized."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.errors import Unusable
from spawnwright.records.book.form import BookRecord, column

ON_HAND = ("grain", "lids", "jars", "culture", "gypsum", "substrate", "other")
FORMS = ("liquid culture", "agar", "syringe")
TEXTURES = ("pours", "sticks", "smears")
PURPOSES = ("sterilize", "spoiled jars")


@dataclass(frozen=True, kw_only=True)
class Lot(BookRecord):
    """What was bought together and may have been bad together: a sack, a box of lids."""

    KIND = "lot"
    TABLE = "lots"

    name: str = column(required=True)
    what: str = column(required=True, choices=ON_HAND)
    from_whom: str | None = column()
    bought_on: str | None = column("day")
    note: str | None = column()


@dataclass(frozen=True, kw_only=True)
class Strain(BookRecord):
    """One line of a species; `species` is a key of the catalog."""

    KIND = "strain"
    TABLE = "strains"

    name: str = column(required=True)
    species: str = column(required=True)
    from_whom: str | None = column()
    note: str | None = column()


@dataclass(frozen=True, kw_only=True)
class Culture(BookRecord):
    """A strain alive in liquid or on agar; what is left follows from the doses given."""

    KIND = "culture"
    TABLE = "cultures"
    LINKS = (("strain", "id"), ("lot", "id"), ("parent", "id"), ("from_jar", "id"))

    name: str = column(required=True)
    form: str = column(required=True, choices=FORMS)
    strain: str | None = column("reference", of="strain")
    lot: str | None = column("reference", of="lot")
    parent: str | None = column("reference", of="culture")
    from_jar: str | None = column("reference", of="jar")
    recipe: str | None = column()
    made_on: str | None = column("day")
    tested_on: str | None = column("day")
    test: str | None = column(choices=("clean", "spoiled", "unclear"))
    volume_ml: float | None = column("number", low=0, high=100_000)
    left_ml: float | None = column("number", low=0, high=100_000)
    """What was found to be left at `left_at`; doses given since are taken off it."""
    left_at: str | None = column("instant")
    clarity: str | None = column(choices=("clear", "cloudy"))
    stored_where: str | None = column()
    ended_on: str | None = column("day")
    note: str | None = column()

    def check(self) -> None:
        """What was measured needs its time; a culture has one origin."""
        if (self.left_ml is None) != (self.left_at is None):
            raise Unusable("What is left of a culture and when it was measured go together.")
        if self.parent and self.from_jar:
            raise Unusable("A culture comes from another culture or from a jar, not from both.")


@dataclass(frozen=True, kw_only=True)
class GrainBatch(BookRecord):
    """Grain that was soaked and cooked together; moistures are fractions, wet basis."""

    KIND = "grain batch"
    TABLE = "grain_batches"
    LINKS = (("lot", "id"),)

    made_at: str = column("instant", required=True)
    grain: str = column(required=True)
    lot: str | None = column("reference", of="lot")
    dry_kg: float | None = column("number", low=0, high=10_000)
    dry_moisture: float | None = column("number", low=0, high=1)
    soak_h: float | None = column("number", low=0, high=1000)
    water_c: float | None = column("number", low=0, high=100)
    simmer_min: float | None = column("number", low=0, high=1000)
    drained_kg: float | None = column("number", low=0, high=10_000)
    moisture_low: float | None = column("number", low=0, high=1)
    moisture_likely: float | None = column("number", low=0, high=1)
    moisture_high: float | None = column("number", low=0, high=1)
    texture: str | None = column(choices=TEXTURES)
    gypsum_g: float | None = column("number", low=0, high=100_000)
    note: str | None = column()

    def check(self) -> None:
        """A band rises."""
        rising(self.moisture_low, self.moisture_likely, self.moisture_high, "moisture")


@dataclass(frozen=True, kw_only=True)
class LidBatch(BookRecord):
    """Lids made together, with the same ports and filters."""

    KIND = "lid batch"
    TABLE = "lid_batches"
    LINKS = (("lot", "id"),)

    name: str = column(required=True)
    lot: str | None = column("reference", of="lot")
    made_on: str | None = column("day")
    lids: int | None = column("count", low=0, high=1_000_000)
    port: str | None = column()
    filter: str | None = column()
    cured_on: str | None = column("day")
    uses: int | None = column("count", low=0, high=10_000)
    note: str | None = column()


@dataclass(frozen=True, kw_only=True)
class Run(BookRecord):
    """One load of a canner, from heat on to cold."""

    KIND = "sterilizer run"
    TABLE = "runs"

    started_at: str = column("instant", required=True)
    purpose: str = column(required=True, choices=PURPOSES)
    batch: str | None = column("reference", of="batch")
    vessel: str | None = column()
    elevation_m: float | None = column("number", low=-450, high=9000)
    gauge_pa: float | None = column("number", low=0, high=300_000)
    hold_min: float | None = column("number", low=0, high=10_000)
    at_pressure_at: str | None = column("instant")
    off_at: str | None = column("instant")
    opened_at: str | None = column("instant")
    f0_low_min: float | None = column("number", low=0)
    f0_likely_min: float | None = column("number", low=0)
    f0_high_min: float | None = column("number", low=0)
    note: str | None = column()

    def check(self) -> None:
        """A band rises; a canner is opened after it was heated."""
        rising(self.f0_low_min, self.f0_likely_min, self.f0_high_min, "lethality")
        times = (self.started_at, self.at_pressure_at, self.off_at, self.opened_at)
        known = [each for each in times if each is not None]
        if known != sorted(known):
            raise Unusable("A run starts, comes to pressure, ends and is opened in that order.")


@dataclass(frozen=True, kw_only=True)
class Load(BookRecord):
    """A jar in a run, and where in the canner it stood; a spoiled one is no jar to be used."""

    KIND = "load"
    TABLE = "loads"
    LINKS = (("run", "jar"),)

    run: str = column("reference", of="sterilizer run", required=True)
    jar: str | None = column("reference", of="jar")
    spoiled_jar: str | None = column("reference", of="jar")
    position: str | None = column()

    def check(self) -> None:
        """It is one jar."""
        if (self.jar is None) == (self.spoiled_jar is None):
            raise Unusable("A load is one jar: either to be used, or a spoiled one.")


@dataclass(frozen=True, kw_only=True)
class Event(BookRecord):
    """Something that happened during a run: vented, pressure lost, heat turned down."""

    KIND = "event"
    TABLE = "events"

    run: str = column("reference", of="sterilizer run", required=True)
    at: str = column("instant", required=True)
    what: str = column(required=True)
    gauge_pa: float | None = column("number", low=0, high=300_000)
    note: str | None = column()


@dataclass(frozen=True, kw_only=True)
class Trace(BookRecord):
    """What one probe of a logger wrote during a run; times count from `began_at`."""

    KIND = "trace"
    TABLE = "traces"

    run: str = column("reference", of="sterilizer run", required=True)
    probe: str = column(required=True)
    began_at: str = column("instant", required=True)
    time_s: list[float] = column("series", required=True)
    temperature_c: list[float] = column("series", required=True)
    file: str | None = column()

    def check(self) -> None:
        """Each reading has its time, and time runs forward."""
        if len(self.time_s) != len(self.temperature_c):
            raise Unusable("A trace has as many times as temperatures.")
        if any(b <= a for a, b in zip(self.time_s, self.time_s[1:], strict=False)):
            raise Unusable("The times of a trace must rise.")


def rising(low: float | None, likely: float | None, high: float | None, what: str) -> None:
    """Refuse three numbers that are no band [in one unit, whichever]."""
    known = [each for each in (low, likely, high) if each is not None]
    if known != sorted(known):
        raise Unusable(f"The band of {what} must rise from low to likely to high.")
