"""The vessel of a run that is watched: its temperature from what was noted, scenario by scenario.

Time zero is the moment pressure was reached. What was noted takes the place of what the vessel's
balance would say; between two notes the balance fills in. Checks and what is ignored:
docs/models/run-clock.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from spawnwright.model.canner.sterilizer_run import Runs
from spawnwright.model.canner.vessel import (
    VENT_S,
    WATER_J_KG_K,
    Heating,
    cool_down,
    time_below_s,
)
from spawnwright.model.heat.draw import advance_modes
from spawnwright.model.heat.steam import (
    latent_heat_j_kg,
    saturation_pressure_pa,
    saturation_temperature_c,
)
from spawnwright.model.scenarios import Floats

FALL_TIME_S = 60.0 * np.concatenate(
    [np.arange(0, 30, 1.0), np.arange(30, 90, 3.0), np.arange(90, 601, 15)]
)
_LEAST_WATER_KG = 0.2
_LEAST_S, _LEAST_FALL_K = 1.0, 0.05


@dataclass(frozen=True)
class Lost:
    """Pressure lost at one instant and back at another, counted from pressure reached [s]."""

    at_s: float
    share: float | None
    """What the gauge still showed, as a share of the hold's, if somebody read it [-]."""
    back_s: Floats | float | None
    """One for all scenarios, or each its own."""


@dataclass(frozen=True)
class Noted:
    """The instants of a run that were noted, counted from pressure reached [s]."""

    heat_on_s: float | None = None
    jet_s: float | None = None
    closed_s: float | None = None
    lost: tuple[Lost, ...] = ()
    off_s: float | None = None
    zero_s: float | None = None


def come_up_instants_s(heating: Heating, noted: Noted) -> Floats:
    """When each scenario's come-up passed its steps, stretched to what was noted.

    Parameters
    ----------
    heating : Heating
        The come-up by the balance [-].
    noted : Noted
        What was noted; missing instants keep the balance's own distances [-].

    Returns
    -------
    array
        Instants that belong to `heating.vessel_c`, the last one 0, shape as there [s].
    """
    own = heating.time_s - heating.come_up_s[:, None]
    to_jet = heating.to_jet_s - heating.come_up_s
    closed = to_jet + float(VENT_S)
    jet_at = None if noted.jet_s is None else np.full_like(to_jet, noted.jet_s)
    if noted.closed_s is not None:
        closed_at = np.full_like(closed, noted.closed_s)
    else:
        least = -np.inf if jet_at is None else jet_at
        closed_at = np.minimum(np.maximum(closed, least), -_LEAST_S)
    if jet_at is None:
        jet_at = closed_at - float(VENT_S)
    start_at = jet_at - heating.to_jet_s
    if noted.heat_on_s is not None:
        start_at = np.full_like(to_jet, noted.heat_on_s)
        jet_at = np.maximum(jet_at, start_at)
        closed_at = np.maximum(closed_at, jet_at)
    before = np.stack([own[:, 0], to_jet, closed, np.zeros_like(closed)], axis=1)
    after = np.stack([start_at, jet_at, closed_at, np.zeros_like(closed)], axis=1)
    return np.stack(
        [np.interp(row, old, new) for row, old, new in zip(own, before, after, strict=True)]
    )


def run_vessel_c(every: Runs, heating: Heating, noted: Noted, time_s: Floats) -> Floats:
    """Temperature of the vessel over a run.

    Parameters
    ----------
    every : Runs
        Scenarios [-].
    heating : Heating
        Their come-up by the balance [-].
    noted : Noted
        What was noted [-].
    time_s : array
        Instants, rising, 0 when pressure was reached [s].

    Returns
    -------
    array
        Shape (scenarios, instants) [°C].

    Notes
    -----
    Where pressure was lost the canner cools by its balance; a reading of the gauge says where it
    stood, and the fall is taken to have begun before that, as long ago as the balance needs for
    it. It rises at the last moment at which the burner could still have brought it back, with
    the jars taking nothing: this errs to the cool side.
    """
    instants = come_up_instants_s(heating, noted)
    vessel = np.stack(
        [
            np.where(time_s < 0, np.interp(time_s, row, warm), hold)
            for row, warm, hold in zip(instants, heating.vessel_c, every.vessel.hold_c, strict=True)
        ]
    )
    known_s = 0.0
    for lost in noted.lost:
        fall = _fall(every, time_s, vessel, lost, known_s, heating)
        vessel = np.where(time_s > known_s, np.minimum(vessel, fall), vessel)
        known_s = lost.at_s if lost.back_s is None else float(np.max(lost.back_s))
    if noted.off_s is not None:
        vessel = _cooled(every, heating, time_s, vessel, noted)
    return vessel


def rise_k_s(every: Runs) -> Floats:
    """How fast the burner brings a canner that lost pressure back, jars taking nothing.

    Parameters
    ----------
    every : Runs
        Scenarios [-].

    Returns
    -------
    array
        Shape (scenarios,) [K/s].
    """
    vessel = every.vessel
    spare = vessel.power_w - vessel.loss_w_k * (vessel.hold_c - vessel.room_c)
    return np.asarray(spare / (vessel.metal_and_glass_j_k + WATER_J_KG_K * vessel.water_kg))


