"""How many jars to make, and what another run or a few jars more would change."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.errors import Contradiction
from spawnwright.model.planning import spares

MOST_RUNS_SHOWN = 4
LARGE_EXTRA = 0.5  # extra jars as a share of the good ones, from which a hint is given


@dataclass(frozen=True)
class Step:
    """A number of jars in a number of runs, and the chance of enough."""

    jars: int | None
    runs: int
    service: float


@dataclass(frozen=True)
class SparesAnswer:
    """The least number of jars; none if no number does, with the most that can be."""

    jars: int | None
    service: float
    nearby: tuple[Step, ...]
    """A few jars fewer and more, in the same runs."""
    by_runs: tuple[Step, ...]
    """The least number of jars for other numbers of runs; empty where runs do not matter."""
    note: str


def count_spares(
    good: int,
    survival: float,
    service: float,
    runs: int = 1,
    run_loss: float | None = None,
    run_kill: float | None = None,
) -> SparesAnswer:
    """The least number of jars with which enough are good; see `model.spares`.

    A bad run spoils everything, unless `run_kill` says less. Raises `Contradiction` if `run_kill`
    is given without `run_loss`, and `OutOfRange` for counts and shares that cannot be.
    """
    if run_loss is None and run_kill is not None:
        raise Contradiction(
            "A share that a bad run spoils means nothing without the chance of one: give the "
            "chance that a run is bad (--run-loss) as well."
        )
    loss, kill = run_loss or 0.0, 1.0 if run_kill is None else run_kill
    jars, reached = spares.least_jars(good, survival, service, runs, loss, kill)
    nearby: tuple[Step, ...] = ()
    if jars is not None:
        nearby = tuple(
            Step(each, runs, spares.chance_of_enough(each, good, survival, runs, loss, kill))
            for each in range(max(good, jars - 2), jars + 3)
        )
    by_runs = tuple(
        Step(*_swap(spares.least_jars(good, survival, service, each, loss, kill), each))
        for each in range(1, max(MOST_RUNS_SHOWN, runs) + 1)
        if loss and kill and each <= MOST_RUNS_SHOWN
    )
    return SparesAnswer(jars, reached, nearby, by_runs, _note(good, jars, runs, by_runs, reached))


def _swap(found: tuple[int | None, float], runs: int) -> tuple[int | None, int, float]:
    return found[0], runs, found[1]


def _note(good: int, jars: int | None, runs: int, by_runs: tuple[Step, ...], service: float) -> str:
    better = [
        each
        for each in by_runs
        if each.runs > runs and each.jars is not None and (jars is None or each.jars < jars)
    ]
    if jars is None and better:
        first = better[0]
        return (
            f"No number of jars in {_runs(runs)} does: the chance stays below {service:.1%}. "
            f"{_runs(first.runs).capitalize()} with {first.jars} jars do."
        )
    if jars is None:
        return f"No number of jars does: the chance stays below {service:.1%}."
    if better and jars - good > LARGE_EXTRA * good:
        first = better[0]
        return (
            f"Losses come by the run: shared over {_runs(first.runs)}, {first.jars} jars do "
            f"instead of {jars}."
        )
    return ""


def _runs(count: int) -> str:
    return "one run" if count == 1 else f"{count} runs"
