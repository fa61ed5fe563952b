"""The parts of an iCalendar file (RFC 5545): its frame, the time zone, events, alarms."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING

from spawnwright import __version__
from spawnwright.paper.dates import is_of_days
from spawnwright.records.feed import FeedEvent

if TYPE_CHECKING:
    from icalendar import Alarm, Calendar, Component, Event, Timezone

OURS = "@spawnwright.invalid"
"""What the UID of each event ends with."""
MAKER = "Spawnwright"
CALLED_OFF = "This is done, or not planned any more."
_BEFORE_HANDS_ON = timedelta(minutes=-10)
_GROUPS = {
    "culture_test": "Culture", "wash_jars": "Kit", "make_lids": "Kit", "wash_up": "Kit",
    "soak": "Grain", "rinse": "Grain", "simmer": "Grain", "drain": "Grain",
    "surface_dry": "Grain", "weigh": "Grain", "fill": "Grain", "load": "Canner",
    "heat_up": "Canner", "vent": "Canner", "hold": "Canner", "pressure_drop": "Canner",
    "unload": "Canner",
    "cool_down": "Canner", "inoculate": "Inoculation", "use_by": "Use", "use": "Use",
    "first_harvest": "Use",
}  # fmt: skip


def frame(name: str, zone: tzinfo, instants: Iterable[datetime]) -> Calendar:
    """A calendar of that name without events, in a time zone over the years of some instants."""
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", f"-//{MAKER}//{MAKER} {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", name)
    calendar.add_component(_time_zone(zone, list(instants)))
    return calendar


def _time_zone(zone: tzinfo, instants: list[datetime]) -> Timezone:
    """The grower's zone over those years, each change of the clocks on its own.

    Not by `Timezone.from_tzinfo`, which dates the change to summer time by the clock after it;
    RFC 5545, 3.6.5, wants the clock before.
    """
    from icalendar import Timezone

    begin = datetime(min(instants).year - 1, 12, 1, tzinfo=UTC)
    end = datetime(max(instants).year + 1, 12, 31, tzinfo=UTC)
    component = Timezone()
    component.add("tzid", time_zone_name(zone))
    component.add_component(_observance(zone, begin, begin.astimezone(zone).utcoffset()))
    while begin < end:
        following = begin + timedelta(days=1)
        if _clock(zone, begin) != _clock(zone, following):
            change, after = begin, following
            while after - change > timedelta(seconds=1):
                middle = change + (after - change) / 2
                if _clock(zone, middle) == _clock(zone, begin):
                    change = middle
                else:
                    after = middle
            after = (after + timedelta(seconds=30)).replace(second=0, microsecond=0)
            component.add_component(_observance(zone, after, begin.astimezone(zone).utcoffset()))
        begin = following
    return component


def _clock(zone: tzinfo, instant: datetime) -> tuple[timedelta | None, str | None]:
    local = instant.astimezone(zone)
    return local.utcoffset(), local.tzname()


def _observance(zone: tzinfo, onset: datetime, before: timedelta | None) -> Component:
    """What the clocks show from an instant on, which is given by the clock before it."""
    from icalendar import TimezoneDaylight, TimezoneStandard

    local = onset.astimezone(zone)
    found = TimezoneDaylight() if local.dst() else TimezoneStandard()
    found.add("dtstart", (onset + (before or timedelta(0))).replace(tzinfo=None))
    found.add("tzoffsetfrom", before or timedelta(0))
    found.add("tzoffsetto", local.utcoffset() or timedelta(0))
    found.add("tzname", local.tzname() or "")
    return found


def time_zone_name(zone: tzinfo) -> str:
    """The name of a zone, "Europe/Warsaw", or what Python calls it."""
    return str(getattr(zone, "key", zone))


def event_of(said: FeedEvent, zone: tzinfo) -> Event:
    """The event of one step, its hours in a time zone.

    Steps with hands on them ring ten minutes before; what runs by itself, and the hold, rings
    when it ends. Reminders of a day are all-day events that ring in the morning. One that is
    cancelled says so, and does not ring.
    """
    from icalendar import Event

    event = Event()
    event.add("uid", f"{said.uid}{OURS}")
    event.add("dtstamp", said.changed.astimezone(UTC))
    event.add("sequence", said.revision)
    event.add("summary", said.title)
    of_days = is_of_days(said)
    if of_days:
        event.add("dtstart", said.at.astimezone(zone).date())
        event.add("dtend", said.until.astimezone(zone).date() + timedelta(days=1))
    else:
        event.add("dtstart", said.at.astimezone(zone))
        event.add("dtend", said.until.astimezone(zone))
    if said.is_cancelled:
        event.add("status", "CANCELLED")
        event.add("description", CALLED_OFF)
        event.add("transp", "TRANSPARENT")
        return event
    event.add("description", _description(said))
    event.add("categories", [_GROUPS.get(said.kind, "Shelf"), _manner(said)])
    event.add("transp", "OPAQUE" if said.is_attended and not of_days else "TRANSPARENT")
    for alarm in _alarms(said, zone):
        event.add_component(alarm)
    return event


def _alarms(said: FeedEvent, zone: tzinfo) -> list[Alarm]:
    if is_of_days(said):
        return [_alarm(_on_the_day(said.at.astimezone(zone)), "START", said.title)]
    found = []
    if said.is_attended:
        found.append(_alarm(_BEFORE_HANDS_ON, "START", f"In ten minutes: {said.title}"))
    if not said.is_attended or said.kind == "hold":
        found.append(_alarm(timedelta(0), "END", f"Over: {said.title}"))
    return found


def _on_the_day(at: datetime) -> timedelta:
    """When a reminder rings, from midnight: at the step's hour, but not at night."""
    return max(timedelta(hours=at.hour, minutes=at.minute), timedelta(hours=8))


def _manner(said: FeedEvent) -> str:
    if is_of_days(said):
        return "Reminder"
    return "Hands on" if said.is_attended else "Runs by itself"


def _description(said: FeedEvent) -> str:
    parts = [said.detail, *(f"Caution: {each}" for each in said.cautions)]
    if said.latest:
        parts.insert(1, f"At the latest: {said.latest:%Y-%m-%d %H:%M}.")
    return "\n".join(part for part in parts if part)


def _alarm(offset: timedelta, related: str, text: str) -> Alarm:
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", text)
    alarm.add("trigger", offset, parameters={"RELATED": related})
    return alarm
