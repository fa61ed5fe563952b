"""When the grower is free: `[[free]]` of a wish written out as intervals, all in UTC."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

Interval = tuple[datetime, datetime]
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
EVERY_DAY = [{"days": list(DAYS), "from": "08:00", "until": "22:00"}]


def written_out(wish: dict, zone: ZoneInfo, first: datetime, last: datetime) -> list[Interval]:
    """All free intervals that touch `first` to `last`, merged where they meet."""
    found = []
    day = first.astimezone(zone).date() - timedelta(days=2)
    while day <= last.astimezone(zone).date() + timedelta(days=1):
        for entry in wish.get("free") or EVERY_DAY:
            if _holds_on(day, entry):
                found.append(_on(day, entry, zone))
        day += timedelta(days=1)
    return merged(found)


def merged(intervals: list[Interval]) -> list[Interval]:
    """The same time without overlaps."""
    out: list[Interval] = []
    for begin, end in sorted(intervals):
        if out and begin <= out[-1][1]:
            out[-1] = (out[-1][0], max(end, out[-1][1]))
        elif begin < end:
            out.append((begin, end))
    return out


def covers(free: list[Interval], begin: datetime, end: datetime) -> bool:
    """Whether one free interval holds all of `begin` to `end`."""
    return any(first <= begin and end <= last for first, last in free)


def _holds_on(day: date, entry: dict) -> bool:
    every_day = "days" not in entry and "on" not in entry
    return every_day or entry.get("on") == day or DAYS[day.weekday()] in entry.get("days", ())


def _on(day: date, entry: dict, zone: ZoneInfo) -> Interval:
    begin, end = _time(entry["from"]), _time(entry["until"])
    last_day = day + timedelta(days=1) if end <= begin else day
    return _utc(day, begin, zone), _utc(last_day, end, zone)


def _utc(day: date, clock: time, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, clock, zone).astimezone(UTC)


def _time(written: time | str) -> time:
    return written if isinstance(written, time) else time.fromisoformat(written)
