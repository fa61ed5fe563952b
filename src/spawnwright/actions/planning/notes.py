"""What a plan says beside its steps: what was assumed, what is uncertain, what can wait."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from spawnwright.actions.grain.hydrate import HydrateQuestion, hydrate
from spawnwright.actions.planning.choose import Solution, is_control_due
from spawnwright.actions.planning.facts import Facts
from spawnwright.actions.planning.losses import TEST_SHOWS
from spawnwright.actions.planning.lots import DRAINED, DRAINED_COLD, STERILE
from spawnwright.actions.planning.menu import runs_for_control
from spawnwright.actions.planning.said import clock, counted, day
from spawnwright.actions.planning.texts_grain import simmer_minutes
from spawnwright.model.grain.fill import FULLEST
from spawnwright.model.planning.chances import after_clean_test, most_spoiled_after_clean
from spawnwright.model.planning.schedule import latest_cooking
from spawnwright.records.plan import ReadyBand, Step
from spawnwright.sources import COMMON, Constant
from spawnwright.units import written_duration, written_mass

MOST_WAITING = 8
OLD_CULTURE_D = Constant(75, "d", source=COMMON, where="liquid culture keeps 2-3 months at 4 °C")


def notes(
    facts: Facts, solution: Solution, steps: Iterable[Step], ready: ReadyBand
) -> tuple[str, ...]:
    """All of them, the most pressing first."""
    return tuple(
        each
        for part in (
            under_way(facts, solution),
            _can_wait(facts, solution, steps),
            _grain(facts, solution),
            _culture(facts, solution),
            _controls(facts, solution),
            _heat(facts, solution),
            _jars(facts),
            _growth(facts, solution, ready),
            _fresh(facts),
            _losses(facts, solution),
            defaults(facts),
        )
        for each in part
    )


def under_way(facts: Facts, solution: Solution) -> Iterator[str]:
    """What is under way and is not used, and why."""
    way, plan, now = facts.wish.under_way, solution.layout, facts.wish.now
    states = {lot.state: lot for lot in plan.lots}
    if way.soaking_since is not None:
        waited = written_duration((now - way.soaking_since).total_seconds())
        lot = states.get("soaking")
        if lot is None:
            yield (
                f"The {written_mass(way.soaking_kg)} of grain that has been soaking for {waited} "
                "is not in this plan: it cannot be cooked and in the canner in time with the "
                "hours, lids and jars there are. Cook it today all the same, or throw it away."
            )
    if way.drained_since is not None and "drained" not in states:
        most = written_duration((DRAINED_COLD if way.is_cold else DRAINED).total_seconds())
        yield (
            f"The drained grain of {clock(way.drained_since, facts.wish.place.time_zone)} is not "
            f"in this plan: it would be in the canner later than {most} after draining (common "
            "practice). Throw it away."
        )
    if way.sterile_since is not None and plan.sterile < way.sterile_jars:
        is_old = now - way.sterile_since >= STERILE or not plan.sterile
        yield (
            f"{counted(way.sterile_jars - plan.sterile, 'sterile jar')} not in this plan: "
            + (
                "not to be inoculated within 7 days of the canner. Sterilize again."
                if is_old
                else "not needed."
            )
        )


def _can_wait(facts: Facts, solution: Solution, steps: Iterable[Step]) -> Iterator[str]:
    """For what is under way: how long each next thing can wait."""
    way, zone = facts.wish.under_way, facts.wish.place.time_zone
    if not (way.soaking_kg or way.drained_kg or way.sterile_jars):
        return
    lots = solution.layout.lots
    if lots and lots[0].state != "new":
        cell = latest_cooking(solution.problem, solution.placement)
        first = "weighing" if lots[0].state == "drained" else "rinsing"
        begun = solution.placement.lots[0].cook
        yield (
            f"With your hours, {first} can begin as late as {clock(solution.clock.at(cell), zone)}."
            if cell > begun
            else f"With your hours, {first} cannot wait: "
            f"{clock(solution.clock.at(begun), zone)} is the last moment for it."
        )
    waiting = [
        f"{step.title[0].lower()}{step.title[1:]} until {clock(step.latest, zone)}"
        for step in steps
        if step.latest is not None
        and step.latest.timestamp() - step.at.timestamp() > 60
        and step.kind in ("rinse", "load", "inoculate", "soak")
    ]
    if waiting:
        yield (
            "By the waiting limits alone, each for itself, can wait: "
            f"{'; '.join(waiting[:MOST_WAITING])}."
        )


def _grain(facts: Facts, solution: Solution) -> Iterator[str]:
    """Whether the shortest soak and the simmer reach the target, by the forecast of `hydrate`."""
    grain, plan = facts.wish.grain, solution.layout
    soaks = [
        15.0 * (where.cook - where.soak)
        for lot, where in zip(plan.lots, solution.placement.lots, strict=True)
        if where.soak is not None
    ]
    if not soaks:
        return
    forecast = hydrate(
        HydrateQuestion(
            grain.grain,
            facts.wish.kit.jar,
            facts.fill,
            jars=1,
            soak_s=60 * min(soaks),
            water_c=facts.wish.place.room_c,
            simmer_s=60 * simmer_minutes(facts),
            target=grain.target_moisture,
            dry_moisture=grain.dry_moisture,
        )
    )
    at_fill, longer = forecast.moisture_at_fill, forecast.simmer_for_target_s
    advice = ""
    if forecast.target_reached != "yes" and longer is not None:
        advice = f" About {longer / 60:.0f} min of simmering would; the texture decides."
    yield (
        f"Soaked for {written_duration(60 * min(soaks))} and simmered for "
        f"{simmer_minutes(facts):.0f} min the grain comes to {at_fill.likely:.0%} water, between "
        f"{at_fill.low:.0%} and {at_fill.high:.0%}; {grain.target_moisture:.0%} is aimed at, "
        f"reached: {forecast.target_reached}.{advice}"
    )


def _culture(facts: Facts, solution: Solution) -> Iterator[str]:
    losses, culture = facts.losses, facts.wish.culture
    needed_ml = culture.dose_m3 * 1e6 * solution.layout.to_make
    if culture.volume_m3 == float("inf"):
        yield f"{needed_ml:.1f} mL of liquid culture are needed."
    if culture.made is not None:
        days = (solution.last.date() - culture.made).days
        if days > OLD_CULTURE_D:
            yield (
                f"The culture will be {days} days old at the needle: two to three months in the "
                "cold are what it keeps (common practice), less for pink oyster. Test it."
            )
    if solution.test is not None:
        yield (
            "The chances count on a clean test of the culture, which "
            f"{1 - losses.untested.culture * TEST_SHOWS:.0%} of cultures give; a bad one leaves "
            "time to get another."
        )
    elif not losses.is_tested:
        yield (
            f"The culture is not tested, and there is no time for it: a bad one, {_chance(facts)} "
            "likely, would spoil every jar. That is in the chances. A clean test would make it "
            f"{losses.tested.culture:.1%}."
        )


def _chance(facts: Facts) -> str:
    return f"{facts.losses.untested.culture:.1%}"


def _controls(facts: Facts, solution: Solution) -> Iterator[str]:
    if solution.layout.controls:
        yield what_a_control_proves(facts)
        if runs_for_control(facts, solution):
            yield "One run fewer would do without the control jar: it is the reason for that run."
    elif is_control_due(facts) and solution.layout.runs:
        yield (
            "Grain or routine is new, but there is no jar, lid or place for a control jar beside "
            "the jars that are needed: a bad run will look like bad luck."
        )


def what_a_control_proves(facts: Facts) -> str:
    """By Bayes, and by itself."""
    shares = facts.losses.untested
    left = after_clean_test(shares.run, shares.run_kill)
    return (
        f"One clean control jar: the chance that the run was bad falls from {shares.run:.1%} to "
        f"{left:.1%}. By itself it proves little: one clean jar of one rules out only that more "
        f"than {most_spoiled_after_clean(1):.0%} of the run is spoiled."
    )


def _heat(facts: Facts, solution: Solution) -> Iterator[str]:
    answer = solution.heat.answer
    if answer.hold_is != "recommended":
        yield (
            f"No hold that the canner's water lasts for makes these jars sure by heat: at "
            f"{solution.heat.hold_min:.0f} min the chance of a survivor in a jar is "
            f"{answer.chance_of_survivor:.0%}. Smaller jars, or less grain in them, heat faster."
        )
    if answer.narrow_it_with:
        yield f"The hold is long because much is unknown; best narrowed by {answer.narrow_it_with}."
    yield from answer.warnings
    band = answer.come_up_s
    yield (
        "Times at the canner are long enough for 19 of 20 runs: heat on to pressure likely "
        f"{band.likely / 60:.0f} min, between {band.low / 60:.0f} and {band.high / 60:.0f}."
    )
    if any(cold for lot in solution.placement.lots for cold in lot.cold):
        yield "Jars that wait in the cold start cold, and the hold is counted for that."


def _jars(facts: Facts) -> Iterator[str]:
    fill = facts.one_jar.filled.share
    if fill > FULLEST + 1e-9:
        yield (
            f"Jars {fill:.0%} full are fuller than two thirds to three quarters (common practice): "
            "they are hard to shake, and swelling grain may wet the filter."
        )


def _growth(facts: Facts, solution: Solution, ready: ReadyBand) -> Iterator[str]:
    growth, zone, goal = facts.growth, facts.wish.place.time_zone, facts.wish.goal
    yield (
        f"Ready counts on the shake. Days are between {growth.ready_day.low:.0f} and "
        f"{growth.ready_day.high:.0f}, likely {growth.ready_day.likely:.0f}, from inoculation; "
        f"best narrowed by {growth.narrow_it_with}."
    )
    if goal.ready_by is not None:
        what = "the first harvest" if goal.fresh_kg is not None else "ready"
        yield (
            f"Chance of {solution.chance:.0%}: enough good jars {solution.chance_of_enough:.0%}, "
            f"and {what} by {day(goal.ready_by, zone)} {solution.chance_in_time:.0%}, multiplied."
        )
        warm = ready.likely + timedelta(days=float(goal.species.use_by_room_days))
        if goal.fresh_kg is None and _before(warm, goal.ready_by):
            yield (
                f"Ready long before {day(goal.ready_by, zone)}: keep the jars in the cold, and "
                "mind the day to use them by."
            )
    yield from growth.notes


def _before(one: datetime, other: datetime) -> bool:
    return one.timestamp() < other.timestamp()


def _fresh(facts: Facts) -> Iterator[str]:
    spawn, fresh_kg = facts.spawn, facts.wish.goal.fresh_kg
    if spawn is None or fresh_kg is None:
        return
    per_jar = facts.one_jar.wet_kg
    most = -int(-spawn.needed.spawn_kg.high // per_jar)
    yield (
        f"{written_mass(fresh_kg)} of fresh mushrooms take {counted(spawn.jars, 'good jar')} at "
        f"the likely yield, the whole crop counted: half of all crops give less. With "
        f"{counted(most, 'jar')} it would be enough in 19 of 20. The chance above is of the spawn "
        "and the day, not of the yield."
    )


def _losses(facts: Facts, solution: Solution) -> Iterator[str]:
    shares = facts.losses.shares(with_test=solution.test is not None)
    yield (
        f"Losses counted: {shares.jar:.0%} of the jars one by one; each run bad with "
        f"{shares.run:.0%}, then spoiling {shares.run_kill:.0%} of its jars; the culture bad with "
        f"{shares.culture:.1%}. What you do not state under [losses] is this program's own "
        "cautious estimate; your own counts are better."
    )


def defaults(facts: Facts) -> Iterator[str]:
    """The lines of the wish that were left out, and what was taken."""
    if facts.wish.defaults:
        yield f"Taken where the wish says nothing: {'; '.join(facts.wish.defaults)}."
