"""How long the work on one soak of grain takes: pot, drainer, trays, scale, jars.

Minutes of a kitchen, meant to reserve enough time for somebody who works without haste; they err
to the long side. Every figure is common practice or our own estimate, and marked so.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from spawnwright.records.grain import Grain
from spawnwright.records.jar import WATER_KG_M3
from spawnwright.sources import COMMON, JUDGMENT, Constant, Estimate

SOAK_START_MIN = Constant(15, "min", source=JUDGMENT, where="weigh, wash and cover the grain")
RINSE_MIN = Constant(10, "min", source=JUDGMENT, where="rinse, while the water heats")
DRAIN_MIN = Constant(15, "min", source=COMMON, where="drain until it no longer drips")
DRY_MIN = Constant(45, "min", source=COMMON, where="spread until dry outside: 30 min to 1 h")
WEIGH_MIN = Constant(5, "min", source=JUDGMENT, where="weigh and try the texture, each portion")
FILL_MIN = Constant(10, "min", source=JUDGMENT, where="lay out, wipe up")
FILL_JAR_MIN = Constant(3, "min", source=JUDGMENT, where="fill, wipe, lid, foil, code: one jar")
LOAD_MIN = Constant(15, "min", source=JUDGMENT, where="water, rack, jars, positions, lid, gasket")
WASH_MIN = Constant(10, "min", source=JUDGMENT, where="hot water, brush, rack")
WASH_JAR_MIN = Constant(1.5, "min", source=JUDGMENT, where="wash and feel the rim: one jar")
LIDS_MIN = Constant(15, "min", source=JUDGMENT, where="drill, silicone and tools laid out")
LID_MIN = Constant(4, "min", source=JUDGMENT, where="holes, port, filter, silicone: one lid")
TEST_MIN = Constant(30, "min", source=JUDGMENT, where="a drop on agar or into one sterile jar")
INOCULATE_MIN = Constant(30, "min", source=JUDGMENT, where="clean, let the air settle, wipe up")
INOCULATE_JAR_MIN = Constant(
    3, "min", source=JUDGMENT, where="loosen, wipe, dry, inject, roll, label: one jar"
)
OPEN_MIN = Constant(
    10, "min", source=COMMON, where="zero pressure to opening the lid: older bulletins 2 min"
)
UNLOAD_MIN = Constant(15, "min", source=JUDGMENT, where="jars out onto a towel, one by one")
LOOK_MIN = Constant(15, "min", source=JUDGMENT, where="look at every jar of a batch")

POT_FULL = Constant(0.8, "-", source=COMMON, where="room to stir and to foam")
POT_VOLUME = Constant(
    1.5, "-", source=JUDGMENT, where="grain and the water over it, to the bulk of the grain"
)
TAP_C = Constant(15, "°C", source=JUDGMENT, where="cold tap water")
SIMMER_C = Constant(95, "°C", source=COMMON, where="a simmer: small bubbles, no rolling boil")
WATER_KJ_KG_K = Constant(4.19, "kJ/(kg K)", source=COMMON, where="water")
GRAIN_KJ_KG_K = Constant(3.0, "kJ/(kg K)", source=JUDGMENT, where="soaked grain, about half water")
BURNER_SHARE = Estimate(
    0.5, "-", low=0.35, high=0.8,
    source=JUDGMENT, where="of the burner's heat into the pot: gas 40 %, electric 75 %",
)  # fmt: skip
TRAY_M2 = Constant(0.135, "m²", source=COMMON, where="a tray of 30 x 45 cm")
LAYER_M = Constant(0.02, "m", source=COMMON, where="grain spread no deeper than two centimeters")


@dataclass(frozen=True)
class Cooking:
    """The work on one soak, in minutes, and the portions that the kit makes of it."""

    rinse_min: float
    simmer_min: float
    """For all portions, bringing them to a simmer included."""
    drain_min: float
    surface_dry_min: float
    weigh_min: float
    fill_min: float
    heat_min: float
    """Bringing one portion back to a simmer."""
    pot_portions: int
    tray_rounds: int
    scale_portions: int

    @property
    def parts(self) -> tuple[tuple[str, float], ...]:
        """Kind of step and its minutes, in order."""
        return (
            ("rinse", self.rinse_min),
            ("simmer", self.simmer_min),
            ("drain", self.drain_min),
            ("surface_dry", self.surface_dry_min),
            ("weigh", self.weigh_min),
            ("fill", self.fill_min),
        )

    @property
    def minutes(self) -> float:
        """From rinsing to the last jar filled [min]."""
        return sum(minutes for _, minutes in self.parts)

    @property
    def until_drained_min(self) -> float:
        """From rinsing until the first portion leaves the water [min]."""
        return self.rinse_min + self.simmer_min / self.pot_portions

    @property
    def until_fill_min(self) -> float:
        """From rinsing until the first jar is filled [min]."""
        return self.minutes - self.fill_min


def cooking(
    *,
    grain: Grain,
    dry_kg: float,
    wet_kg: float,
    wet_m3: float,
    jars: int,
    simmer_min: float,
    pot_m3: float,
    burner_w: float,
    trays: int,
    scale_max_kg: float,
) -> Cooking:
    """How long one soak's cooking and filling takes with this pot, burner, trays and scale.

    Parameters
    ----------
    grain : Grain
        Gives the volume of its kernels.
    dry_kg, wet_kg : float
        Grain as bought, and as it goes into the jars [kg].
    wet_m3 : float
        Bulk of the wet grain [m³].
    jars : int
        Jars to fill [-].
    simmer_min : float
        From the return to a simmer [min].
    pot_m3 : float
        Largest pot, above 0 [m³].
    burner_w : float
        Rated power of its burner, above 0 [W].
    trays : int
        Trays of 30 x 45 cm, at least 1 [-].
    scale_max_kg : float
        The most that the scale takes, above 0 [kg].

    Returns
    -------
    Cooking
        Minutes and portions; a portion is simmered while the one before it drains, but the time
        for draining and drying is counted after the last.
    """
    pot_portions = max(1, ceil(wet_m3 * POT_VOLUME / (pot_m3 * POT_FULL) - 1e-9))
    kernels_m3 = wet_m3 * (1 - grain.wet_void)
    water_kg = (wet_m3 * POT_VOLUME - kernels_m3) * WATER_KG_M3
    heat_kj = (water_kg * WATER_KJ_KG_K + wet_kg * GRAIN_KJ_KG_K) * (SIMMER_C - TAP_C)
    heat_min = heat_kj / pot_portions / (burner_w * BURNER_SHARE / 1000) / 60
    tray_kg = trays * TRAY_M2 * LAYER_M * wet_kg / wet_m3
    tray_rounds = max(1, ceil(wet_kg / tray_kg - 1e-9))
    scale_portions = max(1, ceil(wet_kg / scale_max_kg - 1e-9))
    return Cooking(
        rinse_min=float(RINSE_MIN),
        simmer_min=pot_portions * (to_five(heat_min) + to_five(simmer_min)),
        drain_min=float(DRAIN_MIN),
        surface_dry_min=tray_rounds * DRY_MIN,
        weigh_min=scale_portions * WEIGH_MIN,
        fill_min=to_five(FILL_MIN + jars * FILL_JAR_MIN),
        heat_min=heat_min,
        pot_portions=pot_portions,
        tray_rounds=tray_rounds,
        scale_portions=scale_portions,
    )


def to_five(minutes: float) -> float:
    """Minutes rounded up to five [min].

    >>> to_five(31.2), to_five(30.0)
    (35.0, 30.0)
    """
    return 5.0 * ceil(minutes / 5 - 1e-9)
