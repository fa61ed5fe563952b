"""Days and hours as a sheet shows them, the same in every locale."""

from __future__ import annotations

from datetime import date, datetime

from spawnwright.records.feed import FeedEvent
from spawnwright.records.plan import Step

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip


def day(when: date) -> str:
    """Weekday, day and month: "Tue 16 Mar"."""
    return f"{DAYS[when.weekday()]} {when.day} {MONTHS[when.month - 1]}"


def day_of_year(when: date) -> str:
    """The same with the year: "Tue 16 Mar 2027"."""
    return f"{day(when)} {when.year}"


def clock(when: datetime) -> str:
    """The hour: "09:05"."""
    return f"{when:%H:%M}"


TIMED = (
    "soak", "rinse", "simmer", "drain", "surface_dry", "weigh", "fill", "load", "heat_up", "vent",
    "hold", "pressure_drop", "unload", "cool_down",
)  # fmt: skip


def is_of_days(step: Step | FeedEvent) -> bool:
    """Whether a step is about days and not about hours: a reminder, or a stay on the shelf."""
    return step.at == step.until or (not step.is_attended and step.kind not in TIMED)
