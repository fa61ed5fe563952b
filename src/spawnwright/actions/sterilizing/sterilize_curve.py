"""The curve of the likely scenario: steam and core from burner on until the core is cool."""

from __future__ import annotations

import numpy as np

from spawnwright.actions.sterilizing.sterilize_load import as_taken
from spawnwright.model.canner.run_inputs import run_inputs
from spawnwright.model.canner.sterilizer_run import Runs, runs
from spawnwright.model.canner.vessel_history import beginning, cooling_c, vessel_history
from spawnwright.model.heat.conduction import conduct_and_keep, continue_from
from spawnwright.model.heat.liquid import follow
from spawnwright.model.heat.porous_bed import continue_from as continue_wet_bed
from spawnwright.model.heat.porous_bed import heat_wet_bed_and_keep
from spawnwright.model.heat.steam import saturation_pressure_pa
from spawnwright.model.heat.vapor_surrogate import FINE
from spawnwright.model.scenarios import Floats
from spawnwright.model.sterilizing.hold_table import COOLING_TIME_S
from spawnwright.records.sterilizing import SterilizeQuestion


def likely_curve(question: SterilizeQuestion, hold_s: float) -> dict[str, Floats]:
    """Temperatures over a run with every input at its likely value.

    Parameters
    ----------
    question : SterilizeQuestion
        What is known [-].
    hold_s : float
        The hold [s].

    Returns
    -------
    dict
        `time_s` from burner on (from steam on for a step) [s], `steam_c` and `core_c` [°C].

    Notes
    -----
    The likely way for heat to move, not a mixture: the middle of a band may lie elsewhere.
    """
    question = as_taken(question)
    draws = {each.name: np.array([float(each.likely)]) for each in run_inputs(question)}
    every = runs(question, draws)
    history = vessel_history(question, every, beginning(question, every), np.array([hold_s]))
    cycle, after = history.cycle, cooling_c(question, every, history, np.array([0]))
    time, steam = cycle.time_s, cycle.vessel_c[0]
    heated, cooled = _core(every, time, cycle.vessel_c, hold_s, after)
    if after is not None:
        time = np.concatenate([time, hold_s + COOLING_TIME_S[1:]])
        steam = np.concatenate([steam, after[0, 0, 1:]])
        heated = np.concatenate([heated, cooled[1:]])
    return {"time_s": time - time[0], "steam_c": steam, "core_c": heated}


def _core(
    every: Runs, time: Floats, vessel_c: Floats, hold_s: float, after: Floats | None
) -> tuple[Floats, Floats]:
    start, off = every.vessel.start_c, np.array([hold_s])
    if every.is_well_mixed:
        heated = follow(every.mixing_rate_s, start, time, vessel_c)
        if after is None:
            return heated[0], np.zeros(0)
        return heated[0], follow(every.mixing_rate_s, heated[:, -1], COOLING_TIME_S, after[:, 0])[0]
    if every.is_conduction[0]:
        run, state = conduct_and_keep(every.bed, every.diffusivity_m2_s, start, time, vessel_c, off)
        cooled = None if after is None else continue_from(state, COOLING_TIME_S, after)
    else:
        run, wet = heat_wet_bed_and_keep(
            every.bed, every.dry_conductivity_w_mk, every.pore_factor, start, time, vessel_c,
            _pressure(every, vessel_c), off, grid=FINE.grid, longest_step_s=FINE.longest_step_s,
        )  # fmt: skip
        cooled = (
            None
            if after is None
            else continue_wet_bed(wet, COOLING_TIME_S, after, _pressure(every, after))
        )
    return run.core_c[0], np.zeros(0) if cooled is None else cooled.core_c[0, 0]


def _pressure(every: Runs, vessel_c: Floats) -> Floats:
    return np.asarray(np.maximum(saturation_pressure_pa(vessel_c), every.ambient_pa[0]))
