"""Rules on the answer as a whole: what it promises, its chance, its dates, its menu."""

import json
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from datetime import date, datetime, timedelta

from spawnwright.cli.answer import plain
from tests.plan_checker import limits
from tests.plan_checker.case import Case, utc
from tests.plan_checker.free_hours import merged
from tests.plan_checker.rules import rule

PROMISED = {
    "feasible": bool, "binding": list, "jars_to_make": int, "dry_grain_kg": float,
    "water_l": float, "sterilizer_runs": list, "steps": list, "ready": (dict, type(None)),
    "chance_of_meeting": float, "choices": list,
}  # fmt: skip
PROMISED_WITHIN = {
    "binding": {"limit": str, "would_free": str},
    "sterilizer_runs": {"at": str, "jars": int, "hold_min": float},
    "steps": {"at": str, "until": str, "title": str, "detail": str, "cautions": list},
}
ISO = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?[+-]\d\d:\d\d")


@rule("promised keys", always=True)
def promised_keys(case: Case) -> Iterator[str]:
    try:
        answer = json.loads(json.dumps(plain(case.plan), allow_nan=False))
    except (TypeError, ValueError) as reason:
        yield f"the answer is no JSON: {reason}"
        return
    yield from _lacks(answer, PROMISED, "the answer")
    for key, wanted in PROMISED_WITHIN.items():
        for place, each in enumerate(answer.get(key) or ()):
            yield from _lacks(each, wanted, f"{key}[{place}]")
    for key in ("sterilizer_runs", "steps"):
        for place, each in enumerate(answer.get(key) or ()):
            for end in ("at", "until"):
                if not ISO.fullmatch(str(each.get(end))):
                    yield f"{key}[{place}].{end} is {each.get(end)!r}, no ISO 8601 with offset"


def _lacks(answer: dict, wanted: dict, where: str) -> Iterator[str]:
    for key, kind in wanted.items():
        value = answer.get(key)
        is_number = kind is float and isinstance(value, int | float) and not isinstance(value, bool)
        if key not in answer or not (is_number or isinstance(value, kind)):
            yield f"{where} has {value!r} for {key}"


@rule("local offsets", always=True)
def local_offsets(case: Case) -> Iterator[str]:
    for instant in _instants(case.plan):
        if instant.utcoffset() is None:
            yield f"{instant.isoformat()} has no offset"
        elif instant.utcoffset() != instant.astimezone(case.zone).utcoffset():
            yield f"{instant.isoformat()} has not the offset of {case.zone.key} at that instant"


def _instants(value) -> Iterator[datetime]:
    if isinstance(value, datetime):
        yield value
    elif isinstance(value, tuple | list):
        for each in value:
            yield from _instants(each)
    elif is_dataclass(value):
        for each in fields(value):
            yield from _instants(getattr(value, each.name))


@rule("feasible or bound", always=True)
def feasible_or_bound(case: Case) -> Iterator[str]:
    plan = case.plan
    if plan.feasible and plan.binding:
        yield f"feasible, yet bound by {plan.binding[0].limit!r}"
    if plan.feasible and (not plan.steps or plan.ready is None):
        yield "feasible, yet without steps or a ready date"
    if not plan.feasible and not plan.binding:
        yield "not feasible, and no limit is named"
    for each in plan.binding:
        if not each.limit.strip() or not each.would_free.strip():
            yield f"the limit {each.limit!r} would be freed by {each.would_free!r}"


@rule("chance", always=True)
def chance(case: Case) -> Iterator[str]:
    plan, wanted = case.plan, case.share("wish", "chance")
    if not 0 <= plan.chance_of_meeting <= 1:
        yield f"the chance is {plan.chance_of_meeting}"
    parts = min(plan.chance_of_enough, plan.chance_in_time)
    if plan.feasible and plan.chance_of_meeting > parts + 1e-9:
        yield f"the chance is {plan.chance_of_meeting:.3f}, of one of its parts {parts:.3f}"
    if plan.feasible and plan.chance_of_meeting < wanted - 1e-9:
        yield f"feasible with a chance of {plan.chance_of_meeting:.3f} where {wanted:.3f} is wanted"


