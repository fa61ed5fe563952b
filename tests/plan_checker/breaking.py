"""Small ways to break a plan, to be combined."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta, timezone

from spawnwright.records.plan import Plan, Step

Broken = tuple[dict, Plan]
Break = Callable[[dict, Plan], Broken]
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)


def stepwise(key: str, change: Callable[[Step], Step | None]) -> Break:
    """Change, or drop, the step of that key; the steps stay sorted."""

    def broken(wish: dict, plan: Plan) -> Broken:
        assert any(step.key == key for step in plan.steps), key
        steps = [change(step) if step.key == key else step for step in plan.steps]
        kept = sorted((step for step in steps if step is not None), key=lambda s: s.at.timestamp())
        return wish, replace(plan, steps=tuple(kept))

    return broken


def moved(key: str, by: timedelta) -> Break:
    return stepwise(key, lambda step: replace(step, at=step.at + by, until=step.until + by))


def dropped(key: str) -> Break:
    return stepwise(key, lambda step: None)


def ended(key: str, by: timedelta) -> Break:
    return stepwise(key, lambda step: replace(step, until=step.until + by))


def numbered(key: str, **amounts: float) -> Break:
    return stepwise(key, lambda step: replace(step, amounts=step.amounts | amounts))


def saying(table: str, **lines: object) -> Break:
    """The same plan, for a wish that says something else."""

    def broken(wish: dict, plan: Plan) -> Broken:
        return wish | {table: wish.get(table, {}) | lines}, plan

    return broken


def answered(**fields: object) -> Break:
    return lambda wish, plan: (wish, replace(plan, **fields))


def run_changed(place: int, **fields: object) -> Break:
    def broken(wish: dict, plan: Plan) -> Broken:
        runs = list(plan.sterilizer_runs)
        runs[place] = replace(runs[place], **fields)
        return wish, replace(plan, sterilizer_runs=tuple(runs))

    return broken


def choice_changed(place: int, **fields: object) -> Break:
    def broken(wish: dict, plan: Plan) -> Broken:
        choices = list(plan.choices)
        choices[place] = replace(choices[place], **fields)
        return wish, replace(plan, choices=tuple(choices))

    return broken


def all_of(*breaks: Break) -> Break:
    def broken(wish: dict, plan: Plan) -> Broken:
        for each in breaks:
            wish, plan = each(wish, plan)
        return wish, plan

    return broken


def swapped(one: str, other: str) -> Break:
    """Two steps change places, each as long as before."""

    def broken(wish: dict, plan: Plan) -> Broken:
        by_key = {step.key: step for step in plan.steps}
        return all_of(
            moved(one, by_key[other].at - by_key[one].at),
            moved(other, by_key[one].at - by_key[other].at),
        )(wish, plan)

    return broken


def restepped(change: Callable[[Plan], list[Step]]) -> Break:
    return lambda wish, plan: (wish, replace(plan, steps=tuple(change(plan))))


def ready_moved(by: timedelta) -> Break:
    def broken(wish: dict, plan: Plan) -> Broken:
        low, likely, high = plan.ready.low, plan.ready.likely, plan.ready.high
        return wish, replace(plan, ready=replace(plan.ready, low=low + by, likely=likely + by,
                                                 high=high + by))  # fmt: skip

    return broken


def opened_warm(after_zero: timedelta) -> Break:
    """Each run unloaded that long after zero pressure."""

    def broken(wish: dict, plan: Plan) -> Broken:
        steps = list(plan.steps)
        for drop in (step for step in plan.steps if step.kind == "pressure_drop"):
            at = drop.until + after_zero
            steps.append(replace(drop, key=f"unload-{drop.run}", kind="unload", at=at,
                                 until=at + timedelta(minutes=15)))  # fmt: skip
        return wish, replace(plan, steps=tuple(sorted(steps, key=lambda step: step.at)))

    return broken


def in_utc(step: Step) -> Step:
    return replace(step, at=step.at.astimezone(timezone(timedelta(0))))
