"""The burner: how much heat reaches a pot, from the minutes in which two liters of water boil.

Water and pot take up what the burner brings less what goes to the room and leaves as steam.
Range, checks and what is ignored: docs/models/burner.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

import numpy as np

from spawnwright.errors import OutOfRange
from spawnwright.model.canner.vessel import WATER_J_KG_K
from spawnwright.model.scenarios import Floats, Input, band, draw
from spawnwright.records.sterilizing import SterilizeQuestion
from spawnwright.sources import JUDGMENT, OWN, Constant, Estimate

Lid = Literal["on", "off"]

TWO_LITERS_KG = Estimate(
    2.0, "kg", low=1.94, high=2.06, source=JUDGMENT, where="two liters by a kitchen jug"
)
POT_J_K = Estimate(
    500.0, "J/K", low=250.0, high=1000.0, source=JUDGMENT,
    where="pots of 0.5 to 2 kg of steel or aluminum; not the canner",
)  # fmt: skip
START_READ_C = Estimate(
    0.0, "K", low=-1.0, high=1.0, source=JUDGMENT, where="a kitchen thermometer in cold water"
)
CALLED_BOILING = Estimate(
    1.0, "-", low=0.95, high=1.06, source=JUDGMENT,
    where="time to a rolling boil over the time that was called so",
)  # fmt: skip
TO_ROOM_W = Estimate(
    40.0, "W", low=20.0, high=80.0, source=JUDGMENT,
    where="0.1 m² of pot, 40 K above the room on average, 10 W/(m² K)",
)  # fmt: skip
STEAM_W: dict[Lid | None, Estimate] = {
    "on": Estimate(
        10.0, "W", low=3.0, high=30.0, source=JUDGMENT, where="what leaves beside a lid, on average"
    ),
    "off": Estimate(
        70.0, "W", low=30.0, high=160.0, source=JUDGMENT,
        where="an open pot 22 cm across between 20 and 100 °C, on average",
    ),
    None: Estimate(
        30.0, "W", low=5.0, high=130.0, source=JUDGMENT, where="with a lid or without, not said"
    ),
}  # fmt: skip
UNDER_THE_CANNER = Estimate(
    1.03,
    "-",
    low=0.95,
    high=1.15,
    source=JUDGMENT,
    where="a canner's bottom is wider than a pot's: less flame goes past it",
)
MOST_HEAT_W = Constant(8000.0, "W", source=JUDGMENT, where="beyond any household burner")
LEAST_RISE_C = Constant(15.0, "K", source=JUDGMENT, where="less tells little of a burner")
SCENARIOS = 1000


def heat_into_pot_w(
    time_s: float, start_c: float, boils_at_c: float, lid: Lid | None = None
) -> Estimate:
    """Heat that reaches a canner on this burner, full on.

    Parameters
    ----------
    time_s : float
        From lighting the burner to a rolling boil [s].
    start_c : float
        Of the two liters when it was lit [°C].
    boils_at_c : float
        Where water boils there [°C].
    lid : "on", "off" or None
        Whether the pot was covered [-].

    Returns
    -------
    Estimate
        5th percentile, median and 95th [W].

    Raises
    ------
    OutOfRange
        If the water rose by less than 15 K, or no household burner brings so much heat.

    Notes
    -----
    P = ((m c + C_pot) (T_boil − T_start) / t + to the room + as steam) · wider bottom.
    Errs to neither side that is known; a canner on a ring smaller than the pot gets no more.
    """
    rise = boils_at_c - start_c
    if rise < LEAST_RISE_C:
        raise OutOfRange("The rise of the two liters to boiling", rise, LEAST_RISE_C, 100.0, "K")
    inputs = [
        Input.of("water_kg", TWO_LITERS_KG),
        Input.of("pot_j_k", POT_J_K, "lognormal"),
        Input.of("start_k", START_READ_C),
        Input.of("called", CALLED_BOILING),
        Input.of("to_room_w", TO_ROOM_W, "lognormal"),
        Input.of("steam_w", STEAM_W[lid], "lognormal"),
        Input.of("wider", UNDER_THE_CANNER),
    ]
    of = draw(inputs, SCENARIOS)
    stored = (of["water_kg"] * WATER_J_KG_K + of["pot_j_k"]) * (rise + of["start_k"])
    power = (stored / (time_s * of["called"]) + of["to_room_w"] + of["steam_w"]) * of["wider"]
    found = band(power)
    if found.likely > MOST_HEAT_W:
        raise OutOfRange("The heat that would reach the pot", found.likely, 0, MOST_HEAT_W, "W")
    return Estimate(
        found.likely, "W", low=found.low, high=found.high, source=OWN,
        where=f"two liters from {start_c:.0f} °C boiled in {time_s / 60:.1f} min",
    )  # fmt: skip


def share_into_pot(question: SterilizeQuestion, draws: Mapping[str, Floats]) -> Floats:
    """Share of what the burner uses up that arrives in the pot, scenario by scenario.

    Parameters
    ----------
    question : SterilizeQuestion
        Says whether power on the plate and heat in the pot are both known [-].
    draws : mapping
        As in `runs` [-].

    Returns
    -------
    array
        Shape (scenarios,) [-].

    Notes
    -----
    Heat in the pot over power on the plate, at most all of it, where the grower has measured
    the one and read the other; else what hobs of this kind were tested to do.
    """
    if question.pot_w is None or question.burner_w is None:
        return draws["hob_efficiency"]
    return np.asarray(np.minimum(draws["pot_w"] / question.burner_w, 1.0))
