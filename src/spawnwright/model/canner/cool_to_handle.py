"""How long until the jars may be inoculated: the core cool, canner left shut or opened warm."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spawnwright.model.canner.sterilizer_run import Runs
from spawnwright.model.canner.vessel import cool_down, time_below_s
from spawnwright.model.canner.vessel_history import VesselHistory
from spawnwright.model.heat.conduction import conduct
from spawnwright.model.heat.liquid import follow
from spawnwright.model.scenarios import Floats, band
from spawnwright.model.sterilizing.hold_table import HoldTable
from spawnwright.records.band import Band
from spawnwright.sources import COMMON, JUDGMENT, Constant

COOL_ENOUGH_C = Constant(
    28.0, "°C", source=COMMON, where="warmest core at which a liquid culture goes in"
)
ABOVE_ROOM_K = Constant(3.0, "K", source=COMMON, where="or this much above the room, if warmer")
AIR_FILM_W_M2_K = Constant(
    8.0, "W/(m² K)", source=JUDGMENT, where="jar in still air: convection and radiation"
)
WAIT_AT_ZERO_S = Constant(
    600.0, "s", source="USDA539", where="wait 10 minutes at zero before the lid is opened"
)
_ROWS = 64
_TIME_S = np.concatenate([[0.0], np.geomspace(120.0, 48 * 3600.0, 45)])


@dataclass(frozen=True)
class Handling:
    """Time from steam off until the core is cool, two ways."""

    overnight_s: Band
    opened_warm_s: Band


def handling_temperature_c(room_c: float) -> float:
    """The warmest core that may be inoculated.

    Parameters
    ----------
    room_c : float
        Temperature of the room [°C].

    Returns
    -------
    float
        28 °C, or 3 °C above the room if that is more [°C].
    """
    return max(float(COOL_ENOUGH_C), room_c + float(ABOVE_ROOM_K))


def cool_to_handle(
    room_c: float, runs: Runs, history: VesselHistory, at: HoldTable, zero_s: Floats
) -> Handling:
    """How long jars take to be cool enough to inoculate.

    Parameters
    ----------
    room_c : float
        Temperature of the room [°C].
    runs : Runs
        Scenarios; a few dozen of them are followed [-].
    history : VesselHistory
        The canner at the end of each hold [-].
    at : HoldTable
        The hold in question, and the cores at steam off [-].
    zero_s : array
        Steam off to zero on the gauge, shape (scenarios,) [s].

    Returns
    -------
    Handling
        Bands from steam off [-].

    Notes
    -----
    Each jar starts evenly at its core's temperature at steam off and cools by resting
    conductivity alone, so the time errs to the long side. After 48 h it counts as cool.
    """
    chosen = np.unique(np.linspace(0, len(runs.grain_kg) - 1, _ROWS).astype(int))
    some, start = runs.rows(chosen), at.core_off_c[chosen, 0]
    at_rest = some.at_rest()
    limit = np.full(len(chosen), handling_temperature_c(room_c))
    place = int(np.argmin(np.abs(history.hold_s - at.hold_s[0])))
    canner_c = cool_down(
        some.vessel, replace(some.draw, diffusivity_m2_s=at_rest),
        history.modes_c[chosen, :, place], history.water_kg[chosen, place], _TIME_S,
    )  # fmt: skip
    film, room = np.full_like(start, AIR_FILM_W_M2_K), np.full_like(_TIME_S, room_c)
    if some.is_well_mixed:
        rate, in_steam = some.mixing_rate_s, np.asarray(some.bed.side_w_m2k)
        shut = follow(rate, start, _TIME_S, canner_c)
        opened = follow(rate * film / in_steam, start, _TIME_S, room)
    else:
        by_rest = at_rest.diffusivity_m2_s
        in_air = replace(some.bed, side_w_m2k=film, bottom_w_m2k=film)
        shut = conduct(some.bed, by_rest, start, _TIME_S, canner_c).core_c
        opened = conduct(in_air, by_rest, start, _TIME_S, room).core_c
    waited = zero_s[chosen] + float(WAIT_AT_ZERO_S)
    return Handling(
        overnight_s=band(time_below_s(_TIME_S, shut, limit)),
        opened_warm_s=band(waited + time_below_s(_TIME_S, opened, limit)),
    )
