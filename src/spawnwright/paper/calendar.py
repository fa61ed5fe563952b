"""Calendars: of a plan, whose events move when it is made again, and of all that waits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from hashlib import sha256

from spawnwright.errors import Unusable
from spawnwright.paper.calendar_parts import event_of, frame
from spawnwright.records.feed import FeedEvent
from spawnwright.records.plan import Plan
from spawnwright.records.wish import Wish

_FIRST_SEQUENCE = datetime(2026, 1, 1, tzinfo=UTC)
_ASK_AGAIN = timedelta(hours=1)


def calendar_ics(plan: Plan, wish: Wish, before: bytes | None = None) -> bytes:
    """The steps of a feasible plan as an iCalendar file (RFC 5545), the same bytes each time.

    An event's UID comes from the step's key and the batch, its SEQUENCE from the instant of
    planning: a calendar that has an earlier plan of the same wish moves its events instead of
    doubling them.

    Parameters
    ----------
    plan, wish
        A plan that can be met, and what it answers.
    before : bytes, optional
        The file of an older plan that this one replaces. Its steps that this plan has no more
        come as STATUS:CANCELLED with a higher SEQUENCE, so that calendars take them out.

    Raises
    ------
    Unusable
        If the plan cannot be met.
    """
    if not plan.feasible:
        raise Unusable("There is no batch to put in a calendar: the wish cannot be met as it is.")
    batch, zone = batch_key(wish), wish.place.time_zone
    events = events_of(plan, wish)
    if before is not None:
        from spawnwright.paper.calendar_before import after

        events = after(before, events, batch, wish.now, zone)
    species = wish.goal.species
    name = species.names[min(1, len(species.names) - 1)]
    return _file(f"Grain spawn: {name}", zone, events, [wish.now])


def feed_ics(events: Sequence[FeedEvent], zone: tzinfo, name: str = "Grain spawn") -> bytes:
    """Events as a calendar to subscribe to, the same bytes for the same events.

    Calendars are asked to look again every hour (RFC 7986). An empty one is a valid calendar too.
    """
    return _file(name, zone, events, [], is_feed=True)


def _file(
    name: str,
    zone: tzinfo,
    events: Iterable[FeedEvent],
    instants: list[datetime],
    *,
    is_feed: bool = False,
) -> bytes:
    events = list(events)
    times = [*instants, *(each.at for each in events), *(each.until for each in events)]
    calendar = frame(name, zone, times or [_FIRST_SEQUENCE])
    if is_feed:
        calendar.add("refresh-interval", _ASK_AGAIN, parameters={"VALUE": "DURATION"})
    for each in events:
        calendar.add_component(event_of(each, zone))
    return bytes(calendar.to_ical())


def events_of(plan: Plan, wish: Wish) -> list[FeedEvent]:
    """The steps of a plan as events of a calendar, in their order."""
    batch = batch_key(wish)
    revision = int((wish.now - _FIRST_SEQUENCE) / timedelta(minutes=1))
    return [
        FeedEvent(
            f"{step.key}.{batch}", revision, wish.now, step.at, step.until, step.title, step.kind,
            step.detail, step.cautions, step.is_attended, step.latest,
        )
        for step in plan.steps
    ]  # fmt: skip


def batch_key(wish: Wish) -> str:
    """A short name for the batch that a wish is about, the same when it is planned again."""
    goal = wish.goal
    dates = [each.isoformat() for each in (goal.ready_by, goal.start) if each]
    kinds = [goal.species.key, wish.grain.grain.key, wish.kit.jar.key]
    said = [f"{goal.jars}", f"{goal.fresh_kg}", *dates, *kinds]
    return sha256("\n".join(said).encode()).hexdigest()[:12]
