"""Times, masses and shares as a page says them: filters of the templates."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import Any

from spawnwright import units

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip

YEAR_UNSAID_D = 180
"""Days from now within which everybody knows which year a day is in."""
_SHOWN_ON: ContextVar[date | None] = ContextVar("shown_on", default=None)


@contextmanager
def shown_at(now: datetime, zone: tzinfo) -> Iterator[None]:
    """While a page is drawn: days that are far from this one are said with their year."""
    before = _SHOWN_ON.set(now.astimezone(zone).date())
    try:
        yield
    finally:
        _SHOWN_ON.reset(before)


def instant(kept: str | datetime) -> datetime:
    """An instant of the book as a datetime in UTC."""
    found = datetime.fromisoformat(kept) if isinstance(kept, str) else kept
    return found.astimezone(UTC)


def local(kept: str | datetime, zone: tzinfo) -> datetime:
    """An instant in the time zone of the kit."""
    return instant(kept).astimezone(zone)


def day(kept: str | date | datetime, zone: tzinfo | None = None) -> str:
    """A day with its weekday: "Wed 25 Nov"; far from the day on which it is shown, its year too."""
    found = _as_day(kept, zone)
    said = f"{DAYS[found.weekday()][:3]} {found.day} {MONTHS[found.month - 1][:3]}"
    shown = _SHOWN_ON.get()
    is_far = shown is not None and abs((found - shown).days) > YEAR_UNSAID_D
    return f"{said} {found.year}" if is_far else said


def long_day(kept: str | date | datetime, zone: tzinfo | None = None) -> str:
    """A day in full: "Wednesday, 25 November 2026"."""
    found = _as_day(kept, zone)
    return f"{DAYS[found.weekday()]}, {found.day} {MONTHS[found.month - 1]} {found.year}"


def _as_day(kept: str | date | datetime, zone: tzinfo | None) -> date:
    if isinstance(kept, str) and len(kept) == 10:
        return date.fromisoformat(kept)
    if isinstance(kept, datetime | str):
        found = instant(kept)
        return found.astimezone(zone or UTC).date()
    return kept


def clock(kept: str | datetime, zone: tzinfo) -> str:
    """The time of day: "14:05"."""
    return local(kept, zone).strftime("%H:%M")


def moment(kept: str | datetime, zone: tzinfo) -> str:
    """Day and time: "Wed 25 Nov, 14:05"."""
    return f"{day(kept, zone)}, {clock(kept, zone)}"


def for_box(kept: str | datetime, zone: tzinfo) -> str:
    """A date and time as a browser's box wants it."""
    return local(kept, zone).strftime("%Y-%m-%dT%H:%M")


def days_between(kept: str | datetime, now: datetime, zone: tzinfo) -> int:
    """Calendar days from one instant to another."""
    return (local(now, zone).date() - local(kept, zone).date()).days


def ago(kept: str | datetime, now: datetime, zone: tzinfo) -> str:
    """How long ago, in the words people use: "today", "yesterday", "3 days ago"."""
    days = days_between(kept, now, zone)
    if days == 0:
        return "today"
    if abs(days) == 1:
        return "yesterday" if days > 0 else "tomorrow"
    return f"{days} days ago" if days > 0 else f"in {-days} days"


def duration(seconds: float | timedelta) -> str:
    """A duration: "1 h 30 min"."""
    if isinstance(seconds, timedelta):
        seconds = seconds.total_seconds()
    return units.written_duration(seconds)


def temperature(celsius: float, system: str = "metric") -> str:
    """A temperature in the unit of the kit."""
    if system == "us":
        return f"{units.fahrenheit(celsius):.0f} °F"
    return f"{celsius:.0f} °C"


def mass(kilograms: float, system: str = "metric") -> str:
    """A mass in the unit of the kit."""
    if system == "us":
        pounds = units.pounds(kilograms)
        return f"{pounds * 16:.0f} oz" if pounds < 1 else f"{pounds:.1f} lb"
    return f"{kilograms * 1000:.0f} g" if kilograms < 1 else f"{kilograms:.2f} kg"


def psi(pascals: float) -> float:
    """A gauge pressure in psi, to a tenth."""
    return round(units.psi(pascals), 1)


def pounds_in_box(kilograms: float) -> float:
    """A mass for a box that takes pounds."""
    return round(units.pounds(kilograms), 2)


def ounces_in_box(kilograms: float) -> int:
    """A mass for a box that takes ounces."""
    return round(16 * units.pounds(kilograms))


def number(value: float, digits: int = 0) -> str:
    """A number with a thin space between thousands."""
    return f"{value:,.{digits}f}".replace(",", "\u202f")


def percent(share: float, digits: int = 0) -> str:
    """A fraction as a percentage."""
    return f"{share * 100:.{digits}f} %"


def plural(count: int, one: str, many: str = "") -> str:
    """A count with its noun."""
    return f"{number(count)} {one if count == 1 else many or one + 's'}"


FILTERS: dict[str, Any] = {
    each.__name__: each
    for each in (
        day, long_day, clock, moment, for_box, ago, duration, temperature, mass, number, percent,
        plural, days_between, local, psi, pounds_in_box, ounces_in_box,
    )
}  # fmt: skip
