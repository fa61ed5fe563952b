"""The checker itself: a good plan passes, and every rule is shown to catch a broken one."""

import re

import pytest

from tests.plan_checker import example
from tests.plan_checker.broken_plans import BROKEN
from tests.plan_checker.checker import check, violations
from tests.plan_checker.rules import ALWAYS, WHEN_FEASIBLE


@pytest.mark.parametrize("runs", [1, 2, 3, 8])
def test_a_good_plan_breaks_no_rule(runs):
    """The hand-made plan is what the planner must live up to, so the rules must let it pass."""
    assert check(example.wish_toml(runs), example.plan(runs), example.NOW) == []


@pytest.mark.parametrize(
    ("rule", "said", "broken"), [(rule, said, broken) for rule, said, _, broken in BROKEN],
    ids=[f"{rule}: {how}" for rule, _, how, _ in BROKEN],
)  # fmt: skip
def test_a_broken_plan_is_caught(rule, said, broken):
    """A rule that cannot fail holds nobody to anything."""
    wish, plan = broken(example.wish_toml(), example.plan())

    caught = [v.sentence for v in violations(wish, plan, example.NOW) if v.rule == rule]
    assert [sentence for sentence in caught if re.search(said, sentence)], caught


def test_every_rule_is_shown_to_fail():
    """A new rule comes with a plan that it catches."""
    assert {rule for rule, *_ in BROKEN} == set(ALWAYS) | set(WHEN_FEASIBLE)
