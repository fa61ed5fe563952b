"""The vessel: canner, water, glass and grain on a burner, as one balance of energy.

Metal, water and glass have one temperature, that of the steam; the grain in the jars draws heat
behind it. Pure functions, one row a scenario, SI. The jars' surroundings are taken to be as warm
as the water from the start: before steam fills the canner they are cooler, so the time to the
jet comes out somewhat long and the draw of the jars just after it somewhat low.
Range, checks and what is ignored: docs/models/vessel.md.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import pi

import numpy as np

from spawnwright.errors import Unusable
from spawnwright.model.heat.draw import Draw, Rows, advance_modes, mode_response
from spawnwright.model.heat.steam import latent_heat_j_kg
from spawnwright.model.scenarios import Floats
from spawnwright.sources import JUDGMENT, Constant, Estimate

WATER_J_KG_K = Constant(4200.0, "J/(kg K)", source="CRCHandbook", where="water, 20 to 120 °C")
GLASS_J_KG_K = Constant(840.0, "J/(kg K)", source="CRCHandbook", where="soda-lime glass")
VENT_S = Constant(600.0, "s", source="USDA539", where="vent 10 minutes in a steady jet")
LOSS_W_M2_K = Estimate(
    7.8, "W/(m² K)", low=6.3, high=10.0, source=JUDGMENT,
    where="natural convection 6.0 and radiation at emissivity 0.1 to 0.3 by 22 °C, or a draft",
)  # fmt: skip

_HEAT_STEPS, _PRESSURE_STEPS, _VENT_STEPS = 10, 5, 5


@dataclass(frozen=True)
class Vessel:
    """What one scenario's canner is, each of shape (scenarios,)."""

    metal_and_glass_j_k: Floats
    water_kg: Floats
    loss_w_k: Floats
    room_c: Floats
    start_c: Floats
    power_w: Floats
    """Heat that reaches the pot at full burner."""
    boil_c: Floats
    """Boiling point of the place: where venting happens."""
    hold_c: Floats
    """Temperature of the steam at the gauge pressure of the hold."""
    spare_w: Floats
    """Heat beyond the losses in the hold: it leaves as steam past the weight."""

    def rows(self, chosen: Rows) -> Vessel:
        """Some of the scenarios."""
        return Vessel(*(getattr(self, each.name)[chosen] for each in fields(self)))


@dataclass(frozen=True)
class Heating:
    """From burner on to pressure reached, rows are scenarios, columns instants."""

    time_s: Floats
    vessel_c: Floats
    modes_c: Floats
    """State of the jars' modes when pressure is reached, shape (scenarios, modes)."""
    to_jet_s: Floats
    """Burner on to boiling."""
    vented_kg: Floats
    heat_j: Floats
    """Heat that reached the pot."""
    lost_j: Floats
    """Heat that the walls gave to the room."""

    @property
    def come_up_s(self) -> Floats:
        """Burner on to pressure reached [s]."""
        return np.asarray(self.time_s[:, -1])


def outer_area_m2(inner_diameter_m: float, inside_height_m: float) -> float:
    """Surface that loses heat to the room: side and lid; the bottom stands on the burner.

    Parameters
    ----------
    inner_diameter_m : float
        Diameter of the canner [m].
    inside_height_m : float
        Its height [m].

    Returns
    -------
    float
        Area [m²].

    Notes
    -----
    π D H + π D² / 4. Handles and lid rim are left out: a few percent low.
    """
    return pi * inner_diameter_m * inside_height_m + pi / 4 * inner_diameter_m**2


def heat_up(vessel: Vessel, draw: Draw, vent_s: float = VENT_S) -> Heating:
    """Heat a loaded canner to boiling, vent it, bring it to pressure, all at full burner.

    Parameters
    ----------
    vessel : Vessel
        Canner and burner, one row a scenario [-].
    draw : Draw
        The jars in it [-].
    vent_s : float
        Time that a steady jet is let out [s].

    Returns
    -------
    Heating
        Temperatures on shared columns, each scenario with its own instants [-].

    Raises
    ------
    Unusable
        If the burner cannot make steam against the losses at the pressure of the hold.

    Notes
    -----
    P dt = C dT + dE(jars) + U (T - room) dt, in equal steps of temperature, within each of which
    the vessel warms evenly and the jars' modes are solved exactly; while venting the temperature
    stands and what is left over boils off water. Balance closed by construction.
    """
    spare = vessel.power_w - vessel.loss_w_k * (vessel.hold_c - vessel.room_c)
    if np.any(spare <= 0):
        raise Unusable(
            f"A burner that brings {float(np.min(vessel.power_w)):.0f} W into the canner cannot "
            "hold this pressure against what the walls lose; use a stronger burner."
        )
    tally = _Tally(vessel, draw)
    tally.warm_to(vessel.boil_c, _HEAT_STEPS)
    to_jet = tally.times[-1]
    tally.boil(vent_s, _VENT_STEPS)
    tally.warm_to(vessel.hold_c, _PRESSURE_STEPS)
    return Heating(
        time_s=np.stack(tally.times, axis=1),
        vessel_c=np.stack(tally.temperatures, axis=1),
        modes_c=tally.modes,
        to_jet_s=to_jet,
        vented_kg=vessel.water_kg - tally.water_kg,
        heat_j=vessel.power_w * tally.times[-1],
        lost_j=tally.lost_j,
    )


