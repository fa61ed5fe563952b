"""Steps after the inoculation: shelf, looks, shake, ready, use, wash up. Reminders of a day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from math import isfinite

from spawnwright.actions.planning import texts_shelf as texts
from spawnwright.actions.planning.choose import USE_DAYS
from spawnwright.actions.planning.facts import LONGEST_D, Facts
from spawnwright.actions.planning.said import codes
from spawnwright.actions.planning.steps import Steps, later
from spawnwright.model.planning.batch import LOOK_MIN
from spawnwright.model.planning.free_hours import intervals
from spawnwright.model.planning.schedule_problem import Session
from spawnwright.records.band import Band
from spawnwright.records.plan import ReadyBand, Step

LOOK_DAYS = (2, 4, 7)
DAY_MIN = 24 * 60.0
NOON = time(12)


@dataclass(frozen=True)
class Days:
    """Days from inoculation, as far as they are finite."""

    low: float
    likely: float
    high: float


def ready_days(facts: Facts) -> Days:
    """Days to ready; where the slow end never comes, the last day that is forecast."""
    return _finite(facts.growth.ready_day, facts.ready_percentiles)


def _finite(days: Band, percentiles: tuple[float, ...] = ()) -> Days:
    last = max((each for each in percentiles if isfinite(each)), default=days.likely)
    high = days.high if days.high <= LONGEST_D else max(last, days.likely)
    return Days(days.low, days.likely, high)


def ready_band(steps: Steps, last: datetime) -> ReadyBand:
    """When jars inoculated by `last` are ready."""
    days = ready_days(steps.facts)
    low, likely, high = (
        steps.local(later(last, round(each * DAY_MIN)))
        for each in (days.low, days.likely, days.high)
    )
    return ReadyBand(low, likely, high)


def add_shelf(steps: Steps, sessions: list[tuple[Session, Step]]) -> None:
    """Shelf, looks and shake of each inoculation; one look a day serves them all."""
    looked: set[date] = set()
    for number, (session, inoculated) in enumerate(sessions, 1):
        begin, days = inoculated.until, ready_days(steps.facts)
        steps.add(
            f"shelf-{number}",
            "shelf",
            begin,
            later(begin, round(days.likely * DAY_MIN)),
            texts.shelf(steps.facts, names_of(steps, session)),
            is_attended=False,
            run=session.last,
            after=(inoculated.key,),
        )
        for day in _look_days(days.high):
            on = inoculated.at.date() + timedelta(days=day)
            if on not in looked:
                looked.add(on)
                _add_look(steps, number, day, on)
        _add_shake(steps, number, begin)


def names_of(steps: Steps, session: Session) -> str:
    """The codes of the jars of an inoculation, controls included."""
    plan = steps.solution.layout
    names = [codes(0, 1, plan.sterile)] if session.first == 0 and plan.sterile else []
    names += [
        codes(run.number, 1, run.jars)
        for run in plan.runs
        if max(1, session.first) <= run.number <= session.last
    ]
    return ", ".join(names)


def _look_days(high: float) -> Iterator[int]:
    """Days 2, 4 and 7, then twice a week until even the slow jars are ready."""
    yield from LOOK_DAYS
    day, gap = LOOK_DAYS[-1] + 4, 3
    while day <= high:
        yield day
        day, gap = day + gap, 7 - gap


def _add_look(steps: Steps, number: int, day: int, on: date) -> None:
    begin, in_hours = at_hand(steps, on)
    steps.add(
        f"look-{number}-day-{day}",
        "look",
        begin,
        later(begin, float(LOOK_MIN)),
        texts.look(steps.facts, day, in_hours=in_hours),
        is_attended=False,
        amounts={"day": float(day)},
    )


def _add_shake(steps: Steps, number: int, inoculated: datetime) -> None:
    days = _finite(steps.facts.growth.shake_day)
    low, likely, high = (
        steps.local(later(inoculated, round(each * DAY_MIN)))
        for each in (days.low, days.likely, days.high)
    )
    begin, _ = at_hand(steps, likely.date())
    steps.add(
        f"shake-{number}",
        "shake",
        begin,
        later(begin, float(LOOK_MIN)),
        texts.shake(steps.facts, low, high),
        is_attended=False,
        latest=high,
        amounts={"share": steps.facts.growth.shake_share},
    )


def at_hand(steps: Steps, on: date) -> tuple[datetime, bool]:
    """The first free quarter hour of a day that was not begun the night before, else of any; and
    whether there is one, else noon.
    """
    wish = steps.facts.wish
    zone = wish.place.time_zone
    morning = datetime.combine(on, time(), zone).astimezone(UTC)
    night = datetime.combine(on + timedelta(days=1), time(), zone).astimezone(UTC)
    starts = [
        (begin < morning, max(begin, morning, wish.now.astimezone(UTC)))
        for begin, end in intervals(wish.free, zone, morning, night)
        if min(end, night) - max(begin, morning, wish.now.astimezone(UTC))
        >= timedelta(minutes=float(LOOK_MIN))
    ]
    if starts:
        return steps.local(min(starts)[1]), True
    return datetime.combine(on, NOON, zone), False


def add_end(steps: Steps, ready: ReadyBand, control: str) -> None:
    """Ready, use, first harvest, use by, wash up."""
    facts = steps.facts
    begin, _ = at_hand(steps, ready.likely.date())
    steps.add(
        "ready",
        "ready",
        begin,
        later(begin, float(LOOK_MIN)),
        texts.ready(facts, ready.low, ready.high, control),
        is_attended=False,
    )
    used = steps.made["ready"].at
    if facts.wish.goal.fresh_kg is not None:
        used = _add_use(steps, ready)
    by = _add_use_by(steps, ready)
    begin, _ = at_hand(steps, used.date() if facts.wish.goal.fresh_kg else by.date())
    plan = steps.solution.layout
    steps.add(
        "wash-up",
        "wash_up",
        max(begin, used),
        later(max(begin, used), 30.0),
        texts.wash_up(plan.to_make + plan.controls),
        is_attended=False,
        after=("ready",),
        amounts={"jars": float(plan.to_make + plan.controls)},
    )


def _add_use(steps: Steps, ready: ReadyBand) -> datetime:
    """Spawning the day after, and the first harvest of it."""
    facts = steps.facts
    begin, _ = at_hand(steps, ready.likely.date() + timedelta(days=USE_DAYS))
    use = steps.add(
        "use", "use", begin, later(begin, 60.0), texts.use(facts), is_attended=False,
        after=("ready",),
    )  # fmt: skip
    days = facts.wish.goal.species.first_harvest_days
    low, likely, high = (
        steps.local(later(use.at, round(float(each) * DAY_MIN)))
        for each in (getattr(days, "low", days), days, getattr(days, "high", days))
    )
    harvest, _ = at_hand(steps, likely.date())
    steps.add(
        "first-harvest",
        "first_harvest",
        harvest,
        later(harvest, 30.0),
        texts.first_harvest(facts, low, high),
        is_attended=False,
        after=("use",),
    )
    return use.at


def _add_use_by(steps: Steps, ready: ReadyBand) -> datetime:
    """At room temperature; in the cold where there is a cold place, or the day is later."""
    facts = steps.facts
    species, ready_by = facts.wish.goal.species, facts.wish.goal.ready_by
    warm, cold = (
        steps.local(later(ready.likely, round(float(days) * DAY_MIN)))
        for days in (species.use_by_room_days, species.use_by_cold_days)
    )
    is_late = ready_by is not None and facts.wish.goal.fresh_kg is None and warm < ready_by
    by = cold if facts.wish.kit.has_cold_place or is_late else warm
    begin, _ = at_hand(steps, by.date())
    steps.add(
        "use-by",
        "use_by",
        begin,
        later(begin, float(LOOK_MIN)),
        texts.use_by(facts, warm, cold),
        is_attended=False,
        after=("ready",),
    )
    return begin
