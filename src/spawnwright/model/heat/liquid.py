"""Jars of liquid: liquid culture, or agar, which is a liquid while it is hot.

Currents mix a heated liquid, so a jar has one temperature that follows the vessel through film,
glass and the film inside. Pure functions, SI. Checks and what is ignored: docs/models/liquids.md.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spawnwright.model.heat.bed import BedHistory
from spawnwright.model.heat.cycle import Cycle
from spawnwright.model.heat.draw import mode_response
from spawnwright.model.scenarios import Floats
from spawnwright.model.sterilizing.hold_table import COOLING_TIME_S, HoldTable, table_of
from spawnwright.records.sterilizing import Contents
from spawnwright.sources import COMMON, JUDGMENT, Constant, Estimate

FULLEST_LIQUID = Constant(
    2 / 3, "-", source=COMMON, where="liquids: more boils over when the pressure falls"
)
LIQUID_KG_M3 = Constant(
    1000.0, "kg/m³", source=JUDGMENT, where="water with a few percent of sugar, malt or agar"
)
LIQUID_J_KG_K = Constant(
    4100.0, "J/(kg K)", source=JUDGMENT, where="water of 4200, a few percent of solids in it"
)
LIQUID_FILM_W_M2_K: dict[Contents, Estimate] = {
    "liquid-culture": Estimate(
        160.0, "W/(m² K)", low=95.0, high=250.0, source=JUDGMENT,
        where="steam and glass at 150 to 330 with natural convection inside at 250 to 1000",
    ),
    "agar": Estimate(
        120.0, "W/(m² K)", low=60.0, high=210.0, source=JUDGMENT,
        where="as a liquid, but thicker, and a gel or settled powder until about 85 °C",
    ),
}  # fmt: skip
LIQUID_TARGET = Constant(
    0.005, "-", source=JUDGMENT, where="one jar of liquid in 200: it goes into many jars of grain"
)
LIQUID_LOG10_PER_ML = Estimate(
    0.0, "log10 per mL", low=-1.6449, high=1.6449, source=JUDGMENT,
    where="mean and one sd of 1: 40 g of malt or sugar a liter with 1 to 100 spores a gram",
)  # fmt: skip


def mixing_rate_s(film_w_m2_k: Floats, radius_m: Floats, depth_m: Floats) -> Floats:
    """Rate at which a jar of liquid follows the vessel.

    Parameters
    ----------
    film_w_m2_k : array
        From vessel to liquid, glass included [W/(m² K)].
    radius_m : array
        Inner radius of the jar [m].
    depth_m : array
        Depth of the liquid [m].

    Returns
    -------
    array
        U A / (ρ V c) = U (2/R + 1/H) / (ρ c), side and bottom heated, the surface not [1/s].
    """
    through = 2 / radius_m + 1 / depth_m
    return np.asarray(film_w_m2_k * through / (float(LIQUID_KG_M3) * float(LIQUID_J_KG_K)))


def follow(rate_s: Floats, start_c: Floats, time_s: Floats, vessel_c: Floats) -> Floats:
    """Temperature of well-mixed jars behind a vessel of straight pieces.

    Parameters
    ----------
    rate_s : array
        One a row, above 0, shape (rows,) [1/s].
    start_c : array
        At the first instant, shape (rows,) [°C].
    time_s : array
        Instants, rising, shape (instants,) [s].
    vessel_c : array
        Shape (rows, instants), or (instants,) for all [°C].

    Returns
    -------
    array
        Shape (rows, instants) [°C].

    Notes
    -----
    The exact solution of dT/dt = rate (Tv - T) for each straight piece [INCROPERA2007]_. The
    lower third of a jar lags behind its mean by some degrees while it warms: errs hot there.
    """
    rate = np.asarray(rate_s, dtype=np.float64)
    vessel = np.broadcast_to(np.asarray(vessel_c, np.float64), (len(rate), len(time_s)))
    found = np.empty(vessel.shape)
    found[:, 0] = start_c
    for place, length in enumerate(np.diff(np.asarray(time_s, dtype=np.float64))):
        kept, followed = mode_response(rate[:, None], np.full(len(rate), length))
        before, after = vessel[:, place], vessel[:, place + 1]
        found[:, place + 1] = (
            found[:, place] * kept[:, 0] + before * (1 - kept[:, 0])
            + (after - before) * followed[:, 0]
        )  # fmt: skip
    return found


def liquid_table(
    rate_s: Floats,
    start_c: Floats,
    z_c: Floats,
    cycle: Cycle,
    hold_s: Floats,
    cooling_c: Floats | None,
) -> HoldTable:
    """Results by hold of jars of liquid.

    Parameters
    ----------
    rate_s : array
        Shape (scenarios,) [1/s].
    start_c : array
        Shape (scenarios,) [°C].
    z_c : array
        z of the spores, shape (scenarios,) [K].
    cycle : Cycle
        Vessel temperatures to the end of the longest hold [-].
    hold_s : array
        Ends of holds, each one of the cycle's instants [s].
    cooling_c : array or None
        Vessel after each hold on `COOLING_TIME_S`, shape (scenarios, holds, instants); none to
        count no cooling [°C].

    Returns
    -------
    HoldTable
        Shape (scenarios, holds) each; the coldest point is the liquid's one temperature [-].

    Notes
    -----
    Heat taken away by boiling while the pressure falls is left out: the vessel falls no faster
    than the jars follow, and what boils is little.
    """
    heated = follow(rate_s, start_c, cycle.time_s, cycle.vessel_c)
    places: NDArray[np.intp] = np.arange(len(hold_s))
    cooled = None
    if cooling_c is not None:
        ends = np.searchsorted(cycle.time_s, hold_s - 1e-6)
        holds, instants = cooling_c.shape[1:]
        after = follow(
            np.repeat(rate_s, holds), heated[:, ends].ravel(), COOLING_TIME_S,
            cooling_c.reshape(-1, instants),
        )  # fmt: skip
        cooled = _one_temperature(COOLING_TIME_S, after.reshape(cooling_c.shape))
    return table_of(_one_temperature(cycle.time_s, heated), cooled, z_c, hold_s, places)


def _one_temperature(time_s: Floats, liquid_c: Floats) -> BedHistory:
    nowhere = np.zeros(len(liquid_c))
    return BedHistory(time_s, liquid_c, liquid_c, liquid_c, nowhere, liquid_c)
