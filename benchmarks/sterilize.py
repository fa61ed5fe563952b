"""How long a sterilizer run takes to work out, by grain and effort, and what the parts cost.

Prints processor time, for a busy machine does not change it, and the ratio to solving every
scenario with vapor instead of reading it off the surrogate.
Run: .venv/bin/python benchmarks/sterilize.py
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT)]

import numpy as np  # noqa: E402
from tests.model.questions import conduction, question, vapor  # noqa: E402

from spawnwright.actions.sterilizing.sterilize import sterilize  # noqa: E402
from spawnwright.model.canner.run_inputs import run_inputs  # noqa: E402
from spawnwright.model.canner.sterilizer_run import runs  # noqa: E402
from spawnwright.model.canner.vessel_history import beginning, vessel_history  # noqa: E402
from spawnwright.model.heat.transport import OPEN_PORES  # noqa: E402
from spawnwright.model.heat.vapor_surrogate import COARSE, by_vapor  # noqa: E402
from spawnwright.model.scenarios import draw  # noqa: E402

TIMES = 3
SOLVED = 240


def seconds(work) -> float:
    """Least processor time of a few goes."""
    taken = []
    for _ in range(TIMES):
        begin = time.process_time()
        work()
        taken.append(time.process_time() - begin)
    return min(taken)


def solve_all(count: int) -> float:
    """Processor time of solving this many scenarios with vapor, each for itself."""
    asked = question(grain_state="pours")
    draws = draw(run_inputs(asked), count) | {"transport": np.full(count, OPEN_PORES)}
    every = runs(asked, draws)
    holds = 60.0 * np.array([20, 40, 60, 75, 90, 105, 120, 150.0])
    history = vessel_history(asked, every, beginning(asked, every), holds)
    return seconds(lambda: by_vapor(asked, every, history, COARSE))


def main() -> None:
    whole = {}
    for state in ("pours", "sticks", "smears", "unknown"):
        asked = question(grain_state=state)
        quick = replace(asked, effort="quick", wants_causes=False)
        whole[state] = seconds(lambda asked=asked: sterilize(asked))
        hurried = seconds(lambda quick=quick: sterilize(quick))
        print(f"{state:10} full {whole[state]:6.2f} s    as the planner asks {hurried:6.2f} s")
    print(f"pinned     conduction {seconds(lambda: sterilize(conduction(1.6e-7))):6.2f} s")
    print(f"pinned     vapor      {seconds(lambda: sterilize(vapor(0.1))):6.2f} s")
    few = solve_all(SOLVED)
    every = few * 2000 / SOLVED
    print(
        f"{SOLVED} scenarios with vapor solved in {few:.2f} s; all 2,000 would take {every:.1f} s, "
        f"{every / whole['pours']:.1f} x the whole answer"
    )


if __name__ == "__main__":
    main()