@rule("ready by")
def ready_by(case: Case) -> Iterator[str]:
    """A chance cannot be above the share of the ready band that lies before the date."""
    plan, by = case.plan, case.ready_by
    if by is None or plan.ready is None:
        return
    for share, name in ((0.05, "low"), (0.5, "likely"), (0.95, "high")):
        instant = getattr(plan.ready, name)
        if utc(instant) > by and plan.chance_in_time > share + 0.02:
            yield (
                f"ready {name} is {case.when(instant)}, past {case.when(by)}, "
                f"yet the chance of being in time is {plan.chance_in_time:.3f}"
            )
    for step in case.of_kind("first_harvest"):
        if utc(step.at) > by and plan.chance_of_meeting > 0.52:
            yield f"the first harvest is on {case.when(step.at)}, past {case.when(by)}"
    for step in case.of_kind("use_by"):  # what is under way cannot be begun later
        if utc(step.until) < by and case.said("wish", "jars") and not case.wish.get("under_way"):
            yield f"to be used by {case.when(step.at)}, before the day it is wanted"


@rule("ready band")
def ready_band(case: Case) -> Iterator[str]:
    ready, last = case.plan.ready, case.of_kind("inoculate")
    if ready is None:
        return
    low, likely, high = (utc(each) for each in (ready.low, ready.likely, ready.high))
    if not low <= likely <= high:
        yield f"the band falls: {low}, {likely}, {high}"
    if low == high:
        yield "the band has no width"
    if last and low < utc(last[-1].until) + limits.LAG_LEAST:
        yield f"ready {case.when(low)}, too soon after {case.when(last[-1].until)}"


@rule("jars wanted")
def jars_wanted(case: Case) -> Iterator[str]:
    plan, wanted = case.plan, case.said("wish", "jars")
    if plan.jars_wanted < 1 or (wanted is not None and plan.jars_wanted != wanted):
        yield f"{plan.jars_wanted} jars wanted by the plan, {wanted} by the wish"
    if plan.jars_to_make < plan.jars_wanted:
        yield f"{plan.jars_to_make} jars to make where {plan.jars_wanted} are wanted"


@rule("choices")
def choices(case: Case) -> Iterator[str]:
    plan = case.plan
    chosen = [each for each in plan.choices if each.is_chosen]
    if len(chosen) != 1:
        yield f"{len(chosen)} choices are chosen"
        return
    mine = chosen[0]
    if (mine.jars_to_make, mine.runs) != (plan.jars_to_make, len(plan.sterilizer_runs)):
        yield (
            f"chosen are {mine.jars_to_make} jars in {mine.runs} runs, planned "
            f"{plan.jars_to_make} in {len(plan.sterilizer_runs)}"
        )
    if abs(mine.chance - plan.chance_of_meeting) > 1e-9:
        yield f"the chosen chance is {mine.chance}, the plan's {plan.chance_of_meeting}"
    enough = [e for e in plan.choices if e.chance >= case.share("wish", "chance") - 1e-9]
    if enough and mine.runs != min(each.runs for each in enough):
        yield f"{mine.runs} runs are chosen where {min(each.runs for each in enough)} do"
    for each in plan.choices:
        if each.runs == mine.runs and each.jars_to_make > mine.jars_to_make:
            yield f"{each.jars_to_make} jars need no further run, {mine.jars_to_make} are chosen"
        for other in plan.choices:
            more = each.runs == other.runs and each.jars_to_make > other.jars_to_make
            if more and each.chance < other.chance - 1e-9:
                yield f"{each.jars_to_make} jars have less chance than {other.jars_to_make}"
    yield from _hours(case, mine.hours)


