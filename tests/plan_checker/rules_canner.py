"""Rules on the canner, and on the jars from zero pressure to inoculation."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise
from math import floor, log

from tests.plan_checker import limits
from tests.plan_checker.case import RUN_CHAIN, Case, Run, catalog_entry, number, utc
from tests.plan_checker.rules import rule


@rule("chain of the run")
def chain(case: Case) -> Iterator[str]:
    """Load, heat, vent, hold, cool: all there, once, one after another without a break."""
    for run in case.runs:
        for kind in RUN_CHAIN:
            if kind not in run.steps:
                yield f"run {run.number} has no step {kind}"
        in_order = [run.steps[kind] for kind in RUN_CHAIN if kind in run.steps]
        for earlier, later in pairwise(in_order):
            if utc(later.at) < utc(earlier.until):
                yield f"{later.key} at {case.when(later.at)}, before {earlier.key} has ended"
        for earlier, later in pairwise(in_order[1:]):
            most = limits.VENT_TO_HOLD_MOST if later.kind == "hold" else timedelta(minutes=1)
            if utc(later.at) - utc(earlier.until) > most:
                yield f"{later.key} at {case.when(later.at)}, {earlier.key} ended long before"
    for kind in RUN_CHAIN:
        runs = sorted(step.run or 0 for step in case.of_kind(kind))
        if runs != list(range(1, len(case.runs) + 1)):
            yield f"the {kind} steps are of the runs {runs}, there are {len(case.runs)}"


@rule("times of the run")
def times(case: Case) -> Iterator[str]:
    for run in (each for each in case.runs if set(RUN_CHAIN) <= set(each.steps)):
        record, n = run.record, run.number
        heat, vent, hold, drop, cool = (run.steps[kind] for kind in RUN_CHAIN[1:])
        if utc(heat.at) != utc(record.at):
            yield f"run {n} is at {case.when(record.at)}, its heat on at {case.when(heat.at)}"
        if utc(heat.until) - utc(heat.at) < limits.HEAT_UP_LEAST:
            yield f"run {n} boils after {heat.until - heat.at}"
        vented = min(utc(vent.until) - utc(vent.at), _minutes(vent.amounts.get("vent_min", 0)))
        if vented < limits.VENT_LEAST:
            yield f"run {n} is vented for {vented}"
        if record.hold_min < limits.HOLD_LEAST_MIN:
            yield f"run {n} is held for {record.hold_min} min"
        if utc(hold.until) - utc(hold.at) < _minutes(record.hold_min) - timedelta(seconds=1):
            yield f"run {n} is held for {hold.until - hold.at}, {record.hold_min} min are needed"
        if abs(hold.amounts.get("hold_min", 0) - record.hold_min) > 0.5:
            yield f"run {n} says {hold.amounts.get('hold_min')} and {record.hold_min} min of hold"
        if utc(record.until) < utc(hold.until) + limits.HOLD_TO_ZERO_LEAST:
            yield f"run {n} is at zero pressure at {case.when(record.until)}, right after the hold"
        if utc(drop.until) != utc(record.until):
            yield f"run {n} drops to {case.when(drop.until)}, zero at {case.when(record.until)}"
        shut = case.said("kit", "cooling") == "overnight shut"
        if shut and utc(cool.until) < utc(record.until) + limits.SHUT_LEAST:
            yield f"run {n} is opened at {case.when(cool.until)}, shut for less than 8 h"


def _minutes(number_of: float) -> timedelta:
    return timedelta(minutes=number_of)


def _opened(case: Case, run: Run) -> datetime:
    last = "unload" if case.said("kit", "cooling") == "opened warm" else "cool_down"
    return utc(run.steps[last].until) if last in run.steps else utc(run.record.until)


@rule("unloading")
def unloading(case: Case) -> Iterator[str]:
    """A canner that is opened warm is unloaded by hand, once, after zero pressure."""
    for run in case.runs if case.said("kit", "cooling") == "opened warm" else ():
        if "unload" not in run.steps:
            yield f"run {run.number} is opened warm, and nobody takes the jars out"
        elif utc(run.steps["unload"].at) < utc(run.record.until):
            at = case.when(run.steps["unload"].at)
            yield f"run {run.number} is opened at {at}, under pressure"
        elif utc(run.steps["unload"].at) > utc(run.record.until) + limits.ZERO_TO_UNLOAD:
            yield f"run {run.number} is left shut from {case.when(run.record.until)}"


@rule("one load at a time")
def one_load_at_a_time(case: Case) -> Iterator[str]:
    for earlier, later in pairwise(case.runs):
        load = utc(later.steps["load"].at) if "load" in later.steps else utc(later.record.at)
        if load < _opened(case, earlier):
            yield (
                f"run {later.number} is loaded at {case.when(load)}, run {earlier.number} "
                f"opened at {case.when(_opened(case, earlier))}"
            )


@rule("jars in the canner")
def jars_in_the_canner(case: Case) -> Iterator[str]:
    """No more than `holds` says, or than circles that fit in a circle, layer on layer."""
    most = places(case)
    for run in case.runs:
        loaded = run.steps["load"].amounts.get("jars") if "load" in run.steps else None
        if run.record.jars > most:
            yield f"run {run.number} takes {run.record.jars} jars, {most} go in"
        if run.record.jars < 1 or not 0 <= run.record.controls <= run.record.jars:
            yield f"run {run.number} has {run.record.jars} jars, {run.record.controls} controls"
        if loaded is not None and loaded != run.record.jars:
            yield f"run {run.number} loads {loaded:g} jars, {run.record.jars} are said"


def places(case: Case) -> int:
    """The most jars that one load can be: as stated, or with no room lost."""
    for text in case.canner.get("holds", ()):
        jar, count = text.rsplit(maxsplit=1)
        if catalog_entry("jars", jar) == case.jar:
            return int(count)
    ratio = (
        number(case.canner["inner_diameter"], "length")
        / 2
        / number(case.jar["outer_radius"], "length")
    )
    height = number(case.canner["inside_height"], "length")
    height -= number(case.canner["rack_height"], "length")
    layers = floor(height / number(case.jar["inside_height"], "length"))
    return max(1, layers) * sum(ratio >= each - 1e-3 for each in limits.CIRCLES)


@rule("inoculation")
def inoculation(case: Case) -> Iterator[str]:
    """After the cool-down of each run it takes, cold enough, within a week, for every jar."""
    done, inoculated = 0, 0
    for step in case.of_kind("inoculate"):
        last = step.run or 0
        inoculated += step.amounts.get("jars", 0)
        for run in case.runs[done:last]:
            cool = run.steps.get("cool_down")
            if cool and utc(step.at) < utc(cool.until):
                yield f"{step.key} at {case.when(step.at)}, cooling to {case.when(cool.until)}"
            if utc(step.at) < utc(run.record.until) + cooling(case):
                yield f"{step.key} at {case.when(step.at)}, when run {run.number} is still hot"
            if utc(step.until) > utc(run.record.until) + limits.STERILE_WAIT:
                yield f"{step.key} at {case.when(step.at)}, run {run.number} a week before"
        done = max(done, last)
    if done != len(case.runs):
        yield f"runs up to {done} of {len(case.runs)} are inoculated"
    if inoculated != case.plan.jars_to_make:
        yield f"{inoculated:g} jars are inoculated, {case.plan.jars_to_make} to make"


@rule("jars sterile before")
def jars_sterile_before(case: Case) -> Iterator[str]:
    have, used = case.said("under_way", "sterile_jars") or 0, case.sterile_used
    if not 0 <= used <= have:
        yield f"{used} jars come from no run, {have} were sterile before"
    first = case.of_kind("inoculate")
    if used > 0 and first and have:
        end = case.under_way("sterile_since") + limits.STERILE_WAIT
        by_then = sum(s.amounts.get("jars", 0) for s in first if utc(s.until) <= end)
        if by_then < used:
            yield f"{by_then:g} of {used} jars sterile before are inoculated by {case.when(end)}"


def cooling(case: Case) -> timedelta:
    """The least time from zero pressure, boiling, until a jar may be inoculated."""
    room, cold = case.room_c, max(limits.COLD_ENOUGH_C, case.room_c + limits.ABOVE_ROOM_C)
    minutes = limits.COOLING_MIN[case.said("kit", "cooling")]
    return timedelta(minutes=minutes * log((100 - room) / (cold - room)))
