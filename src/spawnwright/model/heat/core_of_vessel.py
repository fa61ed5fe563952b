"""The core of a jar from the logged temperature of the vessel around it, by both transports."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spawnwright.model.canner.run_inputs import run_inputs
from spawnwright.model.canner.sterilizer_run import runs
from spawnwright.model.heat.transport import CONDUCTION
from spawnwright.model.scenarios import Floats, draw
from spawnwright.model.watch.run_solver import solve_run
from spawnwright.records.sterilizing import SterilizeQuestion

SCENARIOS = 96
_MOST_KNOTS = 240
_PORES_HALF_OPEN: tuple[float, float] = (1.0, 2.0)


@dataclass(frozen=True)
class CoreF0:
    """F0 at the core in scenarios, cooling included [min]."""

    by_conduction: Floats
    by_vapor: Floats
    by_state: Floats


def core_f0_min(
    question: SterilizeQuestion, time_s: Floats, vessel_c: Floats, scenarios: int = SCENARIOS
) -> CoreF0:
    """F0 at the core of a jar along a measured vessel temperature.

    Parameters
    ----------
    question : SterilizeQuestion
        Jar, fill, grain, its state and start, the air outside [-].
    time_s : array
        Instants, rising [s].
    vessel_c : array
        Vessel there [°C].
    scenarios : int
        How many of each transport [-].

    Returns
    -------
    CoreF0
        By conduction alone, by vapor alone, and mixed by the state of the grain [min].

    Notes
    -----
    The vessel is taken as saturated steam at the temperature that was read, over at least the
    air's pressure. Canner, burner and gauge do not matter. Errs hot if the sensor sat hotter than
    the jars, cold if air or a lid kept steam from it.
    """
    time, vessel = _thinned(time_s, vessel_c)
    draws = draw(run_inputs(question), scenarios)
    found = {}
    ways = {
        "by_conduction": np.full(scenarios, CONDUCTION),
        "by_vapor": np.where(np.arange(scenarios) % 2 == 0, *_PORES_HALF_OPEN),
        "by_state": draws["transport"],
    }
    for name, transport in ways.items():
        every = runs(question, {**draws, "transport": transport})
        curve = np.repeat(vessel[None, :], scenarios, axis=0)
        _, _, found[name] = solve_run(every, time, curve, float(time[-1]), None)
    return CoreF0(**found)


def _thinned(time_s: Floats, vessel_c: Floats) -> tuple[Floats, Floats]:
    """A curve of at most some hundred instants: means over equal spans, the ends kept."""
    if len(time_s) <= _MOST_KNOTS:
        return time_s, vessel_c
    edges = np.linspace(time_s[0], time_s[-1], _MOST_KNOTS)
    area = np.concatenate([[0.0], np.cumsum(np.diff(time_s) * (vessel_c[1:] + vessel_c[:-1]) / 2)])
    middle = (edges[1:] + edges[:-1]) / 2
    mean = np.diff(np.interp(edges, time_s, area)) / np.diff(edges)
    time = np.concatenate([time_s[:1], middle, time_s[-1:]])
    return time, np.concatenate([vessel_c[:1], mean, vessel_c[-1:]])
