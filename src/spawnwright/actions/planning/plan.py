"""Plan: from a wish to a dated batch, or to the limits that forbid it."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from spawnwright.actions.planning.choose import Solution, days_needed, solve
from spawnwright.actions.planning.facts import Facts, facts_of, settled
from spawnwright.actions.planning.limits import limits_of
from spawnwright.actions.planning.menu import choices
from spawnwright.actions.planning.notes import notes, what_a_control_proves
from spawnwright.actions.planning.said import clock
from spawnwright.actions.planning.steps import Steps, add_before, add_lot, later
from spawnwright.actions.planning.steps_canner import add_inoculation, add_runs
from spawnwright.actions.planning.steps_shelf import add_end, add_shelf, ready_band
from spawnwright.errors import Unusable
from spawnwright.model.planning.chances import chance_by
from spawnwright.records.plan import Plan, SterilizerRun
from spawnwright.records.wish import Wish
from spawnwright.store.wish_file import read_wish


def read(path: Path, now: datetime) -> Wish:
    """The wish in a file, as of `now`, ready to be planned and printed.

    Raises `BadFile`, `UnknownName` or `Contradiction`, naming the line.
    """
    return settled(read_wish(path, now))


def plan(wish: Wish) -> Plan:
    """The batch that meets a wish, or what forbids it.

    Parameters
    ----------
    wish : Wish
        What is wanted, with what, in which hours, and what is under way.

    Returns
    -------
    Plan
        Feasible with its steps; or not, with the limits that bind and what would free each.

    Raises
    ------
    Unusable
        For what no plan can be made from: jars that do not fit the canner, a soak that sours, a
        date so near that nobody could meet it.

    Notes
    -----
    Deterministic: the same wish at the same instant gives the same plan.
    """
    return plan_from(facts_of(wish))


def plan_from(facts: Facts) -> Plan:
    """As `plan`, for who needs the facts behind it as well: `facts_of(wish)`."""
    _refuse_too_near(facts)
    solution = solve(facts)
    return _refused(facts) if solution is None else _planned(facts, solution)


def _refuse_too_near(facts: Facts) -> None:
    goal, now = facts.wish.goal, facts.wish.now
    if goal.ready_by is None:
        return
    days = (goal.ready_by - now).total_seconds() / 86400
    needed = days_needed(facts)
    if chance_by(1e6, needed) > 0 and chance_by(days, needed) == 0:
        first = later(now, needed[0] * 24 * 60)
        what = "have a first harvest" if goal.fresh_kg is not None else "be ready"
        raise Unusable(
            f"ready_by is too near: even jars inoculated now would {what} no sooner than "
            f"{clock(first, facts.wish.place.time_zone)} {first.year}; ask for a later day."
        )


def _planned(facts: Facts, solution: Solution) -> Plan:
    steps, records, plan_ = Steps(facts, solution), list[SterilizerRun](), solution.layout
    add_before(steps)
    for lot, where in zip(plan_.lots, solution.placement.lots, strict=True):
        add_lot(steps, lot, where)
        records += add_runs(steps, lot, where)
    sessions, jars = [], 0
    for number, session in enumerate(solution.placement.sessions, 1):
        sessions.append((session, add_inoculation(steps, number, session, jars)))
        jars += session.jars
    ready = ready_band(steps, sessions[-1][1].until)
    add_shelf(steps, sessions)
    control = f" {what_a_control_proves(facts)}" if plan_.controls else ""
    add_end(steps, ready, control)
    made = sorted(steps.made.values(), key=lambda step: step.at.timestamp())
    return Plan(
        feasible=True,
        binding=(),
        jars_wanted=facts.wanted,
        jars_to_make=plan_.to_make,
        controls=plan_.controls,
        dry_grain_kg=plan_.dry_kg,
        water_l=plan_.dry_kg / facts.one_jar.dry_kg * facts.one_jar.water_l,
        sterilizer_runs=tuple(records),
        steps=tuple(made),
        ready=ready,
        chance_of_meeting=solution.chance,
        choices=choices(facts, solution),
        chance_of_enough=solution.chance_of_enough,
        chance_in_time=solution.chance_in_time,
        notes=notes(facts, solution, made, ready),
    )


def _refused(facts: Facts) -> Plan:
    binding, reached, said = limits_of(facts)
    return Plan(
        feasible=False,
        binding=binding,
        jars_wanted=facts.wanted,
        jars_to_make=0,
        controls=0,
        dry_grain_kg=0.0,
        water_l=0.0,
        sterilizer_runs=(),
        steps=(),
        ready=None,
        chance_of_meeting=reached,
        choices=(),
        notes=said,
    )
