"""Two hundred invented wishes, planned by the same action as `./run plan`, judged by the checker.

What heat and growth depend on is shared between wishes (`fuzz.SETTINGS`), and the action keeps
their answers by question, so that the slow models answer each question once.
"""

import re
from dataclasses import replace
from datetime import date
from functools import cache
from io import BytesIO
from pathlib import Path

import pytest
import tomli_w
from icalendar import Calendar
from pypdf import PdfReader

from spawnwright.actions.planning.plan import plan as make_plan
from spawnwright.errors import Unusable
from spawnwright.paper.batch_sheet import batch_sheet_pdf
from spawnwright.paper.calendar import calendar_ics
from spawnwright.records.plan import Plan
from spawnwright.records.wish import Wish
from spawnwright.store.wish_file import parse_wish
from tests.plan_checker.checker import check
from tests.plan_checker.fuzz import Fuzzed, wishes

WISHES = {each.name: each for each in wishes()}
MAY_BE_TOO_NEAR = {name for name in WISHES if name.startswith("no time")}


@cache
def wish_of(name: str) -> Wish:
    asked = WISHES[name]
    return parse_wish(asked.text, "wish.toml", asked.now, Path())


@cache
def plan_of(name: str) -> Plan | None:
    """The plan; none where a day is so near that the wish is refused as unusable."""
    try:
        return make_plan(wish_of(name))
    except Unusable:
        if name not in MAY_BE_TOO_NEAR:
            raise
        return None


def replanned(asked: Fuzzed, **tables: dict) -> Plan:
    """The plan for the same wish with other lines in some tables."""
    wish = {**asked.wish, **{t: asked.wish.get(t, {}) | lines for t, lines in tables.items()}}
    return make_plan(parse_wish(tomli_w.dumps(wish), "wish.toml", asked.now, Path()))


@pytest.mark.parametrize("name", WISHES)
def test_a_plan_breaks_no_rule(name):
    """Precedences, waits, free hours, capacities, quantities, promises: no rule is broken."""
    plan = plan_of(name)

    assert plan is None or check(WISHES[name].wish, plan, WISHES[name].now) == []


@pytest.mark.parametrize("name", [n for n, each in WISHES.items() if each.can_be_met is not None])
def test_what_can_be_met_is_met_and_nothing_else(name):
    """A planner that always refuses breaks no rule; generous wishes must get their plan."""
    plan = plan_of(name)

    assert (plan is not None and plan.feasible) == WISHES[name].can_be_met


def test_many_wishes_of_each_kind_are_met_and_not_met():
    """The rules are about plans, so most wishes must have one; some must be refused."""
    plans = [plan_of(name) for name in WISHES]

    assert sum(plan is not None and plan.feasible for plan in plans) >= 120
    assert sum(plan is not None and not plan.feasible for plan in plans) >= 30


def freed(asked: Fuzzed, would_free: str) -> Plan | None:
    """The plan once the wish is changed as an answer says; none where only a person can read it."""
    if "only together" in would_free:
        return None
    if found := re.fullmatch(r"ready_by = (\d{4}-\d\d-\d\d), or later", would_free):
        return replanned(asked, wish={"ready_by": date.fromisoformat(found[1])})
    if found := re.match(r"(\d+) of each on the day", would_free):
        jars = int(found[1])
        return replanned(asked, kit={"jars_free": jars, "lids_free": jars})
    if found := re.fullmatch(r'chance = "(\d+%)" or less', would_free):
        return replanned(asked, wish={"chance": found[1]})
    return None


def test_what_would_free_a_wish_frees_it():
    """A limit that is named with what would free it: with that, the plan is feasible."""
    tried = 0
    for name, asked in WISHES.items():
        plan = plan_of(name)
        for binding in plan.binding if plan and not plan.feasible else ():
            changed = freed(asked, binding.would_free)
            tried += changed is not None
            assert changed is None or changed.feasible, (name, binding)
    assert tried >= 20


def test_plans_print_and_go_into_a_calendar():
    """The planner's own words fit one page, and each step is an event."""
    feasible = [name for name in WISHES if (plan := plan_of(name)) and plan.feasible]
    for name in feasible[::8]:
        plan, wish = plan_of(name), wish_of(name)

        assert len(PdfReader(BytesIO(batch_sheet_pdf(plan, wish))).pages) == 1
        assert len(Calendar.from_ical(calendar_ics(plan, wish)).walk("VEVENT")) == len(plan.steps)


def test_the_same_wish_gets_the_same_plan():
    """Nothing in a plan depends on the computer's clock, on chance, or on what was asked before."""
    for name in list(WISHES)[::40]:
        plan = plan_of(name)
        assert plan is None or make_plan(replace(wish_of(name))) == plan
