"""Jars in whose pores vapor moves: a few hundred are solved, the rest are read off a surrogate.

The solved ones are spread over the whole range of pore factors, whatever the grain does in the
hand, so that the rare jar that hardly lets vapor through is read as well as the usual one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from spawnwright.model.canner.sterilizer_run import Runs, runs
from spawnwright.model.canner.vessel_history import (
    Beginning,
    VesselHistory,
    beginning,
    cooling_c,
    vessel_history,
)
from spawnwright.model.heat.transport import LARGEST_PORE_FACTOR, OPEN_PORES
from spawnwright.model.scenarios import Floats, Input, draw
from spawnwright.model.sterilizing.hold_table import HoldTable, WetBeds, vapor_table
from spawnwright.model.sterilizing.lethality import lethal_rate
from spawnwright.model.surrogate import Surrogate, fit
from spawnwright.records.sterilizing import SterilizeQuestion
from spawnwright.sources import JUDGMENT, Constant

SMALLEST_PORE_FACTOR = Constant(0.01, "-", source=JUDGMENT, where="less is conduction alone")
_MINUTES_BESIDE_HOLD = 40.0  # more than come-up and cooling can add to any hold
_LEAST_SHARE, _MOST_SHARE = 1e-13, 0.999
_LEAST_LAG_K = 1e-3


class HowFine(NamedTuple):
    """Grid, longest step, and number of holds that wet beds are cooled from."""

    grid: tuple[int, int]
    longest_step_s: float
    cooled: int


FINE, COARSE = HowFine((12, 16), 60.0, 99), HowFine((6, 8), 180.0, 4)
FOR_BAGS = HowFine((8, 12), 120.0, 4)  # larger, so that the front is steeper on the same grid


@dataclass(frozen=True)
class VaporSurrogate:
    """Results by hold of any jar with vapor, from `bed_inputs`."""

    surrogate: Surrogate
    hold_s: Floats

    def table(self, inputs: Floats, every: Runs) -> tuple[HoldTable, Floats]:
        """The table of scenarios, and the relative error of F0 in each, (scenarios, holds).

        The error is added to the table as a draw, evenly spread and the same every time.
        """
        from scipy.special import ndtri

        count = len(inputs)
        error = self.surrogate.error(inputs)
        ranks = np.random.default_rng(count).permutation(count)
        score = ndtri((ranks + 0.5) / count)[:, None]
        lag, *shares = np.split(self.surrogate(inputs), 5, axis=1)
        lag_error, *share_errors = np.split(error, 5, axis=1)
        core = every.vessel.hold_c[:, None] - np.exp(lag - lag_error * score)
        values = [
            _from_logit(each + wrong * score) * most
            for each, wrong, most in zip(shares, share_errors, self._most(every), strict=True)
        ]
        # Each is fitted for itself; what cannot be (less after a longer hold) is mended.
        off, total, coldest, own_z = (np.maximum.accumulate(each, axis=1) for each in values)
        total = np.maximum(total, off)
        table = HoldTable(self.hold_s, core, off, total, np.minimum(coldest, total), own_z)
        return table, share_errors[1] * (1 - _from_logit(shares[1]))

    def f0_total_min(self, inputs: Floats, every: Runs) -> Floats:
        """F0 at the core, cooling counted, without the surrogate's error, (scenarios, holds)."""
        shares = np.split(self.surrogate(inputs), 5, axis=1)[2]
        return np.asarray(_from_logit(shares) * self._most(every)[1])

    def _most(self, every: Runs) -> list[Floats]:
        return _most_min(every, self.hold_s)


def bed_inputs(every: Runs, begun: Beginning) -> Floats:
    """What decides the heat in a jar with vapor, in a form in which its effects are straight.

    Parameters
    ----------
    every : Runs
        Scenarios [-].
    begun : Beginning
        Their come-up [-].

    Returns
    -------
    array
        Shape (scenarios, 11); the pore factor is the first, for errors differ along it [-].

    Notes
    -----
    The depth follows from radius and capacity. Burner, canner and water act through the come-up;
    gauge, weather and air through the temperature of the hold.
    """
    bed = every.bed
    columns = (
        np.log(np.maximum(every.pore_factor, 1e-3)), np.log(every.dry_conductivity_w_mk),
        np.log(bed.volumetric_heat_capacity_j_m3k), bed.radius_m,
        np.log(bed.side_w_m2k), np.log(bed.top_w_m2k), every.vessel.start_c, every.vessel.hold_c,
        np.log1p(begun.come_up_s / 60.0), np.log(every.vessel.loss_w_k), every.spore_z_c,
    )  # fmt: skip
    return np.stack([np.broadcast_to(each, every.pore_factor.shape) for each in columns], axis=1)


