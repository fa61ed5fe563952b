"""Rules on the grain's way from the sack into the jar, and on what must be ready for it."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise

from tests.plan_checker import limits
from tests.plan_checker.case import SOAK_CHAIN, Case, Lot, utc
from tests.plan_checker.rules import rule


@rule("chain of the grain")
def chain(case: Case) -> Iterator[str]:
    """Soak, rinse, simmer, drain, dry, weigh, fill: all there, once, one after another."""
    drained_lots = [lot.number for lot in case.lots if lot.was_drained]
    if len(drained_lots) > bool(case.said("under_way", "drained")):
        yield f"soaks {drained_lots} begin drained"
    begun = case.under_way("soaking_since")
    early = [lot for lot in case.lots if _began(lot) is not None and _began(lot) < utc(case.now)]
    if [lot for lot in early if _began(lot) != begun] or len(early) > 1:
        yield f"{len(early)} soaks begin before now"
    for lot in case.lots:
        for kind in _expected(case, lot):
            if kind not in lot.steps:
                yield f"soak {lot.number} has no step {kind}"
        in_order = [lot.steps[kind] for kind in SOAK_CHAIN if kind in lot.steps]
        for earlier, later in pairwise(in_order):
            if utc(later.at) < utc(earlier.until):
                yield (
                    f"{later.key} at {case.when(later.at)}, before {earlier.key} "
                    f"ends at {case.when(earlier.until)}"
                )
    for kind in SOAK_CHAIN:
        of_kind = [step.soak for step in case.of_kind(kind)]
        if len(of_kind) != len(set(of_kind)) or None in of_kind:
            yield f"the {kind} steps are of the soaks {of_kind}"


def _began(lot: Lot) -> datetime | None:
    return utc(lot.steps["soak"].at) if "soak" in lot.steps else None


def _expected(case: Case, lot: Lot) -> tuple[str, ...]:
    if lot.was_drained:
        return SOAK_CHAIN[5:]
    unsoaked = case.said("grain", "soak") is not None and not _stated_soak(case)
    return SOAK_CHAIN[2:] if unsoaked else SOAK_CHAIN


def _stated_soak(case: Case) -> timedelta | None:
    seconds = case.quantity("grain", "soak", "duration")
    return None if seconds is None else timedelta(seconds=seconds)


@rule("soak")
def soak(case: Case) -> Iterator[str]:
    """12 to 24 h in the water, less when it is warm; as long as stated, where it is."""
    stated = _stated_soak(case)
    least = limits.SOAK_LEAST_WARM if case.room_c > limits.WARM_C else limits.SOAK_LEAST
    most = limits.SOAK_MOST
    if stated is not None:
        least, most = min(least, stated), max(most, stated)
    for lot in case.lots:
        if "soak" not in lot.steps or "rinse" not in lot.steps:
            continue
        begin, end = utc(lot.steps["soak"].at), utc(lot.steps["rinse"].at)
        under_way = begin == case.under_way("soaking_since")
        if abs(end - utc(lot.steps["soak"].until)) > limits.SOAK_TO_RINSE:
            yield f"soak {lot.number} ends at {case.when(lot.steps['soak'].until)}, rinsed later"
        if end - begin < least:
            yield f"soak {lot.number} lasts {end - begin}, at least {least} is needed"
        if end - begin > most:
            yield f"soak {lot.number} lasts {end - begin}, more than {most}"
        if stated and not under_way and abs(end - begin - stated) > limits.STATED_SOAK_SLACK:
            yield f"soak {lot.number} lasts {end - begin}, {stated} was asked for"


@rule("simmer")
def simmer(case: Case) -> Iterator[str]:
    """As long as stated for each pot of grain, and drained at once."""
    stated = case.quantity("grain", "simmer", "duration")
    for lot in case.lots:
        if lot.was_drained or "simmer" not in lot.steps:
            continue
        step = lot.steps["simmer"]
        minutes, portions = step.amounts.get("simmer_min", 0), step.amounts.get("portions", 0)
        if minutes < 1 or (stated is not None and abs(minutes * 60 - stated) > 1):
            yield f"{step.key} is of {minutes} min, stated {stated} s"
        if utc(step.until) - utc(step.at) < timedelta(minutes=minutes * portions):
            yield f"{step.key} lasts {step.until - step.at} for {portions:g} times {minutes:g} min"
        drain = lot.steps.get("drain")
        if drain and utc(drain.at) - utc(step.until) > limits.SIMMER_TO_DRAIN:
            yield f"{drain.key} at {case.when(drain.at)}, simmered to {case.when(step.until)}"


@rule("drained grain")
def drained_grain(case: Case) -> Iterator[str]:
    """Into the canner within 6 h of draining, or within 24 h if it stands in the cold."""
    for run in case.runs:
        for lot in run.lots:
            since, cold = _drained_since(case, lot), bool(case.said("kit", "cold_place"))
            if lot.was_drained:
                cold = bool(case.said("under_way", "cold"))
            if since is None:
                continue
            waited = utc(run.record.at) - since
            most = limits.DRAINED_IN_THE_COLD if cold else limits.DRAINED_AT_ROOM
            if waited > most:
                yield f"soak {lot.number} waits {waited} for run {run.number}, more than {most}"


def _drained_since(case: Case, lot: Lot) -> datetime | None:
    if lot.was_drained:
        return case.under_way("drained_since")
    return utc(lot.steps["drain"].until) if "drain" in lot.steps else None


@rule("jars washed")
def jars_washed(case: Case) -> Iterator[str]:
    washed, needed = case.said("under_way", "jars_washed") or 0, 0
    ends = [utc(step.until) for step in case.of_kind("wash_jars")]
    for lot in case.lots:
        needed += lot.jars
        fill = lot.steps.get("fill")
        if fill and needed > washed and not any(end <= utc(fill.at) for end in ends):
            yield f"{fill.key} at {case.when(fill.at)} takes {needed} jars, {washed} are washed"


@rule("lids cured")
def lids_cured(case: Case) -> Iterator[str]:
    """At least 24 h from silicone to the run that uses the lids."""
    cured, used = case.said("under_way", "lids_cured") or 0, 0
    made = [utc(step.until) for step in case.of_kind("make_lids")]
    for run in case.runs:
        used += run.record.jars
        load = utc(run.steps["load"].at) if "load" in run.steps else utc(run.record.at)
        if used > cured and not any(end + limits.LIDS_CURE <= load for end in made):
            yield f"run {run.number} at {case.when(load)} takes {used} lids, {cured} are cured"


@rule("filled before loaded")
def filled_before_loaded(case: Case) -> Iterator[str]:
    loaded = 0
    for run in case.runs:
        loaded += run.record.jars
        at = utc(run.steps["load"].at) if "load" in run.steps else utc(run.record.at)
        filled = sum(
            lot.jars
            for lot in case.lots
            if "fill" in lot.steps and utc(lot.steps["fill"].until) <= at
        )
        if filled < loaded:
            yield f"run {run.number} brings the jars loaded to {loaded} when {filled} are filled"
    if sum(lot.jars for lot in case.lots) != loaded:
        yield f"{sum(lot.jars for lot in case.lots)} jars are filled, {loaded} loaded"
