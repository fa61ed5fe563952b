"""The checker itself: a good plan passes, and every rule is shown to catch a broken one."""

import re
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.plan_checker import example
from tests.plan_checker.broken_plans import BROKEN
from tests.plan_checker.checker import check, violations
from tests.plan_checker.free_hours import written_out
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


@pytest.mark.parametrize(
    ("zone", "night", "hours"),
    [
        ("Europe/Warsaw", date(2027, 3, 27), 7),
        ("Europe/Warsaw", date(2027, 10, 30), 9),
        ("America/Denver", date(2027, 3, 13), 7),
        ("America/Denver", date(2027, 11, 6), 9),
        ("Europe/Warsaw", date(2027, 5, 1), 8),
    ],
)
def test_a_free_night_is_as_long_as_the_clocks_make_it(zone, night, hours):
    """22:00 to 06:00 loses or gains an hour when the clocks change, and crosses midnight."""
    wish = {"free": [{"on": night, "from": "22:00", "until": time(6)}]}
    begin = datetime.combine(night, time(12), ZoneInfo(zone))

    ((first, last),) = written_out(wish, ZoneInfo(zone), begin, begin + timedelta(days=1))
    assert last - first == timedelta(hours=hours)


def test_free_hours_left_out_are_eight_to_ten_every_day():
    """docs/wish.md: left out, every day from 08:00 to 22:00."""
    zone = ZoneInfo("Europe/Warsaw")
    noon = datetime(2027, 5, 5, 12, tzinfo=zone)

    found = written_out({}, zone, noon, noon)
    today = [(first, last) for first, last in found if first <= noon <= last]
    assert today == [(noon.replace(hour=8), noon.replace(hour=22))]
