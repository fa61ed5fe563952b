"""What a hold does to the jars, for many holds at once: one trajectory serves them all.

Jars are heated once, to the end of the longest hold, and continued into the cooling from each
hold that is asked for. Checks and what is ignored: docs/models/sterilize.md.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from spawnwright.model.heat.bed import Bed, BedHistory
from spawnwright.model.heat.conduction import conduct, conduct_and_keep, continue_from
from spawnwright.model.heat.cycle import Cycle
from spawnwright.model.heat.porous_bed import continue_from as continue_wet_bed
from spawnwright.model.heat.porous_bed import heat_wet_bed_and_keep
from spawnwright.model.heat.steam import saturation_pressure_pa
from spawnwright.model.scenarios import Floats
from spawnwright.model.sterilizing.lethality import Z_C, lethality_curve_min

COOLING_TIME_S = 60.0 * np.concatenate(
    [np.arange(0, 16, 1.0), np.arange(16, 40, 3.0), np.arange(40, 90, 5.0), np.arange(90, 301, 15)]
)
"""Instants after steam off on which cooling jars are followed."""

_EVERY_INSTANT = np.arange(len(COOLING_TIME_S))
SLOW_INSTANTS = np.concatenate([[0, 4, 8, 12], np.arange(16, 34, 2), np.arange(34, 49)])
"""Instants close enough for jars in which heat only creeps."""

_WET_COOLING_S = 7200.0  # a bed with vapor follows the canner down: later adds nothing


@dataclass(frozen=True)
class HoldTable:
    """Results by scenario (rows) and hold (columns)."""

    hold_s: Floats
    """Shape (holds,), rising."""
    core_off_c: Floats
    f0_off_min: Floats
    f0_total_min: Floats
    coldest_total_min: Floats
    coldest_own_z_min: Floats
    """Lethality at the coldest point with the scenario's own z."""

    def at(self, hold_s: float) -> HoldTable:
        """The table at one hold, one column.

        Lethality is interpolated in its logarithm: it bends down there, so straight lines
        between two holds never say too much. Temperatures are interpolated straight.
        """
        return HoldTable(
            np.array([hold_s]),
            between(self.hold_s, self.core_off_c, hold_s),
            *(
                np.exp(between(self.hold_s, np.log(np.maximum(each, 1e-300)), hold_s))
                for each in (
                    self.f0_off_min, self.f0_total_min, self.coldest_total_min,
                    self.coldest_own_z_min,
                )
            ),
        )  # fmt: skip


def between(holds: Floats, values: Floats, hold_s: float) -> Floats:
    """Values by hold read at one hold on straight lines; beyond the ends, the end's.

    Parameters
    ----------
    holds : array
        Shape (holds,), rising [s].
    values : array
        Shape (scenarios, holds) [-].
    hold_s : float
        Where to read [s].

    Returns
    -------
    array
        Shape (scenarios, 1) [-].
    """
    right = int(np.clip(np.searchsorted(holds, hold_s), 1, max(len(holds) - 1, 1)))
    if len(holds) == 1:
        return values
    part = (hold_s - holds[right - 1]) / (holds[right] - holds[right - 1])
    part = float(np.clip(part, 0.0, 1.0))
    return np.asarray(values[:, [right - 1]] * (1 - part) + values[:, [right]] * part)


