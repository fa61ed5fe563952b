"""How many jars to make, and what another run or a few jars more would change."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.errors import Contradiction
from spawnwright.model.planning import spares

MOST_RUNS_SHOWN = 4
MOST = f"{spares.MOST_JARS:,}"
LARGE_EXTRA = 0.5  # extra jars as a share of the good ones, from which a hint is given


@dataclass(frozen=True)
class Step:
    """A number of jars in a number of runs, and the chance of enough."""

    jars: int | None
    runs: int
    service: float
    is_beyond: bool = False
    """Whether some number does, but none that is looked at."""

    @property
    def jars_said(self) -> str:
        """The number of jars in words."""
        if self.jars is None:
            return f"above {MOST}" if self.is_beyond else "no number does"
        return str(self.jars)

    @property
    def service_said(self) -> str:
        """The chance in words."""
        if self.jars is not None:
            return f"{self.service:.1%}"
        if self.is_beyond:
            return ""
        return "0%" if self.service == 0 else f"below {self.service:.1%}"


@dataclass(frozen=True)
class SparesAnswer:
    """The least number of jars; none if no number that is looked at does, with the most that can
    be reached.
    """

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
        _step(spares.least_jars(good, survival, service, each, loss, kill), each, service)
        for each in range(1, max(MOST_RUNS_SHOWN, runs) + 1)
        if loss and kill and each <= MOST_RUNS_SHOWN
    )
    note = _note(good, _step((jars, reached), runs, service), by_runs)
    return SparesAnswer(jars, reached, nearby, by_runs, note)


def _step(found: tuple[int | None, float], runs: int, wished: float) -> Step:
    # What can be reached is above what is wished: some number would do.
    return Step(found[0], runs, found[1], is_beyond=found[0] is None and found[1] > wished)


def _note(good: int, found: Step, by_runs: tuple[Step, ...]) -> str:
    jars, runs = found.jars, found.runs
    better = [
        each
        for each in by_runs
        if each.runs > runs and each.jars is not None and (jars is None or each.jars < jars)
    ]
    if jars is None:
        in_runs = f" in {_runs(runs)}" if better else ""
        if found.is_beyond:
            said = f"More than {MOST} jars{in_runs} would be needed; so many are not looked at."
        elif found.service == 0:
            said = f"No number of jars{in_runs} does: the chance stays 0."
        else:
            said = f"No number of jars{in_runs} does: the chance stays below {found.service:.1%}."
        if better:
            first = better[0]
            said += f" {_runs(first.runs).capitalize()} with {first.jars} jars do."
        return said
    if better and jars - good > LARGE_EXTRA * good:
        first = better[0]
        return (
            f"Losses come by the run: shared over {_runs(first.runs)}, {first.jars} jars do "
            f"instead of {jars}."
        )
    return ""


def _runs(count: int) -> str:
    return "one run" if count == 1 else f"{count} runs"