class _Tally:
    """The state of all scenarios while they are heated, and the columns so far."""

    def __init__(self, vessel: Vessel, draw: Draw) -> None:
        self.vessel, self.draw = vessel, draw
        self.water_kg = vessel.water_kg.copy()
        self.modes = np.repeat(vessel.start_c[:, None], draw.modes, axis=1)
        self.times = [np.zeros_like(vessel.start_c)]
        self.temperatures = [vessel.start_c]
        self.lost_j = np.zeros_like(vessel.start_c)

    def warm_to(self, target_c: Floats, steps: int) -> None:
        rise = (target_c - self.temperatures[-1]) / steps
        for _ in range(steps):
            before = self.temperatures[-1]
            capacity = self.vessel.metal_and_glass_j_k + WATER_J_KG_K * self.water_kg
            loss_w = self.vessel.loss_w_k * (before + rise / 2 - self.vessel.room_c)
            step = self._time_of_rise(before, rise, capacity * rise, self.vessel.power_w - loss_w)
            self._keep(step, before + rise, loss_w)

    def boil(self, duration_s: float, steps: int) -> None:
        step = np.full_like(self.water_kg, duration_s / steps)
        boil = self.temperatures[-1]
        loss_w = self.vessel.loss_w_k * (boil - self.vessel.room_c)
        latent = latent_heat_j_kg(boil)
        for _ in range(steps):
            mean = self.draw.mean(self.modes)
            self._keep(step, boil, loss_w)
            drawn = self.draw.capacity_j_k * (self.draw.mean(self.modes) - mean)
            left_over = (self.vessel.power_w - loss_w) * step - drawn
            self.water_kg = self.water_kg - np.maximum(left_over, 0.0) / latent

    def _time_of_rise(
        self, before: Floats, rise: Floats, heat_j: Floats, power_w: Floats
    ) -> Floats:
        """Time in which the vessel warms by `rise`; Newton's method from above, where it is sure.

        The jars' uptake grows ever more slowly with time, so the remainder is convex.
        """
        rate = self._rates(before, rise)
        lag = before[:, None] - self.modes
        full = self.draw.capacity_j_k * self.draw.mean(lag + rise[:, None])
        time = (heat_j + np.maximum(full, 0.0)) / power_w
        for _ in range(5):
            decay = rate * time[:, None]
            gone = -np.expm1(-decay)
            taken = lag * gone + rise[:, None] * (1 - gone / decay)
            slope = lag * rate * (1 - gone) + rise[:, None] * (
                (gone - decay * (1 - gone)) / (decay * time[:, None])
            )
            remainder = power_w * time - heat_j - self.draw.capacity_j_k * self.draw.mean(taken)
            time = time - remainder / (power_w - self.draw.capacity_j_k * self.draw.mean(slope))
        return time

    def _rates(self, before: Floats, rise: Floats) -> Floats:
        mean = self.draw.mean(self.modes)
        diffusivity = self.draw.diffusivity_m2_s(before + rise / 2, mean)
        return np.asarray(self.draw.rate_m2 * diffusivity[:, None])

    def _keep(self, step: Floats, after: Floats, loss_w: Floats) -> None:
        before = self.temperatures[-1]
        rate = self._rates(before, after - before)
        self.modes = advance_modes(self.modes, rate, step, before, after)
        self.times.append(self.times[-1] + step)
        self.temperatures.append(np.broadcast_to(after, step.shape))
        self.lost_j = self.lost_j + loss_w * step


@dataclass(frozen=True)
class Holding:
    """The hold, at each of some instants after pressure is reached (last axis)."""

    modes_c: Floats
    """Shape (scenarios, modes, instants)."""
    boiled_kg: Floats
    heat_j: Floats
    """Heat that reached the pot, turned down to losses, jars and spare."""