def _fall(
    every: Runs, time_s: Floats, vessel_c: Floats, lost: Lost, known_s: float, heating: Heating
) -> Floats:
    """The vessel from where pressure was lost to where it was back, infinite elsewhere."""
    curve = free_fall_c(every, heating, time_s, vessel_c, lost.at_s)
    start = np.full_like(every.vessel.hold_c, lost.at_s)
    stretch = np.ones_like(start)
    if lost.share is not None:
        needed = time_below_s(FALL_TIME_S, curve, _at_share_c(every, lost.share))
        start = np.maximum(lost.at_s - needed, known_s)
        stretch = np.maximum(lost.at_s - start, _LEAST_S) / np.maximum(needed, _LEAST_S)
    since = time_s[None, :] - start[:, None]
    until = lost.at_s - start[:, None]
    own = np.where(since <= until, since / stretch[:, None],
                   until / stretch[:, None] + since - until)  # fmt: skip
    fall = _read(curve, np.maximum(own, 0.0))
    fall = np.where(since < 0, np.inf, fall)
    if lost.back_s is None:
        return fall
    back = np.broadcast_to(np.asarray(lost.back_s, np.float64), start.shape)[:, None]
    rise = every.vessel.hold_c[:, None] - rise_k_s(every)[:, None] * (back - time_s)
    return np.where(time_s >= back, np.inf, np.maximum(fall, rise))


def _at_share_c(every: Runs, share: float) -> Floats:
    """Steam at a share of the hold's gauge pressure, by saturation above the air outside."""
    hold_pa = saturation_pressure_pa(every.vessel.hold_c)
    ambient = np.minimum(every.ambient_pa, hold_pa)
    lower = saturation_temperature_c(ambient + share * (hold_pa - ambient))
    return np.asarray(np.minimum(lower, every.vessel.hold_c - _LEAST_FALL_K))


def free_fall_c(
    every: Runs,
    heating: Heating,
    time_s: Floats,
    vessel_c: Floats,
    at_s: float,
    fall_time_s: Floats = FALL_TIME_S,
) -> Floats:
    """The canner left to itself from an instant on, jars giving their heat back.

    Parameters
    ----------
    every : Runs
        Scenarios [-].
    heating : Heating
        Their come-up, for the water that it cost [-].
    time_s : array
        Instants of the curve before, 0 when pressure was reached [s].
    vessel_c : array
        That curve, shape (scenarios, instants) [°C].
    at_s : float
        From when on it is left to itself [s].
    fall_time_s : array
        Instants counted from then, rising from 0 [s].

    Returns
    -------
    array
        Shape (scenarios, instants after) [°C].

    Notes
    -----
    `vessel.cool_down`, with the jars' draw followed along the curve.
    """
    modes = _modes_at(every, time_s, vessel_c, at_s)
    latent = latent_heat_j_kg(every.vessel.hold_c)
    boiled = every.vessel.spare_w * max(at_s, 0.0) / latent
    water = np.maximum(every.vessel.water_kg - heating.vented_kg - boiled, _LEAST_WATER_KG)
    now_c = np.array([np.interp(at_s, time_s, row) for row in vessel_c])
    return cool_down(replace(every.vessel, hold_c=now_c), every.draw, modes, water, fall_time_s)


def _modes_at(every: Runs, time_s: Floats, vessel_c: Floats, at_s: float) -> Floats:
    """State of the jars' modes at an instant, along the vessel's curve."""
    draw = every.draw
    modes = np.repeat(every.vessel.start_c[:, None], draw.modes, axis=1)
    end = int(np.searchsorted(time_s, at_s, side="right"))
    for place in range(1, end):
        before, after = vessel_c[:, place - 1], vessel_c[:, place]
        step = np.full_like(before, time_s[place] - time_s[place - 1])
        mean = draw.mean(modes)
        rate = draw.rate_m2 * draw.diffusivity_m2_s((before + after) / 2, mean)[:, None]
        modes = advance_modes(modes, rate, step, before, after)
    return modes


def _cooled(
    every: Runs, heating: Heating, time_s: Floats, vessel_c: Floats, noted: Noted
) -> Floats:
    """The curve with the cooling from heat off on, stretched to where zero was seen."""
    assert noted.off_s is not None
    off = noted.off_s
    curve = free_fall_c(every, heating, time_s, vessel_c, off)
    since = np.maximum(time_s - off, 0.0)[None, :]
    if noted.zero_s is not None:
        needed = time_below_s(FALL_TIME_S, curve, every.vessel.boil_c)[:, None]
        seen = max(noted.zero_s - off, _LEAST_S)
        since = np.where(since <= seen, since * needed / seen, needed + since - seen)
    return np.where(time_s > off, _read(curve, since), vessel_c)


def _read(curve: Floats, own_s: Floats) -> Floats:
    rows: Sequence[Floats] = [
        np.interp(row, FALL_TIME_S, each)
        for row, each in zip(np.broadcast_to(own_s, (len(curve), own_s.shape[-1])), curve,
                             strict=True)
    ]  # fmt: skip
    return np.stack(rows)
