"""Rules on when steps stand: order, free hours, presence, one pair of hands."""

from collections.abc import Iterator
from itertools import pairwise

from tests.plan_checker import free_hours
from tests.plan_checker.case import HANDS_ON, Case, utc
from tests.plan_checker.rules import rule

BEGUN_BY_HAND = ("soak", "drain", "surface_dry")


@rule("steps")
def steps(case: Case) -> Iterator[str]:
    """Each step ends after it begins, has a key of its own, and they stand in order."""
    plan = case.plan
    keys = [step.key for step in plan.steps]
    for key in {key for key in keys if keys.count(key) > 1 or not key.strip()}:
        yield f"the key {key!r} is used {keys.count(key)} times"
    for step in plan.steps:
        if utc(step.until) < utc(step.at):
            yield f"{step.key} ends at {case.when(step.until)}, begins at {case.when(step.at)}"
        if step.latest is not None and utc(step.latest) < utc(step.at):
            yield f"{step.key} at {case.when(step.at)}, at the latest {case.when(step.latest)}"
    for earlier, later in pairwise(plan.steps):
        if utc(later.at) < utc(earlier.at):
            yield f"{later.key} stands behind {earlier.key}, which begins later"


@rule("after")
def after(case: Case) -> Iterator[str]:
    """What a step says it comes after is there, and has ended."""
    by_key = {step.key: step for step in case.plan.steps}
    for step in case.plan.steps:
        for key in step.after:
            if key not in by_key:
                yield f"{step.key} is after {key!r}, which is not in the plan"
            elif utc(by_key[key].until) > utc(step.at):
                yield f"{step.key} at {case.when(step.at)}, before {key} has ended"


@rule("not before now")
def not_before_now(case: Case) -> Iterator[str]:
    done = {case.under_way("soaking_since"), case.under_way("drained_since")}
    for step in case.plan.steps:
        begun_before = step.kind in ("soak", "drain") and utc(step.at) in done
        if utc(step.at) < utc(case.now) and not begun_before:
            yield f"{step.key} at {case.when(step.at)}, before now, {case.when(case.now)}"


@rule("start")
def start(case: Case) -> Iterator[str]:
    written = case.said("wish", "start")
    if written is None:
        return
    begun = case.under_way("soaking_since")
    for step in case.plan.steps:
        early = utc(step.at) < case.instant(written)
        if early and not (step.kind == "soak" and utc(step.at) == begun):
            yield f"{step.key} at {case.when(step.at)}, before the start, {written}"


@rule("free hours")
def in_free_hours(case: Case) -> Iterator[str]:
    """Hands-on steps lie within free hours; what runs by itself begins in them."""
    begun = case.under_way("soaking_since")
    for step in case.plan.steps:
        begin, end = utc(step.at), utc(step.until)
        if step.is_attended or step.kind in HANDS_ON:
            if not free_hours.covers(case.free, begin, end):
                yield f"{step.key}, {case.when(begin)} to {case.when(end)}, is not in free hours"
        elif (
            step.kind in BEGUN_BY_HAND
            and begin != begun
            and not free_hours.covers(case.free, begin, begin)
        ):
            yield f"{step.key} begins at {case.when(begin)}, not in free hours"


@rule("presence")
def presence(case: Case) -> Iterator[str]:
    """Somebody is there from heat on to zero pressure."""
    for run in case.plan.sterilizer_runs:
        begin, end = utc(run.at), utc(run.until)
        if not free_hours.covers(case.free, begin, end):
            yield f"nobody is at the canner all the time {case.when(begin)} to {case.when(end)}"


@rule("one pair of hands")
def one_pair_of_hands(case: Case) -> Iterator[str]:
    busy = sorted(
        ((utc(s.at), utc(s.until), s.key) for s in case.plan.steps if is_hands_on(s)),
    )
    for place, (begin, end, key) in enumerate(busy):
        for other_begin, other_end, other in busy[place + 1 :]:
            if other_begin < end and other_end > begin:
                yield f"{other} at {case.when(other_begin)}, while {key} lasts to {case.when(end)}"


def is_hands_on(step) -> bool:
    """Whether it takes hands; a look or another reminder of a day does not block an hour."""
    return step.kind in HANDS_ON or step.is_attended
