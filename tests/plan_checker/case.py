"""A wish as written and a plan as answered, side by side, for the rules to look at."""

import tomllib
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from importlib.resources import files
from zoneinfo import ZoneInfo

from spawnwright import units
from spawnwright.records.plan import Plan, Step, SterilizerRun
from tests.plan_checker import free_hours, limits

DEFAULTS = {
    "wish": {"chance": "80%"},
    "grain": {"kind": "rye", "moisture": "12%", "target": "48%", "gypsum": "0.5%"},
    "kit": {
        "fill": "70%", "gauge": "15 psi", "burner": "2 kW", "pot": "12 L", "trays": 2,
        "scale_max": "5 kg", "still_place": True, "cold_place": False,
        "cooling": "overnight shut", "new_routine": False,
    },
    "place": {"room_temperature": "20 C", "shelf_temperature": "22 C"},
    "culture": {},
    "losses": {},
    "under_way": {},
}  # fmt: skip
SOAK_CHAIN = ("soak", "rinse", "simmer", "drain", "surface_dry", "weigh", "fill")
RUN_CHAIN = ("load", "heat_up", "vent", "hold", "pressure_drop", "cool_down")
HANDS_ON = {
    "culture_test", "wash_jars", "make_lids", "rinse", "simmer", "weigh", "fill", "load",
    "heat_up", "vent", "hold", "pressure_drop", "unload", "inoculate",
}  # fmt: skip


def utc(instant: datetime) -> datetime:
    """The instant in UTC, where differences are true across summer time."""
    return instant.astimezone(UTC)


@dataclass(frozen=True)
class Lot:
    """The steps of one soak, by kind, and what it holds."""

    number: int
    steps: dict[str, Step]

    @property
    def was_drained(self) -> bool:
        """Whether it begins as cooked and drained grain, its earlier steps being done."""
        return not any(kind in self.steps for kind in SOAK_CHAIN[:5])

    @property
    def dry_kg(self) -> float:
        """Dry grain weighed out for it; none that is known of if it began drained."""
        return amount(self.steps.get("soak") or self.steps.get("simmer"), "dry_grain_kg")

    @property
    def jars(self) -> int:
        return round(amount(self.steps.get("fill"), "jars"))


@dataclass(frozen=True)
class Run:
    """One load of the canner: its record, its steps, and the lots that its grain is from."""

    number: int
    record: SterilizerRun
    steps: dict[str, Step]
    lots: tuple[Lot, ...]


def amount(step: Step | None, name: str) -> float:
    """A number of a step; 0 where there is none, which a rule of its own reports."""
    return step.amounts.get(name, 0.0) if step else 0.0


