"""Which input makes the band of F0 wide: recomputed with each input held at its likely value."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from spawnwright.model.canner.sterilizer_run import Runs, runs
from spawnwright.model.canner.vessel_history import beginning, cooling_c, vessel_history
from spawnwright.model.heat.liquid import liquid_table
from spawnwright.model.heat.vapor_surrogate import bed_inputs
from spawnwright.model.scenarios import Floats, Input, band
from spawnwright.model.sterilizing.hold_table import HoldTable, between
from spawnwright.model.sterilizing.run_table import RunTable
from spawnwright.model.surrogate import Surrogate, fit
from spawnwright.records.sterilizing import SterilizeQuestion

_LEAST_MIN = 1e-9
_LEAST_CREEPING = 100  # scenarios by conduction that a surrogate of them needs
_ROWS = 300
_NOT_HEAT = ("spore_log10_per_g", "spore_d_min", "spore_z_c", "spare_w")


@dataclass(frozen=True)
class _WhatIf:
    """F0 of changed draws, by the surrogates of both transports."""

    question: SterilizeQuestion
    solved: RunTable
    creeping: Surrogate | None
    hold_s: float
    f0_min: Floats
    """As it was, for scenarios that no surrogate answers for."""

    def __call__(self, draws: Mapping[str, Floats]) -> Floats:
        every = runs(self.question, draws)
        if every.is_well_mixed:
            return self._of_liquid(every)
        inputs = bed_inputs(every, beginning(self.question, every))
        f0, creeps = self.f0_min.copy(), every.is_conduction.astype(bool)
        if self.creeping is not None:
            by_conduction = _creeping_inputs(inputs, every.diffusivity_m2_s)
            f0[creeps] = np.exp(self.creeping(by_conduction)[creeps, 0])
        if self.solved.vapor is not None:
            table = self.solved.vapor.f0_total_min(inputs, every)
            f0[~creeps] = between(self.solved.table.hold_s, table, self.hold_s)[~creeps, 0]
        return f0

    def _of_liquid(self, every: Runs) -> Floats:
        """Solved anew: a liquid's one temperature costs no more than reading a surface."""
        hold_s = np.array([self.hold_s])
        begun = beginning(self.question, every)
        history = vessel_history(self.question, every, begun, hold_s)
        after = cooling_c(self.question, every, history, np.arange(len(every.grain_kg)))
        table = liquid_table(
            every.mixing_rate_s, every.vessel.start_c, every.spore_z_c, history.cycle, hold_s, after
        )
        return table.f0_total_min[:, 0]


def widest_cause(
    question: SterilizeQuestion,
    inputs: Sequence[Input],
    draws: Mapping[str, Floats],
    solved: RunTable,
    at: HoldTable,
    hold_s: float,
) -> tuple[Input | None, dict[str, float]]:
    """The input whose knowledge would narrow the band of F0 most, and what each would leave.

    Parameters
    ----------
    question : SterilizeQuestion
        What is known [-].
    inputs : sequence of Input
        All inputs of the run [-].
    draws : mapping
        Their values in each scenario [-].
    solved : RunTable
        All scenarios solved, with the surrogate of those with vapor [-].
    at : HoldTable
        Results at the hold in question, one column [-].
    hold_s : float
        That hold [s].

    Returns
    -------
    tuple
        The input, none if nothing is uncertain; and by name the share of the band's width that
        would be left if it were known [-].

    Notes
    -----
    F0 at the core, cooling counted, in the first 300 scenarios, each input held in turn. A
    scenario that changes from one transport to another changes its surrogate with it.
    """
    uncertain = [each for each in inputs if each.shape != "fixed" and each.name not in _NOT_HEAT]
    if not uncertain:
        return None, {}
    few = {name: values[:_ROWS] for name, values in draws.items()}
    f0 = np.maximum(at.f0_total_min[:, 0], _LEAST_MIN)
    compute = _WhatIf(
        question, solved, _creeping_surrogate(question, draws, f0), hold_s, f0[:_ROWS]
    )
    full = band(compute(few)).width
    if full <= 0:
        return None, {}
    left = {each.name: band(compute(few | _held(each, few))).width / full for each in uncertain}
    name = min(left, key=lambda one: left[one])
    return next(each for each in inputs if each.name == name), left


def _held(each: Input, draws: Mapping[str, Floats]) -> dict[str, Floats]:
    return {each.name: np.full_like(draws[each.name], each.likely)}


def _creeping_surrogate(
    question: SterilizeQuestion, draws: Mapping[str, Floats], f0_min: Floats
) -> Surrogate | None:
    every = runs(question, draws)
    if every.is_well_mixed:
        return None
    creeps = np.flatnonzero(every.is_conduction)[:_ROWS]
    if len(creeps) < _LEAST_CREEPING:
        return None
    chosen = {name: values[creeps] for name, values in draws.items()}
    some = runs(question, chosen)
    inputs = bed_inputs(some, beginning(question, some))
    given = _creeping_inputs(inputs, some.diffusivity_m2_s)
    return fit(given, np.log(f0_min[creeps])[:, None])


def _creeping_inputs(inputs: Floats, diffusivity_m2_s: Floats) -> Floats:
    """Inputs of the bed with diffusivity in the place of pore factor and dry conductivity."""
    return np.hstack([np.log(diffusivity_m2_s)[:, None], inputs[:, 2:-1]])
