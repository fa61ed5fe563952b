"""The menu of extra jars: how many, how sure, in how many runs, at how many hours of presence."""

from __future__ import annotations

from dataclasses import replace

from spawnwright.actions.planning.choose import (
    Share,
    Solution,
    attended_hours,
    chance_of_enough,
    fewest_runs,
    room_for,
    solve_with,
    with_controls,
)
from spawnwright.actions.planning.facts import Facts
from spawnwright.records.plan import Choice


def choices(facts: Facts, solution: Solution) -> tuple[Choice, ...]:
    """The fewest jars that are sure enough, the chosen ones, and what one more run would give."""
    share, with_test = solution.share, solution.test is not None
    found = [_choice(facts, solution, is_chosen=True)]
    fewest = fewest_jars(facts, solution)
    if fewest is not None:
        plan = replace(share, jars=fewest).layout(facts)
        if len(plan.runs) == len(solution.layout.runs):
            enough = chance_of_enough(facts, plan, with_test=with_test)
            hours = attended_hours(facts, plan, solution.heat, with_test=with_test)
            chance = enough * solution.chance_in_time
            found.insert(0, Choice(plan.to_make, chance, len(plan.runs), hours, is_chosen=False))
    further = _one_run_more(facts, share)
    if further is not None:
        found.append(_choice(facts, further, is_chosen=False))
    return tuple(found)


def _choice(facts: Facts, solution: Solution, *, is_chosen: bool) -> Choice:
    with_test = solution.test is not None
    return Choice(
        solution.layout.to_make,
        solution.chance,
        len(solution.layout.runs),
        attended_hours(facts, solution.layout, solution.heat, with_test=with_test),
        is_chosen,
    )


def fewest_jars(facts: Facts, solution: Solution) -> int | None:
    """The fewest jars in the same runs that are sure enough, if they are fewer than chosen."""
    share, with_test = solution.share, solution.test is not None
    for jars in range(max(facts.wanted, share.begun.sterile), share.jars):
        plan = replace(share, jars=jars).layout(facts)
        enough = chance_of_enough(facts, plan, with_test=with_test)
        if enough * solution.chance_in_time >= facts.wish.goal.chance - 1e-12:
            return jars
    return None


def _one_run_more(facts: Facts, share: Share) -> Solution | None:
    runs = share.new_runs + 1
    if room_for(facts, share.begun, runs).all_jars < max(runs, share.jars):
        return None
    jars, controls = with_controls(facts, share.begun, runs)
    return solve_with(facts, share.begun, jars, runs, controls)


def runs_for_control(facts: Facts, solution: Solution) -> bool:
    """Whether the control jar is the reason for a run: without it one run fewer would do."""
    share = solution.share
    if not solution.layout.controls or share.new_runs < 1:
        return False
    runs = share.new_runs - 1
    room = room_for(facts, share.begun, runs)
    if room.inoculated < facts.wanted or runs < fewest_runs(facts, share.begun, facts.wanted):
        return False
    plan = replace(share, jars=room.inoculated, new_runs=max(1, runs), controls=0).layout(facts)
    enough = chance_of_enough(facts, plan, with_test=solution.test is not None)
    return len(plan.runs) < len(solution.layout.runs) and (
        enough * solution.chance_in_time >= facts.wish.goal.chance
    )