def conduction_table(
    bed: Bed,
    diffusivity_m2_s: Floats,
    start_c: Floats,
    z_c: Floats,
    cycle: Cycle,
    hold_s: Floats,
    cooling_c: Floats | None,
    cooled_from: NDArray[np.intp],
    instants: NDArray[np.intp] = _EVERY_INSTANT,
) -> HoldTable:
    """Results by hold of jars that conduct heat with one diffusivity each.

    Parameters
    ----------
    bed : Bed
        The jars, one a scenario [-].
    diffusivity_m2_s, start_c : array
        Shape (scenarios,) [m²/s], [°C].
    z_c : array
        z of the spores, shape (scenarios,) [K].
    cycle : Cycle
        Vessel temperatures to the end of the longest hold [-].
    hold_s : array
        Ends of holds, each one of the cycle's instants, shape (holds,) [s].
    cooling_c : array or None
        Vessel after these holds on `COOLING_TIME_S`, shape (scenarios, places, instants); none
        to count no cooling [°C].
    cooled_from : array of int
        Places of the holds that jars are cooled from; between them what cooling adds is
        interpolated in its logarithm [-].
    instants : array of int
        Places of the instants of `COOLING_TIME_S` to follow, 0 among them [-].

    Returns
    -------
    HoldTable
        Shape (scenarios, holds) each [-].

    Notes
    -----
    The coldest point is the lesser of two: the one that heating reaches last, and the end of the
    axis that is heated less, which cools first. That is within 0.3 % of F0 of the coldest of all.
    """
    off = hold_s[cooled_from]
    heated, state = conduct_and_keep(
        bed, diffusivity_m2_s, start_c, cycle.time_s, cycle.vessel_c, off
    )
    cooled = None
    if cooling_c is not None:
        cooled = continue_from(state, COOLING_TIME_S[instants], cooling_c[:, :, instants])
    return table_of(heated, cooled, z_c, hold_s, cooled_from)


def with_coldest_of_whole_run(
    table: HoldTable,
    bed: Bed,
    diffusivity_m2_s: Floats,
    start_c: Floats,
    z_c: Floats,
    cycle: Cycle,
    cooling_c: Floats,
) -> HoldTable:
    """The table of one scenario by conduction with its coldest point found over the whole run.

    Parameters
    ----------
    table : HoldTable
        Of one scenario [-].
    bed : Bed
        Its jar [-].
    diffusivity_m2_s, start_c, z_c : array
        Shape (1,) [m²/s], [°C], [K].
    cycle : Cycle
        Vessel temperatures to the end of the longest hold [-].
    cooling_c : array
        Vessel after each hold, shape (1, holds, instants) [°C].

    Returns
    -------
    HoldTable
        Coldest point over heating, hold and cooling together, for each hold [-].

    Notes
    -----
    While a jar cools, the grain next to the headspace cools first, and may end with less
    lethality than the point that heating reached last. Each hold is solved as a row of its own.
    """
    last = float(cycle.time_s[-1])
    time = np.concatenate([cycle.time_s, last + COOLING_TIME_S[1:]])
    vessel = np.stack(
        [
            np.where(
                time <= end,
                np.interp(time, cycle.time_s, cycle.vessel_c[0]),
                np.interp(time - end, COOLING_TIME_S, after),
            )
            for end, after in zip(table.hold_s, cooling_c[0], strict=True)
        ]
    )
    rows = len(table.hold_s)
    every = Bed(*(np.repeat(np.asarray(getattr(bed, each.name)), rows) for each in fields(Bed)))
    run = conduct(every, np.repeat(diffusivity_m2_s, rows), float(start_c[0]), time, vessel)
    return replace(
        table,
        coldest_total_min=lethality_curve_min(time, run.coldest_c)[None, :, -1],
        coldest_own_z_min=lethality_curve_min(time, run.coldest_c, z_c=z_c)[None, :, -1],
    )


@dataclass(frozen=True)
class WetBeds:
    """Wet beds to solve as one batch, arrays of shape (scenarios,), and how finely."""

    bed: Bed
    dry_conductivity_w_mk: Floats
    pore_factor: Floats
    ambient_pa: Floats
    start_c: Floats
    grid: tuple[int, int]
    longest_step_s: float


