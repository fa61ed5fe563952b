"""The temperature of the vessel over a run, on instants that all scenarios share.

Time zero is the moment pressure is reached. Jars are followed on these knots, straight between.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spawnwright.errors import Unusable
from spawnwright.model.canner.vessel import Heating
from spawnwright.model.scenarios import Floats
from spawnwright.sources import JUDGMENT, Constant

REFERENCE_TO_BOIL_S = Constant(900.0, "s", source=JUDGMENT, where="reference cycle: 15 min")
REFERENCE_VENT_S = Constant(600.0, "s", source="USDA539", where="reference cycle: vent 10 min")
REFERENCE_TO_PRESSURE_S = Constant(300.0, "s", source="USDA539", where="reference cycle: 5 min")
REFERENCE_COME_UP_S = REFERENCE_TO_BOIL_S + REFERENCE_VENT_S + REFERENCE_TO_PRESSURE_S
REFERENCE_COOLING_S = Constant(
    142 * 60.0, "s", source=JUDGMENT, where="reference cycle: time constant of cooling, 142 min"
)
REFERENCE_ROOM_C = Constant(25.0, "°C", source=JUDGMENT, where="reference cycle: cools toward")


@dataclass(frozen=True)
class Cycle:
    """Vessel temperatures until the end of the longest hold, shape (scenarios, instants)."""

    time_s: Floats
    """Shared by all scenarios; the last is the end of the longest hold."""
    vessel_c: Floats


def hold_knots_s(marks_s: Floats) -> Floats:
    """Instants of a hold on which jars are followed: close at first, wider when all is slow.

    Parameters
    ----------
    marks_s : array
        Instants that must be among them, such as ends of holds; above 0 [s].

    Returns
    -------
    array
        Rising, from 0 to the last mark [s].

    Notes
    -----
    One minute apart for the first half hour, two to two hours, four beyond: F0 summed over
    straight pieces is then within 0.1 % of that of the curve.
    """
    last = float(np.max(marks_s))
    grid = np.concatenate(
        [np.arange(0, 1800, 60), np.arange(1800, 7200, 120), np.arange(7200, last + 240, 240)]
    )
    # A grid instant that a mark nearly meets gives way to it.
    far = np.min(np.abs(grid[:, None] - np.asarray(marks_s)[None, :]), axis=1) > 15.0
    kept = grid[(far | (grid == 0)) & (grid < last)]
    return np.unique(np.concatenate([kept, marks_s]))


def cycle_of(heating: Heating, hold_c: Floats, marks_s: Floats, knots: int = 40) -> Cycle:
    """The vessel's curve from the earliest burner on to the end of the longest hold.

    Parameters
    ----------
    heating : Heating
        Each scenario's way to pressure, on its own instants [-].
    hold_c : array
        Steam in the hold, shape (scenarios,) [°C].
    marks_s : array
        Ends of holds that are asked for [s].
    knots : int
        Instants before pressure is reached [-].

    Returns
    -------
    Cycle
        On shared instants; before its burner is lit a scenario stands at its start.

    Notes
    -----
    Bends between two shared instants are cut straight: some tenths of a degree for a minute,
    when the core of a jar has not felt it.
    """
    longest = float(np.max(heating.come_up_s))
    before = -longest * (np.linspace(1.0, 0.0, knots + 1)[:-1]) ** 1.2
    after = hold_knots_s(marks_s)
    time = np.concatenate([before, after])
    vessel = np.empty((len(hold_c), len(time)))
    for row, (times, temperatures) in enumerate(
        zip(heating.time_s - heating.come_up_s[:, None], heating.vessel_c, strict=True)
    ):
        vessel[row, :knots] = np.interp(before, times, temperatures)
    vessel[:, knots:] = hold_c[:, None]
    return Cycle(time, vessel)


def reference_cycle(start_c: Floats, boil_c: Floats, hold_c: Floats, marks_s: Floats) -> Cycle:
    """The reference cycle: 15 min to boiling, 10 min there, 5 min to pressure, the hold.

    Parameters
    ----------
    start_c, boil_c, hold_c : array
        Temperatures of start, boiling and hold, shape (scenarios,) [°C].
    marks_s : array
        Ends of holds that are asked for [s].

    Returns
    -------
    Cycle
        Its corners and the knots of the hold.

    Notes
    -----
    A definition, not a model: for comparing with published and outside computations.
    """
    corners = np.cumsum([0.0, REFERENCE_TO_BOIL_S, REFERENCE_VENT_S, REFERENCE_TO_PRESSURE_S])
    extra = np.arange(60.0, float(corners[-1]), 60.0)
    heating = np.unique(np.concatenate([corners, extra]))
    by_corner = np.stack([start_c, boil_c, boil_c, hold_c], axis=1)
    after = hold_knots_s(marks_s)
    time = np.concatenate([heating[:-1] - heating[-1], after])
    vessel = np.empty((len(hold_c), len(time)))
    for row, temperatures in enumerate(by_corner):
        vessel[row, : len(heating) - 1] = np.interp(heating[:-1], corners, temperatures)
    vessel[:, len(heating) - 1 :] = hold_c[:, None]
    return Cycle(time, vessel)


def reference_cooling_c(hold_c: Floats, time_s: Floats) -> Floats:
    """The reference cooling: exponential toward 25 °C with a time constant of 142 min.

    Parameters
    ----------
    hold_c : array
        Steam in the hold, shape (scenarios,) [°C].
    time_s : array
        Instants after steam off [s].

    Returns
    -------
    array
        Shape (scenarios, instants) [°C].

    Notes
    -----
    A definition; a loaded canner of 22 L comes near it.
    """
    room = float(REFERENCE_ROOM_C)
    return room + (hold_c - room)[:, None] * np.exp(-time_s / float(REFERENCE_COOLING_S))


def step_cycle(hold_c: Floats, marks_s: Floats) -> Cycle:
    """Full steam from time zero, as in textbook sums.

    Parameters
    ----------
    hold_c : array
        Steam, shape (scenarios,) [°C].
    marks_s : array
        Ends of holds that are asked for [s].

    Returns
    -------
    Cycle
        Constant; the jar's own start makes the step.

    Raises
    ------
    Unusable
        If a mark is not above zero.
    """
    if np.any(np.asarray(marks_s) <= 0):
        raise Unusable("A hold must be longer than 0 min.")
    time = hold_knots_s(marks_s)
    return Cycle(time, np.repeat(hold_c[:, None], len(time), axis=1))
