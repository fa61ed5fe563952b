"""The chance of enough good jars, counted again where the wish states every loss itself."""

from collections.abc import Iterator
from math import comb

from spawnwright import units
from tests.plan_checker.case import Case
from tests.plan_checker.rules import rule

LOSSES = ("jar", "run", "run_kill", "culture")


@rule("chance of enough")
def chance_of_enough(case: Case) -> Iterator[str]:
    stated = [case.said("losses", each) for each in LOSSES]
    if None in stated or case.sterile_used > 0:
        return
    jar, run, kill, culture = (units.parse_share(each) for each in stated)
    good = [1.0]
    for each in case.plan.sterilizer_runs:
        jars = each.jars - each.controls
        mixed = [
            (1 - run) * fine + run * spoiled
            for fine, spoiled in zip(
                _binomial(jars, 1 - jar), _binomial(jars, (1 - jar) * (1 - kill)), strict=True
            )
        ]
        good = _convolved(good, mixed)
    enough = sum(good[case.plan.jars_wanted :])
    is_tested = bool(case.said("culture", "tested") or case.of_kind("culture_test"))
    least, most = enough * (1 - culture), enough * (1 if is_tested else 1 - culture)
    if not least - 1e-6 <= case.plan.chance_of_enough <= most + 1e-6:
        said = case.plan.chance_of_enough
        yield f"{said:.4f} is said, the stated losses give {least:.4f} to {most:.4f}"


def _binomial(count: int, chance: float) -> list[float]:
    return [comb(count, k) * chance**k * (1 - chance) ** (count - k) for k in range(count + 1)]


def _convolved(one: list[float], other: list[float]) -> list[float]:
    out = [0.0] * (len(one) + len(other) - 1)
    for place, a in enumerate(one):
        for further, b in enumerate(other):
            out[place + further] += a * b
    return out
