"""One table of a wish file, read key by key; what is wrong is said with its line."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Literal, TypeVar, overload

from spawnwright import units
from spawnwright.errors import BadFile, Contradiction, NotAQuantity, Unusable
from spawnwright.records.catalog import CatalogRecord
from spawnwright.records.jar import Jar
from spawnwright.store import catalog
from spawnwright.store.toml_lines import line_in, unknown_keys

Record = TypeVar("Record", bound=CatalogRecord)
_PASCAL_PER_PSI = units.PSI_PA


@dataclass
class WishTable:
    """The keys and values of one table, its place in the text, and where defaults are noted."""

    text: str
    origin: str
    name: str
    content: Any
    known: Iterable[str]
    defaults: list[str]
    folder: Path
    place: int = 0
    """Which of several tables of this name it is, from 0."""

    def __post_init__(self) -> None:
        if not isinstance(self.content, dict):
            raise BadFile(
                f"{self.origin}, {catalog.line_of(self.text, self.name)}: "
                f"{self.name!r} must be a table, [{self.name}]."
            )
        unknown_keys(self.text, self.origin, self.name, self.content, self.known, self.place)

    # ---- what is wrong -----------------------------------------------------------------------

    def line(self, key: str) -> str:
        """The line of a key, or of the table's head if the key is not there."""
        return line_in(self.text, self.name, key, self.place)

    def problem(self, key: str, what: str) -> BadFile:
        """The error that a value of `key` cannot be used."""
        return BadFile(f"{self.origin}, {self.line(key)}, {key!r}: {what}")

    def contradiction(self, key: str, what: str) -> Contradiction:
        """The error that two lines cannot both hold, or that one of them is missing."""
        return Contradiction(f"{self.origin}, {self.line(key)}, [{self.name}]: {what}.")

    def missing(self, key: str) -> BadFile:
        """The error that a line is needed."""
        return BadFile(
            f"{self.origin}, {self.line(key)}: [{self.name}] lacks {key!r}, which has no default."
        )

    def took(self, line: str) -> None:
        """Note the line that was taken for one that the file left out."""
        self.defaults.append(f"{self.name}.{line}")

    # ---- numbers -----------------------------------------------------------------------------

    @overload
    def number(
        self, key: str, kind: str, default: str, low: float, high: float, *, needed: bool = ...
    ) -> float: ...
    @overload
    def number(
        self, key: str, kind: str, default: None, low: float, high: float, *, needed: Literal[True]
    ) -> float: ...
    @overload
    def number(
        self, key: str, kind: str, default: None, low: float, high: float, *, needed: bool = ...
    ) -> float | None: ...
    def number(
        self,
        key: str,
        kind: str,
        default: str | None,
        low: float,
        high: float,
        *,
        needed: bool = False,
    ) -> float | None:
        """A quantity of `kind` from `low` to `high`, both in the kind's unit."""
        if key not in self.content:
            if needed:
                raise self.missing(key)
            if default is None:
                return None
            self.took(f'{key} = "{default}"')
            return units.parse(default, kind)
        value = self._quantity(key, kind)
        if not low <= value <= high:
            unit = units.KINDS[kind].unit
            raise self.problem(
                key,
                f"{self.content[key]!r} cannot be; it must lie between {_written(low, kind, unit)} "
                f"and {_written(high, kind, unit)}.",
            )
        return value

    def share(self, key: str, default: str, low: float, high: float) -> float:
        """A share from `low` to `high` [-]."""
        if key not in self.content:
            self.took(f'{key} = "{default}"')
            return units.parse_share(default)
        value = self._quantity(key, "share")
        if not low <= value <= high:
            raise self.problem(
                key,
                f"{self.content[key]!r} cannot be; it must lie between {low:.3g} and {high:.3g}"
                f" ({100 * low:.3g}% and {100 * high:.3g}%).",
            )
        return value

    def given_share(self, key: str) -> float | None:
        """A share if it is given [-]."""
        return self._quantity(key, "share") if key in self.content else None

    def _quantity(self, key: str, kind: str) -> float:
        try:
            return catalog.quantity(self.content[key], kind)
        except NotAQuantity as reason:
            raise self.problem(key, str(reason)) from reason

    def fill(self, jar: Jar, default: str) -> tuple[float, float | None]:
        """How full the jar is: a share of its nominal volume [-]; or the wet grain in it [kg]."""
        written = str(self.content.get("fill", default))
        below = re.fullmatch(r"\s*(.+?)\s+below\s+(?:the\s+)?(?:rim|brim)\s*", written)
        try:
            if "fill" in self.content and below is not None:
                depth_m = jar.inside_height_m - units.parse(below[1], "length")
                value = depth_m * jar.cross_section_m2 / jar.nominal_volume_m3
            elif re.search(r"[a-z]\s*$", written.removesuffix("percent")):
                return 0.7, units.parse(written, "mass")
            else:
                value = self.share("fill", default, 0.0, 1.0)
        except NotAQuantity as reason:
            raise self.problem("fill", str(reason)) from reason
        if not 0.1 <= value <= 1:
            raise self.problem(
                "fill",
                f"{written!r} fills {value:.0%} of the jar; 2/3 to 3/4 is usual, and it "
                "must lie between 10% and 100%.",
            )
        return value, None

    def gauge(self, highest_pa: float, *, is_rated: bool) -> float:
        """The gauge pressure, not above what the canner may take [Pa]."""
        highest = f"{highest_pa / _PASCAL_PER_PSI:.3g} psi"
        if "gauge" not in self.content:
            taken = min(highest_pa, 15 * _PASCAL_PER_PSI)
            self.took(f'gauge = "{taken / _PASCAL_PER_PSI:.3g} psi"')
            return taken
        value = self._quantity("gauge", "gauge pressure")
        if value > highest_pa * (1 + 1e-6):
            why = "its rated pressure" if is_rated else "the limit while its rating is unknown"
            raise self.problem(
                "gauge",
                f"{self.content['gauge']!r} is above {highest} for this canner, {why}; "
                f"use at most {highest}, a longer hold makes up for it.",
            )
        if value < 5 * _PASCAL_PER_PSI * (1 - 1e-6):
            raise self.problem(
                "gauge", f"{self.content['gauge']!r} is too little to sterilize grain with; "
                "it must be at least 5 psi."
            )  # fmt: skip
        return value

    @overload
    def count(self, key: str, low: int, high: int, *, default: int, needed: bool = ...) -> int: ...
    @overload
    def count(
        self,
        key: str,
        low: int,
        high: int,
        *,
        default: int | None = ...,
        needed: bool = ...,
    ) -> int | None: ...
    def count(
        self,
        key: str,
        low: int,
        high: int,
        *,
        default: int | None = None,
        needed: bool = False,
    ) -> int | None:
        """A whole number from `low` to `high` [-]."""
        if key not in self.content:
            if needed:
                raise self.missing(key)
            if default is not None:
                self.took(f"{key} = {default}")
            return default
        value = self.content[key]
        if isinstance(value, bool) or not isinstance(value, int):
            raise self.problem(key, f"{value!r} is no whole number; write it like 12.")
        if not low <= value <= high:
            raise self.problem(key, f"{value} cannot be; it must lie between {low} and {high}.")
        return value

    # ---- words -------------------------------------------------------------------------------

    def flag(self, key: str, default: bool, *, quiet: bool = False) -> bool:
        """True or false."""
        if key not in self.content:
            if not quiet:
                self.took(f"{key} = {str(default).lower()}")
            return default
        value = self.content[key]
        if not isinstance(value, bool):
            raise self.problem(key, f"{value!r} is neither true nor false.")
        return value

    def cooling(self) -> Literal["overnight shut", "opened warm"]:
        """How the canner cools down."""
        value = self.content.get("cooling")
        if value is None:
            self.took('cooling = "overnight shut"')
            return "overnight shut"
        if value == "overnight shut":
            return "overnight shut"
        if value == "opened warm":
            return "opened warm"
        raise self.problem("cooling", f'{value!r} is neither "overnight shut" nor "opened warm".')

    def record(
        self, key: str, record_type: type[Record], name: str, default: str | None = None
    ) -> Record:
        """What a name from a catalog, a TOML file or a table of the wish stands for."""
        value = self.content.get(key, default)
        if value is None:
            raise self.missing(key)
        if key not in self.content:
            self.took(f'{key} = "{default}"')
        try:
            if isinstance(value, dict):
                return catalog.record_within(key, value, record_type, name, self.text, self.origin)
            if not isinstance(value, str):
                raise self.problem(key, f"{value!r} is no name.")
            beside = self.folder / value
            is_file = value.lower().endswith(".toml")
            if is_file and not beside.is_file():
                raise self.problem(key, f"there is no file {beside}.")
            return catalog.find(record_type, name, str(beside) if is_file else value)
        except BadFile:
            raise
        except Unusable as reason:
            raise self.problem(key, str(reason)) from reason

    # ---- times -------------------------------------------------------------------------------

    def zone(self, key: str) -> tzinfo:
        """A time zone by its name, or the computer's."""
        name = self.content.get(key)
        if name is None:
            import tzlocal

            local = tzlocal.get_localzone()
            self.took(f'{key} = "{local}"')
            return local
        from zoneinfo import ZoneInfo, available_timezones

        try:
            return ZoneInfo(str(name))
        except (OSError, ValueError, KeyError) as reason:
            near = get_close_matches(str(name), sorted(available_timezones()), 2)
            offer = f"; did you mean {' or '.join(near)}?" if near else ', write "Europe/Warsaw".'
            raise self.problem(key, f"{name!r} is no time zone{offer}") from reason

    def instant(self, key: str, zone: tzinfo, *, at_end: bool) -> datetime | None:
        """A date or an instant; a bare date is its first moment, or its last if `at_end`."""
        value = self.content.get(key)
        if value is None:
            return None
        if isinstance(value, str):
            try:
                value = date.fromisoformat(value) if len(value) <= 10 else _instant(value)
            except ValueError as reason:
                raise self._no_date(key) from reason
        if isinstance(value, datetime):
            moment = value.replace(second=0, microsecond=0)
        elif isinstance(value, date):
            moment = datetime.combine(value, time())
            if at_end:
                moment = self._shifted(moment, key) - timedelta(minutes=1)
        else:
            raise self._no_date(key)
        if not 1970 < moment.year < 2200:
            raise self.problem(key, f"{moment:%Y-%m-%d} is no date to plan for.")
        return moment.replace(tzinfo=zone) if moment.tzinfo is None else moment.astimezone(zone)

    def _shifted(self, moment: datetime, key: str) -> datetime:
        if moment.year >= 2200:
            raise self.problem(key, f"{moment:%Y-%m-%d} is no date to plan for.")
        return moment + timedelta(days=1)

    def day(self, key: str) -> date | None:
        """A date."""
        value = self.content.get(key)
        if value is None:
            return None
        if isinstance(value, str):
            try:
                return date.fromisoformat(value)
            except ValueError as reason:
                raise self._no_date(key) from reason
        if isinstance(value, datetime):
            return value.date()
        if isinstance(value, date):
            return value
        raise self._no_date(key)

    def _no_date(self, key: str) -> BadFile:
        return self.problem(
            key, f"{self.content[key]!r} is no date; write 2027-01-15 or 2027-01-15T12:00:00."
        )

    def clock(self, key: str) -> time:
        """A time of day, to the minute."""
        value = self.content.get(key)
        if value is None:
            raise self.missing(key)
        if isinstance(value, str):
            try:
                value = time.fromisoformat(value.zfill(5) if len(value) < 6 else value)
            except ValueError as reason:
                raise self._no_clock(key) from reason
        if not isinstance(value, time) or value.tzinfo is not None:
            raise self._no_clock(key)
        return value.replace(second=0, microsecond=0)

    def _no_clock(self, key: str) -> BadFile:
        return self.problem(
            key, f'{self.content[key]!r} is no time of day; write 17:30:00 or "17:30".'
        )

    def days(self, key: str, known: tuple[str, ...]) -> tuple[int, ...] | None:
        """Weekdays by their first three letters, 0 for Monday."""
        value = self.content.get(key)
        if value is None:
            return None
        names = value if isinstance(value, list) else [value]
        found = [str(name).strip().lower()[:3] for name in names]
        for name, short in zip(names, found, strict=True):
            if short not in known or not isinstance(name, str):
                raise self.problem(key, f"{name!r} is no day; write {', '.join(known)}.")
        if not found:
            raise self.problem(key, "the list is empty; leave the line out for every day.")
        return tuple(sorted({known.index(short) for short in found}))


def _instant(written: str) -> datetime:
    return datetime.fromisoformat(written)


def _written(value: float, kind: str, unit: str) -> str:
    if kind == "duration":
        return units.written_duration(value)
    if kind == "mass":
        return units.written_mass(value)
    if kind == "volume":
        return f"{value * 1e6:g} mL" if value < 1e-3 else f"{value * 1e3:g} L"
    return f"{value:g} {unit}"