def _hours(case: Case, said: float) -> Iterator[str]:
    """Hours in which somebody must be there, against a count of its own."""
    busy = [(utc(s.at), utc(s.until)) for s in case.plan.steps if s.is_attended]
    busy += [(utc(run.at), utc(run.until)) for run in case.plan.sterilizer_runs]
    counted = sum((end - begin for begin, end in merged(busy)), timedelta()).total_seconds() / 3600
    if not 0.75 * counted - 1 <= said <= 1.25 * counted + 1:
        yield f"{said:.1f} hours are said, the steps take {counted:.1f}"


@rule("order after inoculation")
def order_after_inoculation(case: Case) -> Iterator[str]:
    """Shelf, looks, ready, use by: each there, and none before what it follows."""
    plan = case.plan
    inoculated = case.of_kind("inoculate")
    if not inoculated or plan.ready is None:
        yield "nothing is inoculated"
        return
    of_mushrooms = ("use", "first_harvest") if case.said("wish", "fresh_mushrooms") else ()
    for kind in ("shelf", "look", "ready", "use_by", "wash_up", *of_mushrooms):
        if not case.of_kind(kind):
            yield f"there is no step {kind}"
    first, last = utc(inoculated[0].at), utc(inoculated[-1].until)
    likely, high = utc(plan.ready.likely), utc(plan.ready.high)
    earliest = {
        "shelf": first, "look": first + timedelta(days=1), "shake": first + timedelta(days=1),
        "ready": last + limits.LAG_LEAST, "use_by": likely, "use": last + limits.LAG_LEAST,
        "first_harvest": likely + timedelta(days=3), "wash_up": first,
    }  # fmt: skip
    for kind, begin in earliest.items():
        for step in case.of_kind(kind):
            # A reminder of a day stands at any hour of that day.
            if utc(step.at) < begin and case.local_day(step.at) < case.local_day(begin):
                yield f"{kind} on {case.when(step.at)}, before {case.when(begin)}"
    latest = {"shake": likely, "ready": high, "use_by": high + limits.USE_BY_MOST}
    for kind, end in latest.items():
        for step in case.of_kind(kind):
            if case.local_day(step.at) > case.local_day(end):
                yield f"{kind} on {case.when(step.at)}, after {case.when(end)}"


@rule("shake")
def shake(case: Case) -> Iterator[str]:
    """A reminder to shake for each inoculation, before the jars are ready."""
    days = [case.local_day(step.at) for step in case.of_kind("shake")]
    for step in case.of_kind("inoculate"):
        begun = case.local_day(step.until)
        if not any(timedelta(1) <= day - begun <= timedelta(40) for day in days):
            yield f"no shake after the inoculation of {begun}"


@rule("looks")
def looks(case: Case) -> Iterator[str]:
    """Days 2, 4 and 7 after each inoculation, then twice a week until ready."""
    if case.plan.ready is None:
        return
    days = sorted({case.local_day(step.at) for step in case.of_kind("look")})
    end = case.local_day(case.plan.ready.likely)
    for step in case.of_kind("inoculate"):
        # One that lasts past midnight may be counted from either day.
        begun = {case.local_day(step.at), case.local_day(step.until)}
        missed = [list(_missed_looks(days, each, end)) for each in sorted(begun)]
        yield from min(missed, key=len)


def _missed_looks(days: list[date], begun: date, end: date) -> Iterator[str]:
    for wait in limits.LOOK_DAYS:
        day = begun + timedelta(days=wait)
        if day not in days and day < end:
            yield f"no look on {day}, day {wait} after the inoculation of {begun}"
    gap_from = begun + timedelta(days=limits.LOOK_DAYS[-1])
    for day in [day for day in days if gap_from < day < end] + [end]:
        if (day - gap_from).days > limits.LOOK_GAP_DAYS:
            yield f"no look from {gap_from} to {day}"
        gap_from = max(gap_from, day)
