"""Sterilize: how hot the middle of the jars gets, how long to hold, the chance of a survivor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from spawnwright.actions.sterilizing.sterilize_answer import (
    CustomaryHold,
    HoldPoint,
    KindAnswer,
    SterilizeAnswer,
)
from spawnwright.actions.sterilizing.sterilize_checks import (
    advice_of,
    refuse_film,
    refuse_what_cannot_be,
    warnings_of,
)
from spawnwright.actions.sterilizing.sterilize_load import as_taken, cautions_of, jars_in_water
from spawnwright.model.canner.burner import share_into_pot
from spawnwright.model.canner.cool_to_handle import cool_to_handle, handling_temperature_c
from spawnwright.model.canner.loading import water_depth_m
from spawnwright.model.canner.run_inputs import MOISTURE, run_inputs, turned, words
from spawnwright.model.canner.sterilizer_run import Runs, runs
from spawnwright.model.canner.vessel_history import (
    Beginning,
    VesselHistory,
    beginning,
    to_zero_s,
    vessel_history,
)
from spawnwright.model.grain.fill import FilledJar, filled_jar
from spawnwright.model.grain.swelling import wet_bulk_density_kg_m3
from spawnwright.model.heat.liquid import LIQUID_KG_M3
from spawnwright.model.heat.steam import latent_heat_j_kg
from spawnwright.model.heat.transport import weight_for_state
from spawnwright.model.scenarios import Floats, Input, band, draw
from spawnwright.model.sterilizing.causes_of_width import widest_cause
from spawnwright.model.sterilizing.hold import (
    LONGEST_HOLD_S,
    WATER_RESERVE_KG,
    customary_bag_hold_s,
    customary_hold_s,
    customary_liquid_hold_s,
    least_hold_s,
    longest_hold_by_water_s,
    mean_chance,
)
from spawnwright.model.sterilizing.hold_table import HoldTable, between
from spawnwright.model.sterilizing.run_table import RunTable, solve
from spawnwright.records.band import Band
from spawnwright.records.sterilizing import GrainState, SterilizeQuestion
from spawnwright.units import written_duration

SCENARIOS = {"full": 2000, "quick": 500}
VAPOR_SOLVED = {"full": 240, "quick": 120}
_FEWER_SOLVED = 120  # for each further kind of jar in the load, and for spoiled ones
_MINUTES = {
    "full": (10, 20, 40, 60, 75, 90, 105, 120, 150, 180, 240, 300, 360),
    "quick": (25, 45, 75, 105, 150, 210, 300),
}
_LIQUID_MINUTES = (2, 5, 8, 10, 12, 15, 18, 20, 25, 30, 40, 50, 60, 90, 120, 180)
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
    question = as_taken(question)
    every_filled = [_filled(question.turned(place)) for place in range(len(question.kinds))]
    every_run = _solve(question)
    holds = [_recommended(run) for run in every_run]
    recommended = _longest(holds)
    customary = _customary(question)
    if question.is_spoiled:
        recommended = _hold_of_spoiled(question, recommended, customary[1], every_run[0].longest_s)
    hold_s, hold_is = customary[0], "customary"
    if question.hold_s is not None:
        hold_s, hold_is = question.hold_s, "asked"
    elif recommended is not None:
        hold_s, hold_is = recommended, "recommended"
    elif question.if_none == "longest":
        hold_s, hold_is = max(every_run[0].longest_s, 60.0), "longest"
    kinds = tuple(
        _kind(run, filled, hold_s, hold)
        for run, filled, hold in zip(every_run, every_filled, holds, strict=True)
    )
    slowest = max(
        range(len(kinds)),
        key=lambda place: (
            kinds[place].chance_of_survivor, -kinds[place].coldest_f0_total_min.likely
        ),
    )  # fmt: skip
    answered = _answer(
        every_run[slowest], every_filled[slowest], hold_s, hold_is, recommended, customary
    )
    if question.is_spoiled and recommended is not None and hold_s < recommended - 1.0:
        short = f"Spoiled jars get {written_duration(recommended)} or more; this hold is shorter."
        answered = replace(answered, warnings=(*answered.warnings, short))
    return replace(
        answered,
        kinds=kinds,
        slowest=slowest,
        hold_by_state_s=_hold_by_state([every_run[slowest], *every_run]),
        water_depth_m=_depth_m(question, answered.water_needed_kg),
    )


def _hold_of_spoiled(
    question: SterilizeQuestion, own_s: float | None, customary_s: float, longest_s: float
) -> float:
    """At least what fresh jars of this size get, and what fits; more where that is enough.

    Spoiled grain may hold so many spores that no hold that fits is enough; the run is made all
    the same, for the jar is opened, not eaten from.
    """
    fresh = replace(
        question, is_spoiled=False, grain_state="unknown", hold_s=None, pinned=None,
        effort="quick", wants_causes=False, spores_per_g=None,
    )  # fmt: skip
    usual = sterilize(fresh).recommended_hold_s
    return min(max(usual or longest_s, customary_s, own_s or 0.0), longest_s)


def _longest(holds: Sequence[float | None]) -> float | None:
    """The longest of some holds; none if one of them is none."""
    known = [each for each in holds if each is not None]
    return max(known) if len(known) == len(holds) else None


def _customary(question: SterilizeQuestion) -> tuple[float, float]:
    if question.contents != "grain":
        return customary_liquid_hold_s()
    if question.bag is not None:
        return customary_bag_hold_s()
    return max(customary_hold_s(float(kind.jar.nominal_volume_m3)) for kind in question.kinds)


def _filled(question: SterilizeQuestion) -> FilledJar:
    if question.contents != "grain":
        return filled_jar(question.jar, question.fill, float(LIQUID_KG_M3))
    moisture = float(MOISTURE) if question.moisture is None else question.moisture
    density = float(wet_bulk_density_kg_m3(question.kernels, moisture))
    filled = filled_jar(question.jar, question.fill, density)
    refuse_film(question.jar, filled)
    return filled


def _solve(question: SterilizeQuestion) -> list[_Solved]:
    """The run, once for each kind of jar: canner, steam and holds are the same for all."""
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
    # Of spoiled grain, which counts as smearing, few scenarios have vapor in them.
    some = _FEWER_SOLVED if question.is_spoiled else VAPOR_SOLVED[question.effort]
    solved = solve(question, inputs, every, begun, history, hold_s, some)
    run = _Solved(question, inputs, draws, every, begun, history, solved, hold_s, longest)
    return [run, *(_solve_other(run, place) for place in range(1, len(question.kinds)))]


def _solve_other(run: _Solved, place: int) -> _Solved:
    question = run.question.turned(place)
    inputs, draws = run_inputs(question), turned(run.draws, place)
    every = runs(question, draws)
    solved = solve(
        question, inputs, every, run.begun, run.history, run.hold_s, _FEWER_SOLVED
    )  # fmt: skip
    return replace(
        run, question=question, inputs=inputs, draws=draws, every=every, solved=solved
    )  # fmt: skip


def _holds(question: SterilizeQuestion, longest_s: float) -> Floats:
    """Ends of the holds to solve for: a fixed row, the asked one, the customary, the longest."""
    wanted = [*_customary(question), max(longest_s, 60.0)]
    if question.hold_s is not None:
        wanted.append(question.hold_s)
    last = max(wanted)
    minutes = _PINNED_MINUTES if question.pinned is not None else _MINUTES[question.effort]
    if question.contents != "grain":
        minutes = _LIQUID_MINUTES
    usual = [60.0 * each for each in minutes if 60.0 * each < last]
    far = [each for each in usual if min(abs(each - other) for other in wanted) > 120.0]
    return np.unique(np.array([*far, *wanted]))


def _kind(run: _Solved, filled: FilledJar, hold_s: float, recommended: float | None) -> KindAnswer:
    at = run.table.at(hold_s)
    return KindAnswer(
        kind=run.question.kinds[0],
        recommended_hold_s=recommended,
        core_at_steam_off_c=band(at.core_off_c[:, 0]),
        f0_total_min=band(at.f0_total_min[:, 0]),
        coldest_f0_total_min=band(at.coldest_total_min[:, 0]),
        chance_of_survivor=_chance(run, at),
        share=filled.share,
        grain_kg_per_jar=filled.grain_kg,
        dry_grain_kg_per_jar=float(np.median(run.every.dry_grain_kg)),
    )


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
        water_depth_m=0.0,
        energy_j=band(heat / share_into_pot(question, run.draws)),
        grain_kg_per_jar=filled.grain_kg,
        dry_grain_kg_per_jar=float(np.median(run.every.dry_grain_kg)),
        hold_curve=_curve_of_holds(run),
        hold_by_state_s={},
        customary=CustomaryHold(*customary, *(_chance(run, run.table.at(s)) for s in customary)),
        widest_cause=None if cause is None else words(question, cause.name),
        widest_input=None if cause is None else cause.name,
        narrow_it_with="" if cause is None else cause.narrow_with,
        left_if_known=left,
        interpolation_error=float(np.interp(hold_s, run.hold_s, run.solved.error)),
        inputs=tuple(run.inputs),
        advice=advice_of(question, run.longest_s, recommended),
        warnings=tuple(warnings_of(question, filled, hold_s, run.longest_s)),
        cautions=cautions_of(question),
    )


def _depth_m(question: SterilizeQuestion, needed_kg: Band) -> float:
    jars = jars_in_water(question)
    return water_depth_m(question.canner, question.jar, jars, needed_kg.high)


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


def _hold_by_state(every_run: Sequence[_Solved]) -> dict[str, float | None]:
    """What knowing the state of the grain would change, from the same scenarios."""
    question = every_run[0].question
    is_said = question.grain_state != "unknown" or question.contents != "grain"
    is_said = is_said or question.probe is not None
    if question.pinned is not None or is_said or not question.wants_causes:
        return {}
    states: tuple[GrainState, ...] = ("pours", "sticks", "smears")
    return {state: _hold_if(state, every_run) for state in states}


def _hold_if(state: GrainState, every_run: Sequence[_Solved]) -> float | None:
    """The recommended hold if the grain is in a state; others only where the first is too short."""
    hold_s: float | None = 0.0
    for run in every_run:
        weight = weight_for_state(run.draws["transport"], state)
        is_short = not hold_s or _chance(run, run.table.at(hold_s), weight) > run.question.target
        if is_short:
            hold_s = _recommended(run, weight)
        if hold_s is None:
            return None
    return hold_s


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
