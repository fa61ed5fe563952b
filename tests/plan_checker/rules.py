"""The list of rules; each is a function from a case to the sentences that say what breaks it."""

from collections.abc import Callable, Iterator

from tests.plan_checker.case import Case

Rule = Callable[[Case], Iterator[str]]
ALWAYS: dict[str, Rule] = {}
"""Rules for every answer."""
WHEN_FEASIBLE: dict[str, Rule] = {}
"""Rules for a plan that says it is feasible."""


def rule(name: str, *, always: bool = False) -> Callable[[Rule], Rule]:
    """Enter a rule under its name."""

    def enter(function: Rule) -> Rule:
        (ALWAYS if always else WHEN_FEASIBLE)[name] = function
        return function

    return enter
