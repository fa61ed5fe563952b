"""Days and hours as a sheet shows them, the same in every locale."""

from __future__ import annotations

from datetime import date, datetime

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
