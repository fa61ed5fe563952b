"""Sterilize: how hot the middle of the jars gets, how long to hold, the chance of a survivor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spawnwright.actions.sterilize_answer import (
    CustomaryHold,
    HoldPoint,
    SterilizeAnswer,
)
from spawnwright.actions.sterilize_checks import (
    CAUTIONS,
    advice_of,
    refuse_what_cannot_be,
    warnings_of,
)
from spawnwright.model.causes_of_width import widest_cause
from spawnwright.model.cool_to_handle import cool_to_handle, handling_temperature_c
from spawnwright.model.fill import FilledJar, filled_jar
from spawnwright.model.hold import (
    LONGEST_HOLD_S,
    WATER_RESERVE_KG,
    customary_hold_s,
    least_hold_s,
    longest_hold_by_water_s,
    mean_chance,
)
from spawnwright.model.hold_table import HoldTable, between
from spawnwright.model.loading import jars_per_load, water_depth_m
from spawnwright.model.run_inputs import MOISTURE, WORDS, run_inputs
from spawnwright.model.run_table import RunTable, solve
from spawnwright.model.scenarios import Floats, Input, band, draw
from spawnwright.model.steam import latent_heat_j_kg
from spawnwright.model.sterilizer_run import Runs, runs
from spawnwright.model.swelling import wet_bulk_density_kg_m3
from spawnwright.model.transport import weight_for_state
from spawnwright.model.vessel_history import (
    Beginning,
    VesselHistory,
    beginning,
    to_zero_s,
    vessel_history,
)
from spawnwright.records.band import Band
from spawnwright.records.sterilizing import GrainState, SterilizeQuestion

SCENARIOS = {"full": 2000, "quick": 500}
VAPOR_SOLVED = {"full": 240, "quick": 120}
_MINUTES = {
    "full": (10, 20, 40, 60, 75, 90, 105, 120, 150, 180, 240, 300, 360),
    "quick": (25, 45, 75, 105, 150, 210, 300),
}
_PINNED_MINUTES = tuple(range(10, 361, 10))


@dataclass(frozen=True)
class _Solved:
    """All that the answer is read from."""

    question: SterilizeQuestion
    inputs: Sequence[Input]
    draws: dict[str, Floats]
    every: Runs
    begun: Beginning
    history: VesselHistory
    solved: RunTable
    hold_s: Floats
    longest_s: float

    @property
    def table(self) -> HoldTable:
        return self.solved.table


def sterilize(question: SterilizeQuestion) -> SterilizeAnswer:
    """Everything about one load of the canner, as bands over all that is uncertain.

    Parameters
    ----------
    question : SterilizeQuestion
        Jars, grain, canner, burner, place; SI [-].

    Returns
    -------
    SterilizeAnswer
        For the hold asked, else the recommended one, else the customary one [-].

    Raises
    ------
    Unusable
        For what cannot be: pressure above the rating, jars that do not fit, a hold of nothing.

    Notes
    -----
    All scenarios are solved for a row of holds at once; docs/models/sterilize.md has the whole.
    """
    refuse_what_cannot_be(question)
    filled = _filled(question)
    run = _solve(question)
    recommended = _recommended(run)
    customary = customary_hold_s(float(question.jar.nominal_volume_m3))
    hold_s, hold_is = customary[0], "customary"
    if question.hold_s is not None:
        hold_s, hold_is = question.hold_s, "asked"
    elif recommended is not None:
        hold_s, hold_is = recommended, "recommended"
    return _answer(run, filled, hold_s, hold_is, recommended, customary)


def _filled(question: SterilizeQuestion) -> FilledJar:
    moisture = float(MOISTURE) if question.moisture is None else question.moisture
    density = float(wet_bulk_density_kg_m3(question.grain, moisture))
    return filled_jar(question.jar, question.fill, density)


def _solve(question: SterilizeQuestion) -> _Solved:
    inputs = run_inputs(question)
    count = 1 if question.pinned is not None else SCENARIOS[question.effort]
    draws = draw(inputs, count)
    every = runs(question, draws)
    begun = beginning(question, every)
    rate = every.vessel.spare_w / latent_heat_j_kg(every.vessel.hold_c)
    by_water = longest_hold_by_water_s(begun.vented_kg, rate, question.canner.most_water_kg)
    longest = min(by_water, float(LONGEST_HOLD_S))
    hold_s = _holds(question, longest)
    history = vessel_history(question, every, begun, hold_s)
    solved = solve(question, inputs, every, begun, history, hold_s, VAPOR_SOLVED[question.effort])
    return _Solved(question, inputs, draws, every, begun, history, solved, hold_s, longest)


def _holds(question: SterilizeQuestion, longest_s: float) -> Floats:
    """Ends of the holds to solve for: a fixed row, the asked one, the customary, the longest."""
    wanted = [*customary_hold_s(float(question.jar.nominal_volume_m3)), max(longest_s, 60.0)]
    if question.hold_s is not None:
        wanted.append(question.hold_s)
    last = max(wanted)
    minutes = _PINNED_MINUTES if question.pinned is not None else _MINUTES[question.effort]
    usual = [60.0 * each for each in minutes if 60.0 * each < last]
    far = [each for each in usual if min(abs(each - other) for other in wanted) > 120.0]
    return np.unique(np.array([*far, *wanted]))


def _answer(
    run: _Solved,
    filled: FilledJar,
    hold_s: float,
    hold_is: str,
    recommended: float | None,
    customary: tuple[float, float],
) -> SterilizeAnswer:
    question, at = run.question, run.table.at(hold_s)
    lost = run.begun.vented_kg + between(run.hold_s, run.history.boiled_kg, hold_s)[:, 0]
    needed = band(lost + float(WATER_RESERVE_KG))
    heat = between(run.hold_s, run.history.heat_j, hold_s)[:, 0]
    zero = to_zero_s(run.every, run.history, hold_s)
    cooled = cool_to_handle(question.room_c, run.every, run.history, at, zero)
    cause, left = (
        widest_cause(question, run.inputs, run.draws, run.solved, at, hold_s)
        if question.wants_causes
        else (None, {})
    )
    return SterilizeAnswer(
        hold_s=hold_s,
        hold_is=hold_is,  # type: ignore[arg-type]
        recommended_hold_s=recommended,
        longest_hold_s=run.longest_s,
        steam_c=band(run.every.vessel.hold_c),
        core_at_steam_off_c=band(at.core_off_c[:, 0]),
        f0_at_steam_off_min=band(at.f0_off_min[:, 0]),
        f0_total_min=band(at.f0_total_min[:, 0]),
        coldest_f0_total_min=band(at.coldest_total_min[:, 0]),
        chance_of_survivor=_chance(run, at),
        come_up_s=band(run.begun.come_up_s),
        to_jet_s=band(run.begun.to_jet_s),
        to_zero_s=band(zero),
        overnight_s=cooled.overnight_s,
        opened_warm_s=cooled.opened_warm_s,
        handling_c=handling_temperature_c(question.room_c),
        water_lost_kg=band(lost),
        water_needed_kg=needed,
        water_room_kg=question.canner.most_water_kg,
        water_depth_m=_depth_m(question, needed),
        energy_j=band(heat / run.draws["hob_efficiency"]),
        grain_kg_per_jar=filled.grain_kg,
        dry_grain_kg_per_jar=float(np.median(run.every.dry_grain_kg)),
        hold_curve=_curve_of_holds(run),
        hold_by_state_s=_hold_by_state(run),
        customary=CustomaryHold(*customary, *(_chance(run, run.table.at(s)) for s in customary)),
        widest_cause=None if cause is None else WORDS[cause.name],
        widest_input=None if cause is None else cause.name,
        narrow_it_with="" if cause is None else cause.narrow_with,
        left_if_known=left,
        interpolation_error=float(np.interp(hold_s, run.hold_s, run.solved.error)),
        inputs=tuple(run.inputs),
        advice=advice_of(question, run.longest_s, recommended),
        warnings=tuple(warnings_of(question, filled, hold_s, run.longest_s)),
        cautions=CAUTIONS,
    )


def _depth_m(question: SterilizeQuestion, needed_kg: Band) -> float:
    load = jars_per_load(question.canner, question.jar)
    in_one_layer = min(question.jars, load.per_layer)
    return water_depth_m(question.canner, question.jar, in_one_layer, needed_kg.high)


def _chance(run: _Solved, at: HoldTable, weight: Floats | None = None) -> float:
    return float(_chances(run, at, weight)[0])


def _chances(run: _Solved, at: HoldTable, weight: Floats | None = None) -> Floats:
    every = run.every
    return mean_chance(
        at.coldest_own_z_min, every.spore_d_min, every.spores_log10_per_g, every.dry_grain_kg,
        weight,
    )  # fmt: skip


def _recommended(run: _Solved, weight: Floats | None = None) -> float | None:
    return least_hold_s(
        lambda hold: _chance(run, run.table.at(hold), weight),
        run.hold_s, _chances(run, run.table, weight), run.question.target, run.longest_s,
    )  # fmt: skip


def _hold_by_state(run: _Solved) -> dict[str, float | None]:
    """What knowing the state of the grain would change, from the same scenarios."""
    if run.question.pinned is not None or run.question.grain_state != "unknown":
        return {}
    states: tuple[GrainState, ...] = ("pours", "sticks", "smears")
    transport = run.draws["transport"]
    return {state: _recommended(run, weight_for_state(transport, state)) for state in states}


def _curve_of_holds(run: _Solved) -> tuple[HoldPoint, ...]:
    chances = _chances(run, run.table)
    return tuple(
        HoldPoint(
            float(hold_s), float(chances[place]), band(run.table.f0_total_min[:, place]),
            bool(hold_s <= run.longest_s + 1e-6),
        )
        for place, hold_s in enumerate(run.hold_s)
    )  # fmt: skip


__all__ = ["Band", "SterilizeAnswer", "SterilizeQuestion", "sterilize"]
