"""The calendar of a plan: an .ics file whose events move when the plan is made again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, tzinfo
from hashlib import sha256
from typing import TYPE_CHECKING

from spawnwright import __version__
from spawnwright.errors import Unusable
from spawnwright.paper.dates import is_of_days
from spawnwright.records.plan import Plan, Step
from spawnwright.records.wish import Wish

if TYPE_CHECKING:
    from icalendar import Alarm, Component, Event, Timezone

_BEFORE_HANDS_ON = timedelta(minutes=-10)
_FIRST_SEQUENCE = datetime(2026, 1, 1, tzinfo=UTC)
_GROUPS = {
    "culture_test": "Culture", "wash_jars": "Kit", "make_lids": "Kit", "wash_up": "Kit",
    "soak": "Grain", "rinse": "Grain", "simmer": "Grain", "drain": "Grain",
    "surface_dry": "Grain", "weigh": "Grain", "fill": "Grain", "load": "Canner",
    "heat_up": "Canner", "vent": "Canner", "hold": "Canner", "pressure_drop": "Canner",
    "unload": "Canner",
    "cool_down": "Canner", "inoculate": "Inoculation", "use_by": "Use", "use": "Use",
    "first_harvest": "Use",
}  # fmt: skip


def calendar_ics(plan: Plan, wish: Wish) -> bytes:
    """The steps of a feasible plan as an iCalendar file (RFC 5545), the same bytes each time.

    Steps with hands on them ring ten minutes before; what runs by itself, and the hold, rings
    when it ends. Reminders of a day are all-day events that ring in the morning. An event's UID
    comes from the step's key and the batch, its SEQUENCE from the instant of planning: a calendar
    that has an earlier plan of the same wish moves its events instead of doubling them.
    """
    if not plan.feasible:
        raise Unusable("There is no batch to put in a calendar: the wish cannot be met as it is.")
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", f"-//Spawnwright//Spawnwright {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    species = wish.goal.species
    name = species.names[min(1, len(species.names) - 1)]
    calendar.add("x-wr-calname", f"Grain spawn: {name}")
    calendar.add_component(_time_zone(plan, wish))
    batch = batch_key(wish)
    for step in plan.steps:
        calendar.add_component(_event(step, batch, wish))
    return bytes(calendar.to_ical())


def batch_key(wish: Wish) -> str:
    """A short name for the batch that a wish is about, the same when it is planned again."""
    goal = wish.goal
    dates = [each.isoformat() for each in (goal.ready_by, goal.start) if each]
    kinds = [goal.species.key, wish.grain.grain.key, wish.kit.jar.key]
    said = [f"{goal.jars}", f"{goal.fresh_kg}", *dates, *kinds]
    return sha256("\n".join(said).encode()).hexdigest()[:12]


def _time_zone(plan: Plan, wish: Wish) -> Timezone:
    """The grower's zone over the years of the plan, each change of the clocks on its own.

    Not by `Timezone.from_tzinfo`, which dates the change to summer time by the clock after it;
    RFC 5545, 3.6.5, wants the clock before.
    """
    from icalendar import Timezone

    instants = [wish.now, *(step.at for step in plan.steps), *(step.until for step in plan.steps)]
    zone = wish.place.time_zone
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


def _event(step: Step, batch: str, wish: Wish) -> Event:
    from icalendar import Event

    event = Event()
    event.add("uid", f"{step.key}.{batch}@spawnwright.invalid")
    event.add("dtstamp", wish.now.astimezone(UTC))
    event.add("sequence", int((wish.now - _FIRST_SEQUENCE) / timedelta(minutes=1)))
    event.add("summary", step.title)
    event.add("description", _description(step))
    event.add("categories", [_GROUPS.get(step.kind, "Shelf"), _manner(step)])
    if is_of_days(step):
        event.add("dtstart", step.at.date())
        event.add("dtend", step.until.date() + timedelta(days=1))
        event.add("transp", "TRANSPARENT")
        event.add_component(_alarm(_on_the_day(step), "START", step.title))
        return event
    event.add("dtstart", step.at.astimezone(wish.place.time_zone))
    event.add("dtend", step.until.astimezone(wish.place.time_zone))
    event.add("transp", "OPAQUE" if step.is_attended else "TRANSPARENT")
    if step.is_attended:
        event.add_component(_alarm(_BEFORE_HANDS_ON, "START", f"In ten minutes: {step.title}"))
    if not step.is_attended or step.kind == "hold":
        event.add_component(_alarm(timedelta(0), "END", f"Over: {step.title}"))
    return event


def _on_the_day(step: Step) -> timedelta:
    """When a reminder rings, from midnight: at the step's hour, but not at night."""
    hour = timedelta(hours=step.at.hour, minutes=step.at.minute)
    return max(hour, timedelta(hours=8))


def _manner(step: Step) -> str:
    if is_of_days(step):
        return "Reminder"
    return "Hands on" if step.is_attended else "Runs by itself"


def _description(step: Step) -> str:
    parts = [step.detail, *(f"Caution: {each}" for each in step.cautions)]
    if step.latest:
        parts.insert(1, f"At the latest: {step.latest:%Y-%m-%d %H:%M}.")
    return "\n".join(part for part in parts if part)


def _alarm(offset: timedelta, related: str, text: str) -> Alarm:
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", text)
    alarm.add("trigger", offset, parameters={"RELATED": related})
    return alarm