def hold(vessel: Vessel, draw: Draw, modes_c: Floats, time_s: Floats) -> Holding:
    """Keep the pressure with the burner turned down.

    Parameters
    ----------
    vessel : Vessel
        Canner and burner [-].
    draw : Draw
        The jars [-].
    modes_c : array
        State of the jars' modes when pressure was reached [°C].
    time_s : array
        Instants from there on, rising from 0 [s].

    Returns
    -------
    Holding
        State, water boiled off and heat used at those instants [-].

    Notes
    -----
    Burner = wall loss + what the jars draw + spare; water boiled off = spare / latent heat. A
    burner too weak for the spare gives what it has. Between instants the diffusivity stands.
    """
    latent = latent_heat_j_kg(vessel.hold_c)
    loss_w = vessel.loss_w_k * (vessel.hold_c - vessel.room_c)
    states, boiled, heat = [modes_c], [np.zeros_like(loss_w)], [np.zeros_like(loss_w)]
    for length in np.diff(np.asarray(time_s)):
        step = np.full_like(loss_w, length)
        mean = draw.mean(states[-1])
        rate = draw.rate_m2 * draw.diffusivity_m2_s(vessel.hold_c, mean)[:, None]
        after = advance_modes(states[-1], rate, step, vessel.hold_c, vessel.hold_c)
        drawn = draw.capacity_j_k * (draw.mean(after) - mean)
        spare = np.clip(
            vessel.power_w * length - loss_w * length - drawn, 0.0, vessel.spare_w * length
        )
        states.append(after)
        boiled.append(boiled[-1] + spare / latent)
        heat.append(heat[-1] + loss_w * length + drawn + spare)
    return Holding(np.stack(states, axis=2), np.stack(boiled, axis=1), np.stack(heat, axis=1))


def cool_down(
    vessel: Vessel, draw: Draw, modes_c: Floats, water_kg: Floats, time_s: Floats
) -> Floats:
    """Temperature of a shut canner left to itself, jars giving their heat back.

    Parameters
    ----------
    vessel : Vessel
        Canner; it starts at the temperature of the hold [-].
    draw : Draw
        The jars [-].
    modes_c : array
        State of their modes at steam off [°C].
    water_kg : array
        Water still in the canner [kg].
    time_s : array
        Instants after steam off, rising from 0 [s].

    Returns
    -------
    array
        Vessel temperature, shape (scenarios, instants) [°C].

    Notes
    -----
    C dT/dt = -U (T - room) - heat into the jars, one linear step between instants, jars exact.
    The core of a slow bed is still warming then: its draw cools the vessel faster at first.
    """
    capacity = vessel.metal_and_glass_j_k + WATER_J_KG_K * water_kg
    modes, temperatures = modes_c, [vessel.hold_c]
    for length in np.diff(np.asarray(time_s)):
        step = np.full_like(capacity, length)
        before, mean = temperatures[-1], draw.mean(modes)
        rate = draw.rate_m2 * draw.diffusivity_m2_s(before, mean)[:, None]
        kept, followed = mode_response(rate, step)
        at_rest = draw.capacity_j_k * draw.mean((before[:, None] - modes) * (1 - kept))
        per_kelvin = draw.capacity_j_k * draw.mean(followed)
        loss = vessel.loss_w_k * length
        fall = (-loss * (before - vessel.room_c) - at_rest) / (capacity + per_kelvin + loss / 2)
        after = before + fall
        modes = advance_modes(modes, rate, step, before, after)
        temperatures.append(after)
    return np.stack(temperatures, axis=1)


def time_below_s(time_s: Floats, temperature_c: Floats, threshold_c: Floats) -> Floats:
    """Instant after which a falling temperature is at or below a threshold, on straight lines.

    Parameters
    ----------
    time_s : array
        Instants, shape (instants,) [s].
    temperature_c : array
        Temperatures, shape (scenarios, instants) [°C].
    threshold_c : array
        Threshold, one a scenario [°C].

    Returns
    -------
    array
        That instant; the last one given if it is not reached [s].

    Notes
    -----
    The last crossing counts, so a core that still climbs first is followed to its fall.
    """
    times = np.asarray(time_s, dtype=np.float64)
    above = temperature_c > np.asarray(threshold_c)[:, None]
    last = np.where(above.any(axis=1), above.shape[1] - 1 - above[:, ::-1].argmax(axis=1), -1)
    rows = np.arange(len(last))
    at, after = np.maximum(last, 0), np.minimum(last + 1, len(times) - 1)
    high, low = temperature_c[rows, at], temperature_c[rows, after]
    span = np.where(high > low, high - low, 1.0)
    part = np.where(high > low, (high - np.asarray(threshold_c)) / span, 0.0)
    reached = times[at] + (times[after] - times[at]) * np.clip(part, 0.0, 1.0)
    return np.asarray(np.where(last < 0, times[0], reached))
