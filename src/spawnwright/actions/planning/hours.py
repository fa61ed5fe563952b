"""Free hours that would make a wish possible: on which day, and how much longer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import time, timedelta

from spawnwright.actions.planning.choose import solve
from spawnwright.actions.planning.facts import Facts
from spawnwright.actions.planning.lots import Begun, layout
from spawnwright.actions.planning.said import minutes
from spawnwright.model.planning import batch
from spawnwright.model.planning.free_hours import intervals, longest_stretch
from spawnwright.records.plan import Binding
from spawnwright.records.wish import FreeHours

NAMES = ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays")
LONGER_H = (0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0)
EARLIEST, LATEST = 6 * 60, 24 * 60  # minutes of the day that one may be asked to be free in
NEW_FROM = 9 * 60


def freer_hours(facts: Facts) -> Iterator[Binding]:
    """The least lengthening of one weekday's hours that frees the wish, or of every day's."""
    every = tuple(range(7))
    if _solved(facts, every, LONGER_H[-1]) is None:
        return
    limit = f"free hours, of which the longest stretch is {longest(facts)}"
    each_day = next(hours for hours in LONGER_H if _solved(facts, every, hours) is not None)
    # A day that is not enough at its longest is not tried at all that is shorter.
    enough = [day for day in every if _solved(facts, (day,), LONGER_H[-1]) is not None]
    for hours in (each for each in LONGER_H if enough and each >= each_day):
        for weekday in enough:
            if _solved(facts, (weekday,), hours) is not None:
                begin, end = _window(facts, weekday, hours)
                yield Binding(limit, f"{NAMES[weekday]} from {_said(begin)} to {_said(end)}")
                return
    yield Binding(limit, f"{minutes(60 * each_day)} more on each day of the week")


def hours_said(facts: Facts) -> str:
    """How long a stretch the work needs, against the longest that is free."""
    cook, run = _needed_min(facts)
    return (
        f"One soak takes {minutes(cook)} of cooking and filling in one go, one run "
        f"{minutes(run)} from loading until nobody is needed; the longest stretch that you are "
        f"free is {longest(facts)}."
    )


def needed_in_one_go(facts: Facts) -> str:
    """The stretch that cooking and canner need: one after the other, or apart with a cold place."""
    cook, run = _needed_min(facts)
    return minutes(max(cook, run) if facts.wish.kit.has_cold_place else cook + run)


def _needed_min(facts: Facts) -> tuple[float, float]:
    jars = min(facts.per_load, max(1, facts.wanted))
    (lot,) = layout(facts, Begun(), jars, 1, 1, 0).lots
    return lot.cooking.minutes, batch.LOAD_MIN + facts.heat.presence_min


def longest(facts: Facts) -> str:
    """The longest stretch that is free until the date, or within four weeks."""
    wish = facts.wish
    last = wish.goal.ready_by or wish.now + timedelta(days=28)
    free = intervals(wish.free, wish.place.time_zone, wish.now, last)
    return minutes(longest_stretch(free).total_seconds() / 60)


def _solved(facts: Facts, weekdays: tuple[int, ...], hours: float) -> object | None:
    more = []
    for weekday in weekdays:
        begin, end = _window(facts, weekday, hours)
        more.append(FreeHours((weekday,), None, _time(begin), _time(end)))
    return solve(facts.for_wish(replace(facts.wish, free=(*facts.wish.free, *more))))


def _window(facts: Facts, weekday: int, hours: float) -> tuple[int, int]:
    """The day's longest window, so much longer: later first, then earlier [minute of the day]."""
    windows = [
        (_minute(each.start), _minute(each.until) or LATEST)
        for each in facts.wish.free
        if weekday in each.weekdays and (_minute(each.until) or LATEST) > _minute(each.start)
    ]
    if not windows:
        return NEW_FROM, min(LATEST, NEW_FROM + round(60 * hours))
    begin, end = max(windows, key=lambda each: each[1] - each[0])
    later = min(LATEST, end + round(60 * hours))
    earlier = max(min(EARLIEST, begin), begin - (round(60 * hours) - (later - end)))
    return earlier, later


def _minute(clock: time) -> int:
    return clock.hour * 60 + clock.minute


def _time(minute: int) -> time:
    return time(minute // 60 % 24, minute % 60)


def _said(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"
