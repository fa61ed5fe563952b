"""What an older calendar file of ours makes of a newer one: what moves, what is called off."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta, tzinfo
from typing import TYPE_CHECKING

from spawnwright.paper.calendar_parts import CALLED_OFF, MAKER, OURS, event_of
from spawnwright.records.feed import FeedEvent

if TYPE_CHECKING:
    from icalendar import Component

_BATCH = re.compile(r"\.([0-9a-f]{12})$")
_PASSING = ("DTSTAMP", "SEQUENCE")


@dataclass(frozen=True)
class _Old:
    """An event of the older file."""

    uid: str
    revision: int
    is_cancelled: bool
    begin: date
    end: date
    title: str
    content: tuple[str, ...]


def after(
    before: bytes, events: Sequence[FeedEvent], batch: str, now: datetime, zone: tzinfo
) -> list[FeedEvent]:
    """The events of a new plan, as an older file's calendar must be told them.

    An event that the older file has as well keeps its UID; its revision rises above the old one
    if anything about it has changed. What the new plan has no more is called off; of another
    batch only what is not over, since that was really done.

    Parameters
    ----------
    before : bytes
        The older file; one that is not ours changes nothing.
    events : sequence of FeedEvent
        Of the new plan.
    batch : str
        The key of its batch.
    now, zone
        The instant of planning, and the grower's time zone.
    """
    old = _events_in(before)
    revision = max((each.revision for each in events), default=0)
    found = []
    for each in events:
        known = old.pop(each.uid, None)
        if known is not None:
            each = _newer(each, known, zone)
        found.append(each)
    for known in old.values():
        off = _called_off(known, now, zone, revision)
        of = _BATCH.search(known.uid)
        if off is not None and ((of is not None and of[1] == batch) or off.until > now):
            found.append(off)
    return found


def _newer(each: FeedEvent, known: _Old, zone: tzinfo) -> FeedEvent:
    if _content(event_of(each, zone)) == known.content:
        return replace(each, revision=known.revision)
    return replace(each, revision=max(each.revision, known.revision + 1))


def _events_in(before: bytes) -> dict[str, _Old]:
    """The events of ours by UID, without its ending; none if the file is not ours."""
    from icalendar import Calendar

    try:
        calendar = Calendar.from_ical(before)
    except (ValueError, IndexError, KeyError):  # whatever else a file of that name may hold
        return {}
    if isinstance(calendar, list) or MAKER not in str(calendar.get("prodid", "")):
        return {}
    known = [_read(event) for event in calendar.walk("VEVENT")]
    return {each.uid: each for each in known if each is not None}


def _read(event: Component) -> _Old | None:
    """An event of ours; none if it is not, or if it is damaged: it is told of as if new."""
    from icalendar import vDDDTypes

    uid, revision = event.get("uid"), event.get("sequence", 0)
    begin, end = (
        told.dt if isinstance(told, vDDDTypes) else None
        for told in (event.get("dtstart"), event.get("dtend"))
    )
    if not isinstance(begin, date) or not isinstance(end, date):
        return None
    if not isinstance(revision, int) or not str(uid).endswith(OURS):
        return None
    if isinstance(begin, datetime) != isinstance(end, datetime):
        return None
    name, title = str(uid).removesuffix(OURS), str(event.get("summary", ""))
    is_cancelled = event.get("status") == "CANCELLED"
    return _Old(name, revision, is_cancelled, begin, end, title, _content(event))


def _content(event: Component) -> tuple[str, ...]:
    """What an event says, without when it was said."""
    from icalendar import Event

    text = Event.from_ical(event.to_ical()).to_ical().decode().replace("\r\n ", "")
    return tuple(line for line in text.splitlines() if not line.startswith(_PASSING))


def _called_off(known: _Old, now: datetime, zone: tzinfo, revision: int) -> FeedEvent | None:
    """An old event as one that is cancelled; none if it ended before it began."""
    is_of_days = not isinstance(known.begin, datetime)
    end = known.end - timedelta(days=1) if is_of_days else known.end
    at, until = _instant(known.begin, zone), _instant(end, zone)
    if until < at:
        return None
    off = FeedEvent(
        known.uid, known.revision, now, at, until, known.title,
        kind="shelf" if is_of_days else "", detail=CALLED_OFF, is_attended=not is_of_days,
        is_cancelled=True,
    )  # fmt: skip
    if known.is_cancelled:
        return off
    return replace(off, revision=max(revision, known.revision + 1))


def _instant(when: date, zone: tzinfo) -> datetime:
    if not isinstance(when, datetime):
        return datetime.combine(when, time(), zone)
    return when if when.tzinfo else when.replace(tzinfo=zone)