@dataclass(frozen=True)
class Case:
    wish: dict
    plan: Plan
    now: datetime

    def said(self, table: str, key: str):
        """What the wish says, or its default; None where there is neither."""
        return self.wish.get(table, {}).get(key, DEFAULTS[table].get(key))

    def quantity(self, table: str, key: str, kind: str) -> float | None:
        written = self.said(table, key)
        return None if written is None else units.parse(str(written), kind)

    def share(self, table: str, key: str) -> float:
        return units.parse_share(str(self.said(table, key)))

    @cached_property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.said("place", "time_zone"))

    def instant(self, written: datetime | date) -> datetime:
        """An instant as the wish file writes it, in UTC; a bare date is its first moment."""
        if not isinstance(written, datetime):
            written = datetime.combine(written, time())
        return utc(written if written.tzinfo else written.replace(tzinfo=self.zone))

    def under_way(self, key: str) -> datetime | None:
        written = self.said("under_way", key)
        return None if written is None else self.instant(written)

    @cached_property
    def ready_by(self) -> datetime | None:
        written = self.said("wish", "ready_by")
        if written is None or isinstance(written, datetime):
            return None if written is None else self.instant(written)
        return self.instant(written + timedelta(days=1))

    @cached_property
    def free(self) -> list[free_hours.Interval]:
        ends = [utc(step.until) for step in self.plan.steps] + [utc(self.now)]
        return free_hours.written_out(self.wish, self.zone, utc(self.now), max(ends))

    def local_day(self, instant: datetime) -> date:
        return instant.astimezone(self.zone).date()

    def when(self, instant: datetime) -> str:
        return f"{instant.astimezone(self.zone):%a %Y-%m-%d %H:%M}"

    # ---- the plan's parts ------------------------------------------------------------------

    def of_kind(self, *kinds: str) -> list[Step]:
        return sorted((s for s in self.plan.steps if s.kind in kinds), key=lambda s: utc(s.at))

    @cached_property
    def lots(self) -> list[Lot]:
        steps: dict[int, dict[str, Step]] = defaultdict(dict)
        for step in self.plan.steps:
            if step.kind in SOAK_CHAIN and step.soak is not None:
                steps[step.soak].setdefault(step.kind, step)
        return [Lot(number, steps[number]) for number in sorted(steps)]

    @cached_property
    def runs(self) -> list[Run]:
        steps: dict[int, dict[str, Step]] = defaultdict(dict)
        for step in self.plan.steps:
            if step.kind in (*RUN_CHAIN, "unload") and step.run is not None:
                steps[step.run].setdefault(step.kind, step)
        found, first = [], 0
        for place, record in enumerate(self.plan.sterilizer_runs):
            lots = tuple(self._lots_with(first, first + record.jars))
            found.append(Run(place + 1, record, steps[place + 1], lots))
            first += record.jars
        return found

    def _lots_with(self, first: int, last: int) -> Iterator[Lot]:
        """The lots of the jars from `first` to before `last`; first filled is first loaded."""
        before = 0
        for lot in self.lots:
            if before < last and before + lot.jars > first:
                yield lot
            before += lot.jars

    @cached_property
    def loaded(self) -> int:
        return sum(run.jars for run in self.plan.sterilizer_runs)

    @cached_property
    def sterile_used(self) -> int:
        """Jars inoculated that no run of this plan sterilized."""
        return self.plan.jars_to_make - sum(r.jars - r.controls for r in self.plan.sterilizer_runs)

    @cached_property
    def jar(self) -> dict:
        return catalog_entry("jars", self.said("kit", "jar"))

    @cached_property
    def jar_l(self) -> float:
        return number(self.jar["nominal_volume"], "volume") * 1e3

    @cached_property
    def fill_share(self) -> float:
        return self.share("kit", "fill")

    @cached_property
    def room_c(self) -> float:
        return units.parse(str(self.said("place", "room_temperature")), "temperature")

    @cached_property
    def canner(self) -> dict:
        return catalog_entry("canners", self.said("kit", "canner"))

    @cached_property
    def dose_ml(self) -> float:
        if self.said("culture", "dose") is not None:
            return self.quantity("culture", "dose", "volume") * 1e6
        return max(limits.DOSE_LEAST_ML, limits.DOSE_PER_JAR_VOLUME * self.jar_l)

    @cached_property
    def wet_per_dry(self) -> tuple[float, float]:
        """Wet grain from a kilogram of dry grain, by dry matter, at most and least loss."""
        ratio = (1 - self.share("grain", "moisture")) / (1 - self.share("grain", "target"))
        least, most = limits.DRY_MATTER_LOST
        return ratio * (1 - most), ratio * (1 - least)


def number(written, kind: str) -> float:
    """A quantity of a catalog, with or without its source."""
    return units.parse(str(written["value"] if isinstance(written, dict) else written), kind)


def catalog_entry(catalog: str, wanted: str | dict) -> dict:
    """The entry of a shipped catalog by key or by any of its names, as its TOML has it."""
    if isinstance(wanted, dict):
        return wanted
    text = files("spawnwright").joinpath("data", f"{catalog}.toml").read_text(encoding="utf-8")
    for key, entry in tomllib.loads(text).items():
        if _folded(wanted) in {_folded(name) for name in (key, *entry["names"])}:
            return entry
    raise LookupError(f"{wanted!r} is not in {catalog}.toml")


def _folded(name: str) -> str:
    return "".join(each for each in name.casefold() if each.isalnum())