def vapor_table(
    beds: WetBeds,
    z_c: Floats,
    cycle: Cycle,
    hold_s: Floats,
    cooling_c: Floats | None,
    cooled_from: NDArray[np.intp],
) -> HoldTable:
    """Results by hold of jars in whose pores vapor carries heat.

    Parameters
    ----------
    beds : WetBeds
        The jars, one a scenario [-].
    z_c : array
        z of the spores, shape (scenarios,) [K].
    cycle : Cycle
        Vessel temperatures to the end of the longest hold [-].
    hold_s : array
        Ends of holds, each one of the cycle's instants [s].
    cooling_c : array or None
        Vessel after these holds on `COOLING_TIME_S`, shape (scenarios, places, instants) [°C].
    cooled_from : array of int
        Places of the holds that jars are cooled from; between them what cooling adds is
        interpolated in its logarithm, beyond them it is that of the nearest [-].

    Returns
    -------
    HoldTable
        Shape (scenarios, holds) each [-].

    Notes
    -----
    Pressure in the vessel: that of saturated steam at its temperature, at least the air's.
    """
    heated, state = heat_wet_bed_and_keep(
        beds.bed, beds.dry_conductivity_w_mk, beds.pore_factor, beds.start_c, cycle.time_s,
        cycle.vessel_c, _pressure_pa(cycle.vessel_c, beds.ambient_pa[:, None]),
        hold_s[cooled_from], grid=beds.grid, longest_step_s=beds.longest_step_s,
    )  # fmt: skip
    if cooling_c is None:
        return table_of(heated, None, z_c, hold_s, cooled_from)
    instants = int(np.searchsorted(COOLING_TIME_S, _WET_COOLING_S)) + 1
    after_c = cooling_c[:, :, :instants]
    cooled = continue_wet_bed(
        state, COOLING_TIME_S[:instants], after_c,
        _pressure_pa(after_c, beds.ambient_pa[:, None, None]), longest_step_s=beds.longest_step_s,
    )  # fmt: skip
    return table_of(heated, cooled, z_c, hold_s, cooled_from)


def _pressure_pa(vessel_c: Floats, ambient_pa: Floats) -> Floats:
    return np.asarray(np.maximum(saturation_pressure_pa(vessel_c), ambient_pa))


def _at_all(values: Floats, places: NDArray[np.intp], count: int) -> Floats:
    logs = np.log(np.maximum(values, 1e-12))
    columns = [between(places.astype(float), logs, float(place)) for place in range(count)]
    return np.asarray(np.exp(np.concatenate(columns, axis=1)))


def table_of(
    heated: BedHistory,
    cooled: BedHistory | None,
    z_c: Floats,
    hold_s: Floats,
    cooled_from: NDArray[np.intp],
) -> HoldTable:
    """Results by hold from the temperatures of heated and cooling beds.

    Parameters
    ----------
    heated : BedHistory
        Shape (scenarios, instants); the ends of holds are among the instants [-].
    cooled : BedHistory or None
        Shape (scenarios, places, instants), or none to count no cooling [-].
    z_c : array
        z of the spores, shape (scenarios,) [K].
    hold_s : array
        Ends of holds [s].
    cooled_from : array of int
        Places of the holds that `cooled` starts from; what cooling adds is interpolated between
        them in its logarithm, and beyond them it is that of the nearest [-].

    Returns
    -------
    HoldTable
        Shape (scenarios, holds) each [-].

    Notes
    -----
    All five hours of cooling count: below 90 °C they add a fiftieth of a minute at most.
    """
    ends = np.searchsorted(heated.time_s, hold_s - 1e-6)

    def delivered_min(point: str, z: Floats | float) -> Floats:
        at_off = lethality_curve_min(heated.time_s, getattr(heated, point), z_c=z)[:, ends]
        if cooled is None:
            return at_off
        along = np.asarray(z)[:, None] if np.ndim(z) else z
        gained = lethality_curve_min(cooled.time_s, getattr(cooled, point), z_c=along)[..., -1]
        return at_off + _at_all(gained, cooled_from, len(hold_s))

    return HoldTable(
        hold_s,
        heated.core_c[:, ends],
        lethality_curve_min(heated.time_s, heated.core_c)[:, ends],
        delivered_min("core_c", float(Z_C)),
        *(
            np.minimum(delivered_min("coldest_c", z), delivered_min("end_c", z))
            for z in (float(Z_C), z_c)
        ),
    )
