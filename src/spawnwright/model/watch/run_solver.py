"""The jars of a run that is watched, solved fast: a few dozen scenarios, either transport."""

from __future__ import annotations

import numpy as np

from spawnwright.model.canner.sterilizer_run import Runs
from spawnwright.model.heat.conduction import conduct_and_keep, continue_from
from spawnwright.model.heat.porous_bed import continue_from as continue_wet_bed
from spawnwright.model.heat.porous_bed import heat_wet_bed_and_keep
from spawnwright.model.heat.steam import saturation_pressure_pa
from spawnwright.model.scenarios import Floats
from spawnwright.model.sterilizing.hold_table import COOLING_TIME_S
from spawnwright.model.sterilizing.lethality import lethality_curve_min

_GRID, _LONGEST_STEP_S = (6, 8), 180.0


def solve_run(
    every: Runs, time_s: Floats, vessel_c: Floats, off_s: float, cooling_c: Floats | None
) -> tuple[Floats, Floats, Floats]:
    """Core and coldest point of the jars in all scenarios, and F0 at the core with cooling.

    Parameters
    ----------
    every : Runs
        Scenarios [-].
    time_s : array
        Instants, rising, 0 when pressure was reached [s].
    vessel_c : array
        Vessel, shape (scenarios, instants) [°C].
    off_s : float
        Heat off, noted or planned [s].
    cooling_c : array or None
        Vessel after a planned heat off on `COOLING_TIME_S`; none if `vessel_c` holds the cooling
        already [°C].

    Returns
    -------
    tuple of array
        Core and coldest point, shape (scenarios, instants) [°C], and F0, (scenarios,) [min].

    Notes
    -----
    Beds with vapor on a coarse grid and long steps: F0 some percent high where pores are open, up
    to a fifth high where they are narrow, far inside its band.
    """
    core, coldest = np.empty_like(vessel_c), np.empty_like(vessel_c)
    kept = np.empty(len(vessel_c))
    creeps = every.is_conduction.astype(bool)
    off = np.array([min(off_s, float(time_s[-1]))])
    for chosen, is_conduction in ((creeps, True), (~creeps, False)):
        if not chosen.any():
            continue
        some, warm = every.rows(chosen), vessel_c[chosen]
        after = None if cooling_c is None else cooling_c[chosen]
        heated, cooled = (_conducted if is_conduction else _by_vapor)(
            some, time_s, warm, off, after
        )
        core[chosen], coldest[chosen] = heated[0], np.minimum(*heated)
        until = np.append(time_s[time_s < off[0]], off[0])
        past = np.stack([np.interp(until, time_s, row) for row in heated[0]])
        kept[chosen] = lethality_curve_min(until, past)[:, -1]
        if cooled is None:
            kept[chosen] = lethality_curve_min(time_s, heated[0])[:, -1]
        else:
            kept[chosen] += lethality_curve_min(COOLING_TIME_S, cooled)[:, -1]
    return core, coldest, kept


Solved = tuple[tuple[Floats, Floats], Floats | None]


def _conducted(
    some: Runs, time_s: Floats, vessel_c: Floats, off_s: Floats, cooling_c: Floats | None
) -> Solved:
    heated, state = conduct_and_keep(
        some.bed, some.diffusivity_m2_s, some.vessel.start_c, time_s, vessel_c, off_s
    )
    if cooling_c is None:
        return (heated.core_c, heated.coldest_c), None
    cooled = continue_from(state, COOLING_TIME_S, cooling_c[:, None, :])
    return (heated.core_c, heated.coldest_c), cooled.core_c[:, 0]


def _by_vapor(
    some: Runs, time_s: Floats, vessel_c: Floats, off_s: Floats, cooling_c: Floats | None
) -> Solved:
    def pressure_pa(warm_c: Floats) -> Floats:
        return np.asarray(np.maximum(saturation_pressure_pa(warm_c), some.ambient_pa[:, None]))

    heated, state = heat_wet_bed_and_keep(
        some.bed, some.dry_conductivity_w_mk, some.pore_factor, some.vessel.start_c, time_s,
        vessel_c, pressure_pa(vessel_c), off_s, grid=_GRID, longest_step_s=_LONGEST_STEP_S,
    )  # fmt: skip
    if cooling_c is None:
        return (heated.core_c, heated.coldest_c), None
    cooled = continue_wet_bed(
        state, COOLING_TIME_S, cooling_c[:, None, :], pressure_pa(cooling_c)[:, None, :],
        longest_step_s=_LONGEST_STEP_S,
    )  # fmt: skip
    return (heated.core_c, heated.coldest_c), cooled.core_c[:, 0]
