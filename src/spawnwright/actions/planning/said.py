"""The words of a step: title, detail with its numbers, cautions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from spawnwright.records.jar_codes import run_letter

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip


@dataclass(frozen=True)
class Said:
    """What a step says."""

    title: str
    detail: str
    cautions: tuple[str, ...] = ()


def clock(when: datetime, zone: tzinfo) -> str:
    """An instant as a wall calendar shows it: "Sat 28 Nov 09:00"."""
    local = when.astimezone(zone)
    return f"{day(when, zone)} {local:%H:%M}"


def day(when: datetime, zone: tzinfo) -> str:
    """A day as a wall calendar shows it: "Sat 28 Nov"."""
    return day_of(when.astimezone(zone).date())


def day_of(on: date) -> str:
    """A date without its year: "Sat 28 Nov"."""
    return f"{DAYS[on.weekday()]} {on.day} {MONTHS[on.month - 1]}"


def minutes(number: float) -> str:
    """Minutes as a person says them: "45 min", "1 h 30 min"."""
    hours, rest = divmod(round(number), 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def liters(volume_l: float) -> str:
    """A volume of water to a tenth of a liter."""
    return f"{volume_l:.1f} L"


def milliliters(volume_m3: float) -> str:
    """A dose, to a tenth of a milliliter."""
    return f"{volume_m3 * 1e6:.1f}".removesuffix(".0") + " mL"


def counted(number: int, what: str, more: str = "") -> str:
    """A number with its noun: "1 jar", "7 jars"."""
    return f"{number} {what if number == 1 else more or what + 's'}"


def codes(run: int, first: int, last: int) -> str:
    """Codes of jars on their lids: run A is the first, jars count from 1."""
    letter = run_letter(run)
    return f"{letter}{first}" if first == last else f"{letter}{first}–{letter}{last}"