def by_vapor(
    question: SterilizeQuestion, every: Runs, history: VesselHistory, how: HowFine
) -> HoldTable:
    """Solve scenarios with vapor, each for itself.

    Parameters
    ----------
    question : SterilizeQuestion
        Says the profile [-].
    every : Runs
        Scenarios [-].
    history : VesselHistory
        The canner in each [-].
    how : HowFine
        Grid and steps [-].

    Returns
    -------
    HoldTable
        Shape (scenarios, holds) each [-].
    """
    beds = WetBeds(
        every.bed, every.dry_conductivity_w_mk, every.pore_factor, every.ambient_pa,
        every.vessel.start_c, how.grid, how.longest_step_s,
    )  # fmt: skip
    hold_s = history.hold_s
    places = np.unique(np.linspace(0, len(hold_s) - 1, how.cooled).astype(int))
    cooling = cooling_c(question, every, history, np.arange(len(every.pore_factor)), places)
    return vapor_table(beds, every.spore_z_c, history.cycle, hold_s, cooling, places)


def vapor_surrogate(
    question: SterilizeQuestion, inputs: Sequence[Input], hold_s: Floats, count: int
) -> VaporSurrogate:
    """Solve some scenarios with vapor and fit the surrogate to them.

    Parameters
    ----------
    question : SterilizeQuestion
        What is known [-].
    inputs : sequence of Input
        All inputs of the run [-].
    hold_s : array
        Ends of holds [s].
    count : int
        Scenarios to solve [-].

    Returns
    -------
    VaporSurrogate
        For any scenario of this question [-].

    Notes
    -----
    Fitted are the logarithm of the core's lag, and of lethality the logit of its share of what
    steam itself would give: bounded, and straight where the core is far behind.
    """
    design = _design(inputs, count)
    every = runs(question, design)
    begun = beginning(question, every)
    history = vessel_history(question, every, begun, hold_s)
    how = COARSE if question.bag is None else FOR_BAGS
    table = by_vapor(question, every, history, how)
    lag = np.log(np.maximum(every.vessel.hold_c[:, None] - table.core_off_c, _LEAST_LAG_K))
    lethality = (
        table.f0_off_min, table.f0_total_min, table.coldest_total_min, table.coldest_own_z_min,
    )  # fmt: skip
    shares = [
        _logit(each / most) for each, most in zip(lethality, _most_min(every, hold_s), strict=True)
    ]
    return VaporSurrogate(fit(bed_inputs(every, begun), np.hstack([lag, *shares])), hold_s)


def _design(inputs: Sequence[Input], count: int) -> dict[str, Floats]:
    """Draws for the scenarios to solve: every pore factor alike, all else as it may be."""
    low, high = float(np.log(SMALLEST_PORE_FACTOR)), float(np.log(LARGEST_PORE_FACTOR))
    margin = 0.05 * (high - low)
    spread = [
        Input(each.name, "uniform", (low + high) / 2, low + margin, high - margin, "", each.source)
        if each.name == "open_pore_factor"
        else each
        for each in inputs
    ]
    drawn = draw(spread, count)
    drawn["open_pore_factor"] = np.exp(drawn["open_pore_factor"])
    drawn["transport"] = np.full(count, OPEN_PORES)
    return drawn


def _most_min(every: Runs, hold_s: Floats) -> list[Floats]:
    """Lethality that steam itself would give in the hold and some: F0 three times, and own z."""
    minutes = hold_s / 60.0 + _MINUTES_BESIDE_HOLD
    f0 = lethal_rate(every.vessel.hold_c)[:, None] * minutes
    own_z = lethal_rate(every.vessel.hold_c, z_c=every.spore_z_c)[:, None] * minutes
    return [f0, f0, f0, own_z]


def _logit(share: Floats) -> Floats:
    inside = np.clip(share, _LEAST_SHARE, _MOST_SHARE)
    return np.asarray(np.log(inside / (1 - inside)))


def _from_logit(logit: Floats) -> Floats:
    return np.asarray(1 / (1 + np.exp(-logit)))
