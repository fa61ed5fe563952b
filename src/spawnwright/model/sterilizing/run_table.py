"""All scenarios of a run solved for all holds, whichever way heat moves in them.

Scenarios by conduction are solved each for itself. Those with vapor are read off a surrogate,
fitted to a few hundred solved ones that are spread over the whole range of pore factors.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from spawnwright.model.canner.sterilizer_run import Runs
from spawnwright.model.canner.vessel_history import Beginning, VesselHistory, cooling_c
from spawnwright.model.heat.draw import Rows
from spawnwright.model.heat.liquid import liquid_table
from spawnwright.model.heat.vapor_surrogate import (
    FINE,
    VaporSurrogate,
    bed_inputs,
    by_vapor,
    vapor_surrogate,
)
from spawnwright.model.scenarios import Floats, Input
from spawnwright.model.sterilizing.hold_table import (
    SLOW_INSTANTS,
    HoldTable,
    conduction_table,
    with_coldest_of_whole_run,
)
from spawnwright.records.sterilizing import SterilizeQuestion

_COLUMNS = ("core_off_c", "f0_off_min", "f0_total_min", "coldest_total_min", "coldest_own_z_min")


@dataclass(frozen=True)
class RunTable:
    """The table of all scenarios, and the surrogate that answers what-if questions."""

    table: HoldTable
    vapor: VaporSurrogate | None
    error: Floats
    """Relative error of F0 in scenarios with vapor by hold, one standard deviation, (holds,)."""


def solve(
    question: SterilizeQuestion,
    inputs: Sequence[Input],
    every: Runs,
    begun: Beginning,
    history: VesselHistory,
    hold_s: Floats,
    vapor_scenarios: int,
) -> RunTable:
    """Solve all scenarios for all holds.

    Parameters
    ----------
    question : SterilizeQuestion
        What is known [-].
    inputs : sequence of Input
        All inputs of the run [-].
    every : Runs
        Canner and jars in each scenario [-].
    begun : Beginning
        Its come-up [-].
    history : VesselHistory
        The canner in each scenario [-].
    hold_s : array
        Ends of holds [s].
    vapor_scenarios : int
        Scenarios with vapor to solve; with a pinned transport the one there is [-].

    Returns
    -------
    RunTable
        Rows in the order of the draws [-].

    Notes
    -----
    The surrogate's own error is added to each scenario with vapor, as a draw.
    """
    if every.is_well_mixed:
        table = liquid_table(
            every.mixing_rate_s, every.vessel.start_c, every.spore_z_c, history.cycle, hold_s,
            cooling_c(question, every, history, np.arange(len(every.grain_kg))),
        )  # fmt: skip
        return RunTable(table, None, np.zeros(len(hold_s)))
    creeps = every.is_conduction.astype(bool)
    columns = [np.empty((len(creeps), len(hold_s))) for _ in _COLUMNS]
    if creeps.any():
        _put(columns, creeps, _by_conduction(question, every, history, creeps))
    if creeps.all():
        return RunTable(HoldTable(hold_s, *columns), None, np.zeros(len(hold_s)))
    if question.pinned is not None:
        _put(columns, ~creeps, by_vapor(question, every, history, FINE))
        return RunTable(HoldTable(hold_s, *columns), None, np.zeros(len(hold_s)))
    vapor = vapor_surrogate(question, inputs, hold_s, vapor_scenarios)
    read, error = vapor.table(bed_inputs(every, begun), every)
    _put(columns, ~creeps, _rows(read, ~creeps))
    return RunTable(HoldTable(hold_s, *columns), vapor, _mean_square_root(error[~creeps]))


def _mean_square_root(values: Floats) -> Floats:
    return np.asarray(np.sqrt(np.mean(values**2, axis=0)))


def _by_conduction(
    question: SterilizeQuestion, every: Runs, history: VesselHistory, chosen: Rows
) -> HoldTable:
    some = every.rows(chosen)
    cycle = replace(history.cycle, vessel_c=history.cycle.vessel_c[chosen])
    is_pinned = question.pinned is not None
    holds = len(history.hold_s)
    places = np.arange(holds) if is_pinned else _some_places(question, history.hold_s)
    cooling = cooling_c(question, every, history, chosen, places)
    jars = (some.bed, some.diffusivity_m2_s, some.vessel.start_c, some.spore_z_c, cycle)
    if not is_pinned:
        return conduction_table(*jars, history.hold_s, cooling, places, SLOW_INSTANTS)
    table = conduction_table(*jars, history.hold_s, cooling, places)
    return table if cooling is None else with_coldest_of_whole_run(table, *jars, cooling)


def _some_places(question: SterilizeQuestion, hold_s: Floats) -> Rows:
    """Every other hold, the last, and the one that was asked for."""
    places = {*range(0, len(hold_s), 2), len(hold_s) - 1}
    if question.hold_s is not None:
        places.add(int(np.argmin(np.abs(hold_s - question.hold_s))))
    return np.array(sorted(places))


def _rows(table: HoldTable, chosen: Floats) -> HoldTable:
    return HoldTable(table.hold_s, *(getattr(table, name)[chosen] for name in _COLUMNS))


def _put(columns: list[Floats], chosen: Floats, table: HoldTable) -> None:
    for column, name in zip(columns, _COLUMNS, strict=True):
        column[chosen] = getattr(table, name)
