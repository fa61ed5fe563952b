"""An independent judge of plans: which rules does this answer to that wish break?

Written from the wish file's page, the plan's record and what the trade asks for, not from the
planner: it reads the wish as it is written and has limits, free hours and sums of its own.
"""

from dataclasses import dataclass
from datetime import datetime

from spawnwright.records.plan import Plan
from tests.plan_checker import (  # noqa: F401, the rules enter themselves
    rules_amounts,
    rules_answer,
    rules_canner,
    rules_chance,
    rules_grain,
    rules_time,
)
from tests.plan_checker.case import Case
from tests.plan_checker.rules import ALWAYS, WHEN_FEASIBLE


@dataclass(frozen=True)
class Violation:
    rule: str
    sentence: str

    def __str__(self) -> str:
        return f"{self.rule}: {self.sentence}"


def violations(wish_toml: dict, plan: Plan, now: datetime) -> list[Violation]:
    """Every violation, with the name of its rule."""
    case = Case(wish_toml, plan, now)
    unreadable = [Violation("promised keys", each) for each in ALWAYS["promised keys"](case)]
    if unreadable:
        return unreadable
    rules = ALWAYS | (WHEN_FEASIBLE if plan.feasible else {})
    return [Violation(name, each) for name, broken in rules.items() for each in broken(case)]


def check(wish_toml: dict, plan: Plan, now: datetime) -> list[str]:
    """A sentence with times and figures for each violated rule; empty for a good plan."""
    return [str(each) for each in violations(wish_toml, plan, now)]
