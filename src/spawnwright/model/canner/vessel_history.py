"""The canner over a whole run, for every hold that is asked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spawnwright.model.canner.sterilizer_run import Runs
from spawnwright.model.canner.vessel import Heating, Holding, cool_down, heat_up, hold, time_below_s
from spawnwright.model.heat.cycle import (
    REFERENCE_COME_UP_S,
    REFERENCE_TO_BOIL_S,
    Cycle,
    cycle_of,
    reference_cooling_c,
    reference_cycle,
    step_cycle,
)
from spawnwright.model.heat.draw import Rows
from spawnwright.model.scenarios import Floats
from spawnwright.model.sterilizing.hold_table import COOLING_TIME_S
from spawnwright.records.sterilizing import SterilizeQuestion

_ZERO_TIME_S = 60.0 * np.concatenate([np.arange(0, 60, 4.0), np.arange(60, 361, 20)])
_HOLD_STEP_S = 300.0  # how often the jars' draw is brought up to date in a hold


@dataclass(frozen=True)
class VesselHistory:
    """Rows are scenarios; the last axis, where there is one, is the hold."""

    hold_s: Floats
    cycle: Cycle
    boiled_kg: Floats
    water_kg: Floats
    """Left in the canner at each steam off."""
    heat_j: Floats
    modes_c: Floats
    """State of the jars' modes at each steam off, (scenarios, modes, holds)."""


@dataclass(frozen=True)
class Beginning:
    """From burner on to pressure reached, one a scenario; nothing for a step."""

    heating: Heating | None
    to_jet_s: Floats
    come_up_s: Floats
    vented_kg: Floats
    heat_j: Floats
    modes_c: Floats


def beginning(question: SterilizeQuestion, runs: Runs) -> Beginning:
    """The canner from burner on until pressure is reached.

    Parameters
    ----------
    question : SterilizeQuestion
        Says the profile [-].
    runs : Runs
        Scenarios [-].

    Returns
    -------
    Beginning
        One row a scenario [-].

    Raises
    ------
    Unusable
        If the burner cannot hold the pressure.

    Notes
    -----
    A step has no come-up and no venting.
    """
    nothing = np.zeros_like(runs.vessel.start_c)
    if question.profile == "step":
        start = np.repeat(runs.vessel.start_c[:, None], runs.draw.modes, axis=1)
        return Beginning(None, nothing, nothing, nothing, nothing, start)
    heating = heat_up(runs.vessel, runs.draw)
    to_jet, come_up = heating.to_jet_s, heating.come_up_s
    if question.pinned is not None:
        to_jet, come_up = nothing + REFERENCE_TO_BOIL_S, nothing + REFERENCE_COME_UP_S
    return Beginning(heating, to_jet, come_up, heating.vented_kg, heating.heat_j, heating.modes_c)


def vessel_history(
    question: SterilizeQuestion, runs: Runs, begun: Beginning, hold_s: Floats
) -> VesselHistory:
    """The canner from burner on into the cooling after each hold.

    Parameters
    ----------
    question : SterilizeQuestion
        Says the profile, and whether the transport is pinned [-].
    runs : Runs
        Scenarios [-].
    begun : Beginning
        Their come-up [-].
    hold_s : array
        Ends of holds, rising, above 0 [s].

    Returns
    -------
    VesselHistory
        Shape (scenarios, …, holds) [-].

    Notes
    -----
    With a pinned transport the vessel's temperature is the reference cycle; water and burner
    still come from the balance.
    """
    vessel = runs.vessel
    if begun.heating is None:
        cycle = step_cycle(vessel.hold_c, hold_s)
    elif question.pinned is not None:
        cycle = reference_cycle(vessel.start_c, vessel.boil_c, vessel.hold_c, hold_s)
    else:
        cycle = cycle_of(begun.heating, vessel.hold_c, hold_s)
    holding, at = _hold(runs, begun.modes_c, hold_s)
    boiled = holding.boiled_kg[:, at]
    left = vessel.water_kg[:, None] - begun.vented_kg[:, None] - boiled
    return VesselHistory(
        hold_s=hold_s,
        cycle=cycle,
        boiled_kg=boiled,
        water_kg=np.maximum(left, 0.0),
        heat_j=begun.heat_j[:, None] + holding.heat_j[:, at],
        modes_c=holding.modes_c[:, :, at],
    )


def _hold(runs: Runs, modes: Floats, hold_s: Floats) -> tuple[Holding, NDArray[np.intp]]:
    fine = np.unique(np.concatenate([np.arange(0.0, hold_s[-1], _HOLD_STEP_S), hold_s]))
    return hold(runs.vessel, runs.draw, modes, fine), np.asarray(np.searchsorted(fine, hold_s))


def cooling_c(
    question: SterilizeQuestion,
    runs: Runs,
    history: VesselHistory,
    rows: Rows,
    places: Rows | None = None,
) -> Floats | None:
    """The canner's temperature after steam off, left to itself.

    Parameters
    ----------
    question : SterilizeQuestion
        Says the profile, and whether the transport is pinned [-].
    runs : Runs
        Scenarios [-].
    history : VesselHistory
        The canner at each steam off [-].
    rows : array
        The scenarios wanted [-].
    places : array, optional
        The holds wanted, by their places; all of them if not given [-].

    Returns
    -------
    array or None
        On `COOLING_TIME_S`, shape (rows, holds, instants); none for a step [°C].

    Notes
    -----
    With a pinned transport the reference cooling.
    """
    wanted = np.arange(len(history.hold_s)) if places is None else places
    if question.profile == "step":
        return None
    vessel, draw = runs.vessel.rows(rows), runs.draw.rows(rows)
    if question.pinned is not None:
        one = reference_cooling_c(vessel.hold_c, COOLING_TIME_S)
        return np.repeat(one[:, None, :], len(wanted), axis=1)
    modes, water = history.modes_c[rows], history.water_kg[rows]
    curves = [
        cool_down(vessel, draw, modes[:, :, place], water[:, place], COOLING_TIME_S)
        for place in wanted
    ]
    return np.stack(curves, axis=1)


def to_zero_s(runs: Runs, history: VesselHistory, hold_s: float) -> Floats:
    """Time from steam off to zero on the gauge: the boiling point of the place.

    Parameters
    ----------
    runs : Runs
        Scenarios [-].
    history : VesselHistory
        The canner at each steam off [-].
    hold_s : float
        The hold; the nearest of the history is taken [s].

    Returns
    -------
    array
        Shape (scenarios,) [s].

    Notes
    -----
    By the balance, whatever the transport is.
    """
    place = int(np.argmin(np.abs(history.hold_s - hold_s)))
    curve = cool_down(
        runs.vessel, runs.draw, history.modes_c[:, :, place], history.water_kg[:, place],
        _ZERO_TIME_S,
    )  # fmt: skip
    return time_below_s(_ZERO_TIME_S, curve, runs.vessel.boil_c)
