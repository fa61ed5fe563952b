"""A plan as a page for the wall: summary, dated steps by day, menu, notes."""

from __future__ import annotations

import shutil
import textwrap
from datetime import date, datetime, tzinfo
from itertools import groupby

from spawnwright.actions.planning.said import clock, counted, day, day_of
from spawnwright.cli.answer import WIDEST_LINE, Answer
from spawnwright.records.plan import Plan, Step
from spawnwright.records.wish import Wish
from spawnwright.units import psi, written_mass

NARROWEST = 40
TIMES = 13  # columns for "09:00-10:35  "


def add_page(page: Answer, plan: Plan, wish: Wish) -> Answer:
    """Add the whole page to an answer."""
    if not plan.feasible:
        return _refused(page, plan, wish)
    _summary(page, plan, wish)
    seen: set[tuple[str, tuple[str, ...]]] = set()
    for on, steps in groupby(plan.steps, key=lambda step: step.at.date()):
        _day(page, on, list(steps), seen)
    _menu(page, plan)
    return _notes(page, plan)


def width() -> int:
    """Columns to write in: those of the terminal, not too many."""
    return max(NARROWEST, min(WIDEST_LINE, shutil.get_terminal_size((WIDEST_LINE, 24)).columns))


def _title(text: str) -> str:
    return textwrap.fill(text, width())


def _wanted(plan: Plan, wish: Wish) -> str:
    goal = wish.goal
    good = counted(plan.jars_wanted, "good jar")
    what = f"{good} of {goal.species.common}"
    return what + (f" for {written_mass(goal.fresh_kg)} of mushrooms" if goal.fresh_kg else "")


def _summary(page: Answer, plan: Plan, wish: Wish) -> None:
    zone, ready, goal = wish.place.time_zone, plan.ready, wish.goal
    assert ready is not None  # a feasible plan has a ready date
    control = f" and {counted(plan.controls, 'control jar')}" if plan.controls else ""
    by = f", by {_date(goal.ready_by, zone)}" if goal.ready_by else ""
    holds = "; ".join(
        f"{clock(run.at, zone)}, {counted(run.jars, 'jar')}, {run.hold_min:.0f} min"
        for run in plan.sterilizer_runs
    )
    rows = [
        ("make", f"{counted(plan.jars_to_make, 'jar')}{control}", ""),
        ("dry grain", written_mass(plan.dry_grain_kg), f"{wish.grain.grain.key}; it takes up "
         f"{plan.water_l:.1f} L of water"),
        ("runs", f"{len(plan.sterilizer_runs)} at {psi(wish.kit.gauge_pa):.3g} psi", holds),
        ("ready", f"between {day(ready.low, zone)} and {day(ready.high, zone)}",
         f"likely {day(ready.likely, zone)}"),
        ("chance", f"{plan.chance_of_meeting:.0%}",
         f"{goal.chance:.0%} was wished for"),
    ]  # fmt: skip
    body = [_columns(label, value, note) for label, value, note in rows]
    page.verbatim("\n".join(body), title=_title(f"{_wanted(plan, wish)}{by}"))


def _date(when: datetime, zone: tzinfo) -> str:
    """A date that was given as a day is shown as one."""
    local = when.astimezone(zone)
    is_day = (local.hour, local.minute) == (23, 59)
    return f"{day(when, zone) if is_day else clock(when, zone)} {local.year}"


def _columns(label: str, value: str, note: str) -> str:
    text = f"{value} ({note})" if note else value
    return _indented(f"{label:<{TIMES}}", text)


def _indented(first: str, text: str, *, mark: str = "") -> str:
    inside = width() - TIMES
    lines = textwrap.wrap(mark + text, inside, subsequent_indent=" " * len(mark)) or [""]
    return "\n".join(
        (first if place == 0 else " " * TIMES) + line for place, line in enumerate(lines)
    ).rstrip()


def _day(page: Answer, on: date, steps: list[Step], seen: set[tuple[str, tuple[str, ...]]]) -> None:
    lines = []
    for step in steps:
        lines.append(_indented(f"{_times(step):<{TIMES}}", step.title))
        told = (step.detail, step.cautions)
        if told in seen:
            lines.append(_indented(" " * TIMES, "As before."))
            continue
        seen.add(told)
        lines.append(_indented(" " * TIMES, step.detail))
        lines += [_indented(" " * TIMES, each, mark="! ") for each in step.cautions]
    page.verbatim("\n".join(lines), title=f"{day_of(on)} {on.year}")


def _times(step: Step) -> str:
    if not step.is_attended:
        return f"{step.at:%H:%M}"
    return f"{step.at:%H:%M}-{step.until:%H:%M}"


def _menu(page: Answer, plan: Plan) -> None:
    page.table(
        ["jars", "chance", "runs", "hours", ""],
        [
            [
                str(each.jars_to_make),
                f"{each.chance:.0%}",
                str(each.runs),
                f"{each.hours:.1f}",
                "chosen" if each.is_chosen else "",
            ]
            for each in plan.choices
        ],
        title=_title("How many jars (hours in which somebody must be there)"),
    )


def _notes(page: Answer, plan: Plan) -> Answer:
    if plan.notes:
        inside = width()
        notes = [textwrap.fill(f"- {each}", inside, subsequent_indent="  ") for each in plan.notes]
        page.verbatim("\n".join(notes), title="To know")
    return page


def _refused(page: Answer, plan: Plan, wish: Wish) -> Answer:
    page.text(f"{_wanted(plan, wish)}: not as things stand.", title="This wish cannot be met")
    for each in plan.binding:
        page.verbatim(
            _indented(f"{'limit':<{TIMES}}", each.limit)
            + "\n"
            + _indented(f"{'would free':<{TIMES}}", each.would_free)
        )
    return _notes(page, plan)
