"""Limits: why a wish cannot be met, found by freeing one limit at a time and planning again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import combinations
from math import inf, isfinite
from typing import Any

from spawnwright.actions.plan_choose import Solution, days_until, most_chance, solve
from spawnwright.actions.plan_facts import Facts
from spawnwright.actions.plan_hours import freer_hours, hours_said
from spawnwright.actions.plan_lots import begun_of
from spawnwright.actions.plan_menu import fewest_jars
from spawnwright.actions.plan_notes import defaults
from spawnwright.actions.plan_said import counted
from spawnwright.records.plan import Binding
from spawnwright.units import written_mass

Freed = tuple[Facts, Solution]
MANY = 2000
MOST_SHOWN = 6


@dataclass(frozen=True)
class Relaxed:
    """A limit, what it is now, how it is lifted, and what lifting it came to."""

    name: str
    is_now: str
    lift: Callable[[Facts], Facts]
    say: Callable[[Freed], str]


def limits_of(facts: Facts) -> tuple[tuple[Binding, ...], float, tuple[str, ...]]:
    """The limits that bind, the chance that is reached all the same, and what else to say."""
    reached = most_chance(facts)
    found = list(_alone(facts, reached))
    if not found:
        found = list(_together(facts))
    if not found:
        found = [
            Binding(
                "several limits at once",
                "no one or two of them free it: ask for fewer jars, a later date and longer free "
                "hours together, and plan again",
            )
        ]
    said = (hours_said(facts), *_unused(facts), *defaults(facts))
    return tuple(found[:MOST_SHOWN]), reached, said


def _alone(facts: Facts, reached: float) -> Iterator[Binding]:
    if not isfinite(facts.growth.ready_day.likely):
        yield from _by(facts, [_shelf(facts)])
        return
    yield from _by(facts, [*_counts(facts), _date(facts)])
    yield from freer_hours(facts)
    yield from _by(facts, [*_kit(facts), _tested(facts), _shelf(facts)])
    wanted = facts.wish.goal.chance
    if 0.01 <= reached < wanted:
        floor = int(100 * reached) / 100
        yield Binding(
            f"a chance of {wanted:.0%} is wished for, {reached:.0%} is the most that can be had",
            f'chance = "{floor:.0%}" or less',
        )


def _by(facts: Facts, limits: list[Relaxed]) -> Iterator[Binding]:
    for each in limits:
        freed = each.lift(facts)
        if freed.per_load < 1:
            continue
        solution = solve(freed)
        if solution is not None:
            yield Binding(each.is_now, each.say((freed, solution)))


def _together(facts: Facts) -> Iterator[Binding]:
    """Two limits that free it together, where none does alone."""
    limits = [*_counts(facts), _date(facts), *_kit(facts)]
    for one, other in combinations(limits, 2):
        if one.name == other.name:
            continue
        freed = other.lift(one.lift(facts))
        solution = solve(freed) if freed.per_load else None
        if solution is not None:
            yield Binding(
                f"{one.is_now}; and {other.is_now}",
                f"both: {one.say((freed, solution))}; and {other.say((freed, solution))}",
            )
            return


def _needed(freed: Freed) -> int:
    """Jars, controls included, that are enough once a limit is lifted."""
    facts, solution = freed
    fewest = fewest_jars(facts, solution)
    return (solution.share.jars if fewest is None else fewest) + solution.layout.controls


def _counts(facts: Facts) -> list[Relaxed]:
    kit, culture, stock = facts.wish.kit, facts.wish.culture, facts.wish.grain.in_stock_kg

    def with_kit(jars: int, lids: int) -> Callable[[Facts], Facts]:
        return lambda each: each.for_wish(
            replace(each.wish, kit=replace(each.wish.kit, jars_free=jars, lids_free=lids))
        )

    limits = [
        Relaxed(
            "jars",
            f"jars_free is {kit.jars_free}",
            with_kit(MANY, kit.lids_free),
            lambda freed: f"{counted(_needed(freed), 'jar')} free on the day",
        ),
        Relaxed(
            "jars",
            f"lids_free is {kit.lids_free}",
            with_kit(kit.jars_free, MANY),
            lambda freed: f"{counted(_needed(freed), 'lid')} free on the day",
        ),
        Relaxed(
            "jars",
            f"{kit.jars_free} jars and {kit.lids_free} lids are free",
            with_kit(MANY, MANY),
            lambda freed: f"{_needed(freed)} of each on the day",
        ),
    ]
    if isfinite(culture.volume_m3):
        limits.append(
            Relaxed(
                "culture",
                f"{culture.volume_m3 * 1e6:.0f} mL of culture at {culture.dose_m3 * 1e6:.1f} mL "
                "a jar",
                lambda each: each.for_wish(
                    replace(each.wish, culture=replace(each.wish.culture, volume_m3=inf))
                ),
                lambda freed: (
                    f"{(_needed(freed) - freed[1].layout.controls) * culture.dose_m3 * 1e6:.0f} "
                    "mL of culture, or a smaller dose"
                ),
            )
        )
    if stock is not None:
        limits.append(
            Relaxed(
                "grain",
                f"{written_mass(stock)} of dry grain is in stock",
                lambda each: each.for_wish(
                    replace(each.wish, grain=replace(each.wish.grain, in_stock_kg=None))
                ),
                lambda freed: f"{written_mass(_grain_kg(freed))} of dry grain, as bought",
            )
        )
    return limits


def _grain_kg(freed: Freed) -> float:
    facts, _ = freed
    new = _needed(freed) - begun_of(facts).jars
    return max(0, new) * facts.one_jar.dry_kg + 0.005


def _date(facts: Facts) -> Relaxed:
    goal = facts.wish.goal

    def say(freed: Freed) -> str:
        asked, solution = freed
        share = asked.wish.goal.chance / solution.chance_of_enough
        days = days_until(asked, min(0.99, share))
        if days is None:
            return "no date: it is never so sure that it grows"
        zone = asked.wish.place.time_zone
        day = (solution.last + timedelta(days=days)).astimezone(zone)
        return f"ready_by = {day:%Y-%m-%d}, or later"

    return Relaxed(
        "date",
        f"ready_by is {goal.ready_by:%Y-%m-%d}" if goal.ready_by else "there is no date",
        lambda each: each.for_wish(
            replace(each.wish, goal=replace(each.wish.goal, ready_by=None, start=goal.start))
        ),
        say,
    )


def _kit(facts: Facts) -> list[Relaxed]:
    kit = facts.wish.kit

    def swap(**changes: Any) -> Callable[[Facts], Facts]:
        return lambda each: each.for_wish(
            replace(each.wish, kit=replace(each.wish.kit, **changes)), anew=_anew(changes)
        )

    limits = []
    if not kit.has_cold_place:
        limits.append(
            Relaxed(
                "cold",
                "drained grain keeps 6 h at room temperature",
                swap(has_cold_place=True),
                lambda _: (
                    "a place in the refrigerator for one load: cook on one day, run the "
                    "canner on the next"
                ),
            )
        )
    if kit.cooling == "overnight shut":
        limits.append(
            Relaxed(
                "cooling",
                "the canner stays shut overnight: one run a day",
                swap(cooling="opened warm"),
                lambda _: (
                    'cooling = "opened warm", if the canner\'s manual allows it, for a '
                    "second run on the same day"
                ),
            )
        )
    limits.append(
        Relaxed(
            "pot",
            f"pot of {kit.pot_m3 * 1000:g} L, burner of {kit.burner_w / 1000:g} kW, "
            f"{counted(kit.trays, 'tray')}",
            swap(pot_m3=3 * kit.pot_m3, trays=3 * kit.trays),
            lambda freed: (
                f"a larger pot and more trays: {_cooking(freed)} of cooking and filling in one go"
            ),
        )
    )
    return limits


def _anew(changes: dict[str, Any]) -> tuple[str, ...]:
    return ("heat", "heat_from_cold") if "cooling" in changes else ()


def _cooking(freed: Freed) -> str:
    minutes = max(lot.cooking.minutes for lot in freed[1].layout.lots)
    return f"{minutes / 60:.1f} h"


def _tested(facts: Facts) -> Relaxed:
    culture = facts.wish.culture
    now = facts.wish.now.date()
    return Relaxed(
        "test",
        f"the culture is not tested, and bad with {facts.losses.untested.culture:.0%}"
        if culture.tested is None
        else "the culture is tested",
        lambda each: each.for_wish(
            replace(each.wish, culture=replace(each.wish.culture, tested=now)), anew=("losses",)
        ),
        lambda _: "a culture that was tested clean before",
    )


def _shelf(facts: Facts) -> Relaxed:
    place, species = facts.wish.place, facts.wish.goal.species
    return Relaxed(
        "shelf",
        f"the shelf has {place.shelf_c:.0f} °C",
        lambda each: each.for_wish(
            replace(each.wish, place=replace(each.wish.place, shelf_c=float(species.topt_c))),
            anew=("growth",),
        ),
        lambda _: f"a shelf of about {species.topt_c:.0f} °C, the best for {species.common}",
    )


def _unused(facts: Facts) -> Iterator[str]:
    wanted = facts.wanted
    yield (
        f"{counted(wanted, 'good jar')} wanted; {facts.per_load} go into the canner at once; "
        f"{facts.losses.untested.jar:.0%} of jars are lost one by one, a run is bad with "
        f"{facts.losses.untested.run:.0%}."
    )
