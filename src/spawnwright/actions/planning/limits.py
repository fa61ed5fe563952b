"""Limits: why a wish cannot be met, found by freeing one limit at a time and planning again."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import time, timedelta
from math import inf, isfinite
from typing import Any

from spawnwright.actions.planning.choose import Solution, days_until, most_chance, solve
from spawnwright.actions.planning.facts import Facts
from spawnwright.actions.planning.hours import (
    freer_hours,
    hours_said,
    longest,
    needed_in_one_go,
)
from spawnwright.actions.planning.lots import begun_of
from spawnwright.actions.planning.menu import fewest_jars
from spawnwright.actions.planning.notes import defaults
from spawnwright.actions.planning.said import counted, minutes
from spawnwright.records.jar import Jar
from spawnwright.records.plan import Binding
from spawnwright.records.wish import FreeHours
from spawnwright.store.catalog import catalog
from spawnwright.units import written_mass

Freed = tuple[Facts, Solution]
MANY = 2000
MOST_SHOWN = 6
LEAST_CHANCE = 0.01
LONG_DAY = FreeHours((0, 1, 2, 3, 4, 5, 6), None, time(6), time(0))


@dataclass(frozen=True)
class Relaxed:
    """A limit as it is, how it is lifted, and how to say what lifting it came to."""

    is_now: str
    lift: Callable[[Facts], Facts]
    say: Callable[[Freed], str]


def limits_of(facts: Facts) -> tuple[tuple[Binding, ...], float, tuple[str, ...]]:
    """The limits that bind, the chance that is reached all the same, and what else to say."""
    reached = most_chance(facts)
    if facts.grows:
        found = list(_alone(facts, reached)) or list(_together(facts, reached))
    else:
        found = list(_by(facts, [_shelf(facts)]))
    if not found:
        found = [
            Binding(
                _chance_now(facts, reached),
                "a culture, runs and jars that fail less often than is counted here, or fewer jars",
            )
        ]
    said = (hours_said(facts), *_counted_on(facts), *defaults(facts))
    return tuple(found[:MOST_SHOWN]), reached, said


def _alone(facts: Facts, reached: float) -> Iterator[Binding]:
    """Each limit that frees the wish by itself."""
    yield from _by(facts, _counts(facts))
    in_time = list(_by(facts, [_date(facts)])) if facts.wish.goal.ready_by else []
    yield from in_time
    in_hours = list(freer_hours(facts))
    yield from in_hours
    yield from _by(facts, [*_kit(facts), _tested(facts)])
    if in_time or not all(map(isfinite, facts.ready_percentiles)):
        yield from _by(facts, [_shelf(facts)])
    if in_hours:
        yield from _by(facts, _smaller_jar(facts))
    if 0.01 <= reached < facts.wish.goal.chance:
        yield Binding(_chance_now(facts, reached), f'chance = "{_floor(reached)}" or less')


def _chance_now(facts: Facts, reached: float) -> str:
    wanted = facts.wish.goal.chance
    return f"a chance of {wanted:.0%} is wished for, {_floor(reached)} is the most that can be had"


def _floor(chance: float) -> str:
    return f"{int(100 * chance + 1e-9)}%"


def _by(facts: Facts, limits: Iterable[Relaxed]) -> Iterator[Binding]:
    for each in limits:
        freed = each.lift(facts)
        solution = solve(freed) if freed.per_load else None
        if solution is not None:
            yield Binding(each.is_now, each.say((freed, solution)))


def _together(facts: Facts, reached: float) -> Iterator[Binding]:
    """The fewest limits found that must be lifted together, where none frees it alone."""
    needed = [
        *_kit(facts), _tested(facts), _chance(facts, reached), _all_hours(facts),
        *([_date(facts)] if facts.wish.goal.ready_by else []), *reversed(_counts(facts)[2:]),
    ]  # fmt: skip
    if _lifted(facts, needed) is None:
        return
    for each in tuple(needed):
        fewer = [other for other in needed if other is not each]
        if _lifted(facts, fewer) is not None:
            needed = fewer
    freed = _lifted(facts, needed)
    assert freed is not None  # what was left out last still solved it
    also = "" if len(needed) == 1 else "; only together with the other limits named here"
    for each in needed:
        yield Binding(each.is_now, f"{each.say(freed)}{also}")


def _lifted(facts: Facts, limits: Iterable[Relaxed]) -> Freed | None:
    freed = facts
    for each in limits:
        freed = each.lift(freed)
    solution = solve(freed) if freed.per_load else None
    return None if solution is None else (freed, solution)


def _needed(freed: Freed) -> int:
    """Jars, controls included, that are enough once a limit is lifted."""
    facts, solution = freed
    fewest = fewest_jars(facts, solution)
    return (solution.share.jars if fewest is None else fewest) + solution.layout.controls


def _control(freed: Freed) -> str:
    return ", the control jar included" if freed[1].layout.controls else ""


def _counts(facts: Facts) -> list[Relaxed]:
    kit, culture, stock = facts.wish.kit, facts.wish.culture, facts.wish.grain.in_stock_kg

    def with_kit(jars: int, lids: int) -> Callable[[Facts], Facts]:
        return lambda each: each.for_wish(
            replace(each.wish, kit=replace(each.wish.kit, jars_free=jars, lids_free=lids))
        )

    limits = [
        Relaxed(
            f"jars_free is {kit.jars_free}",
            with_kit(MANY, kit.lids_free),
            lambda freed: f"{counted(_needed(freed), 'jar')} free on the day{_control(freed)}",
        ),
        Relaxed(
            f"lids_free is {kit.lids_free}",
            with_kit(kit.jars_free, MANY),
            lambda freed: f"{counted(_needed(freed), 'lid')} free on the day{_control(freed)}",
        ),
        Relaxed(
            f"{counted(kit.jars_free, 'jar')} and {counted(kit.lids_free, 'lid')} are free",
            with_kit(MANY, MANY),
            lambda freed: f"{_needed(freed)} of each on the day{_control(freed)}",
        ),
    ]
    if isfinite(culture.volume_m3):
        limits.append(
            Relaxed(
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
        f"ready_by is {goal.ready_by:%Y-%m-%d}" if goal.ready_by else "there is no date",
        lambda each: each.for_wish(
            replace(each.wish, goal=replace(each.wish.goal, ready_by=None, start=goal.start))
        ),
        say,
    )


def _kit(facts: Facts) -> list[Relaxed]:
    kit = facts.wish.kit

    def swap(**changes: Any) -> Callable[[Facts], Facts]:
        return lambda each: each.for_wish(replace(each.wish, kit=replace(each.wish.kit, **changes)))

    limits = []
    if not kit.has_cold_place:
        limits.append(
            Relaxed(
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
            f"pot of {kit.pot_m3 * 1000:g} L, burner of {kit.burner_w / 1000:g} kW, "
            f"{counted(kit.trays, 'tray')}",
            swap(pot_m3=3 * kit.pot_m3, trays=3 * kit.trays),
            lambda freed: (
                f"a larger pot and more trays: {_cooking(freed)} of cooking and filling in one go"
            ),
        )
    )
    return limits


def _cooking(freed: Freed) -> str:
    minutes = max(lot.cooking.minutes for lot in freed[1].layout.lots)
    return f"{minutes / 60:.1f} h"


def _chance(facts: Facts, reached: float) -> Relaxed:
    return Relaxed(
        _chance_now(facts, reached),
        lambda each: each.for_wish(
            replace(each.wish, goal=replace(each.wish.goal, chance=LEAST_CHANCE))
        ),
        lambda freed: f'chance = "{_floor(most_chance(freed[0]))}" or less',
    )


def _all_hours(facts: Facts) -> Relaxed:
    return Relaxed(
        f"free hours, of which the longest stretch is {longest(facts)}",
        lambda each: each.for_wish(replace(each.wish, free=(*each.wish.free, LONG_DAY))),
        lambda freed: f"a day with {needed_in_one_go(freed[0])} free in one go",
    )


def _smaller_jar(facts: Facts) -> list[Relaxed]:
    """The next smaller jar of the catalog: it heats faster, so the hold is shorter."""
    kit = facts.wish.kit
    smaller = [
        each
        for each in catalog(Jar, "jars").values()
        if 0.3 <= each.nominal_volume_m3 / kit.jar.nominal_volume_m3 <= 0.7
    ]
    if not smaller:
        return []
    jar = max(smaller, key=lambda each: float(each.nominal_volume_m3))

    def lift(each: Facts) -> Facts:
        kit = replace(each.wish.kit, jar=jar, fill_kg=None)
        return each.for_wish(replace(each.wish, kit=kit))

    def say(freed: Freed) -> str:
        minutes_ = freed[0].heat.to_zero_min
        return f'jar = "{jar.key}", for as many of these: a run takes {minutes(minutes_)}'

    return [Relaxed(f"a jar of the kind {kit.jar.key} is slow to heat", lift, say)]


def _tested(facts: Facts) -> Relaxed:
    culture = facts.wish.culture
    now = facts.wish.now.date()
    return Relaxed(
        f"the culture is not tested, and bad with {facts.losses.untested.culture:.0%}"
        if culture.tested is None
        else "the culture is tested",
        lambda each: each.for_wish(
            replace(each.wish, culture=replace(each.wish.culture, tested=now))
        ),
        lambda _: "a culture that was tested clean before",
    )


def _shelf(facts: Facts) -> Relaxed:
    place, species = facts.wish.place, facts.wish.goal.species
    return Relaxed(
        f"the shelf has {place.shelf_c:.0f} °C",
        lambda each: each.for_wish(
            replace(each.wish, place=replace(each.wish.place, shelf_c=float(species.topt_c)))
        ),
        lambda _: f"a shelf of about {species.topt_c:.0f} °C, the best for {species.common}",
    )


def _counted_on(facts: Facts) -> Iterator[str]:
    wanted = facts.wanted
    yield (
        f"{counted(wanted, 'good jar')} wanted; {facts.per_load} go into the canner at once; "
        f"{facts.losses.untested.jar:.0%} of jars are lost one by one, a run is bad with "
        f"{facts.losses.untested.run:.0%}."
    )
