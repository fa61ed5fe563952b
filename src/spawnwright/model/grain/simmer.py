"""Simmer: the last points of moisture, which only swelling starch can hold.

An engineering estimate. No measurement of the moisture after a soak and a short simmer was found
for any grain: the shape is that of diffusion into a kernel whose capacity grows as its starch
gelatinizes, the speed is set so that soaked wheat lands where practice finds it. The band is
wide; the grower's own drained weight replaces it. Limits and choices: docs/models/simmer.md.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from spawnwright.model.grain.moisture import Values, dry_basis, wet_basis
from spawnwright.model.grain.soak import arrhenius, kernel_share
from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Input
from spawnwright.records.grain import Grain
from spawnwright.sources import COMMON, JUDGMENT, Constant, Estimate

SIMMER_C = Constant(98.0, "°C", source=COMMON, where="a gentle simmer near sea level")
COOLEST_C = Constant(80.0, "°C", source=JUDGMENT, where="below this it is no simmer")
HOTTEST_C = Constant(102.0, "°C", source=JUDGMENT, where="an open pot gets no hotter")
DIFFUSIVITY_M2_S = Constant(
    2.025e-12, "m²/s", source="Becker1960",
    where="D = 30 exp(-12300/RT) cm²/s at 20 °C, carried on from 80 to 98 °C",
)  # fmt: skip
DIFFUSION_ENERGY_J_MOL = Constant(
    51463.0, "J/mol", source="Becker1960", where="abstract: 12.3 kcal/mol"
)
RAW_LIMIT_DB = Constant(
    0.75, "kg/kg", source="Becker1960", where="abstract: what starch that is still raw leads to"
)
GELATINIZED_PER_S = Estimate(
    2.75e-4, "1/s", low=1.0e-4, high=5.0e-4, source=JUDGMENT,
    where="at 98 °C; Turhan2002 has 1e-5 to 1e-4 from 60 to 100 °C; set so that wheat soaked for "
    "24 h comes to 46.5 % in 15 min, the middle of what practice finds",
)  # fmt: skip
GELATINIZATION_ENERGY_J_MOL = Constant(
    79e3, "J/mol", source="Turhan2002", where="abstract: in the kernel, above 75 °C"
)
SIMMER_UPTAKE = Estimate(
    1.0, "-", low=0.75, high=1.3, source=JUDGMENT,
    where="the law as a whole, for a kernel that was soaked first",
)  # fmt: skip
LONGEST_SIMMER_S = Constant(4 * 3600.0, "s", source=JUDGMENT, where="nobody simmers longer")
_AT_SIMMER_K = 273.15 + SIMMER_C


def simmered_moisture(
    grain: Grain,
    time_s: Values,
    soaked_moisture: Values,
    water_c: Values = SIMMER_C,
    *,
    gelatinized_per_s: Values = GELATINIZED_PER_S,
    uptake: Values = SIMMER_UPTAKE,
    cooked_db: Values | None = None,
) -> Any:
    """Moisture of grain after simmering, drained.

    Parameters
    ----------
    grain : Grain
        Its surface to volume, and its moisture when fully cooked.
    time_s : float or array
        From the return to a simmer on, 0 or more [s].
    soaked_moisture : float or array
        Moisture before, wet basis; the dry moisture if there was no soak [-].
    water_c : float or array
        Temperature of the water, 80 to 102; high up it simmers cooler [°C].
    gelatinized_per_s : float or array
        Rate at which starch gelatinizes at 98 °C [1/s].
    uptake : float or array
        Multiplies the share of the gain that is reached [-].
    cooked_db : float or array, optional
        Moisture of the fully cooked kernel; the catalog's where none is given [kg/kg].

    Returns
    -------
    float or array
        Moisture, wet basis [-].

    Raises
    ------
    OutOfRange
        If an input lies outside those limits.

    Notes
    -----
    X = X1 + g (Xs - X1) with g by `kernel_share`, and Xs = 0.75 + a (Xcooked - 0.75), where
    a = 1 - exp(-k t) is the share of the starch that has gelatinized. A moisture above Xs stays.
    """
    check_range("Simmer", time_s, 0.0, np.inf, "s")
    check_range("Simmering water", water_c, COOLEST_C, HOTTEST_C, "°C")
    before, time = np.asarray(dry_basis(soaked_moisture)), np.asarray(time_s, dtype=np.float64)
    speed = DIFFUSIVITY_M2_S * arrhenius(DIFFUSION_ENERGY_J_MOL, water_c)
    share = kernel_share(grain.surface_to_volume_per_m * np.sqrt(speed * time))
    reached = np.minimum(np.asarray(uptake) * share, 1.0)
    rate = np.asarray(gelatinized_per_s) * arrhenius(
        GELATINIZATION_ENERGY_J_MOL, water_c, _AT_SIMMER_K
    )
    cooked = np.asarray(grain.cooked_db if cooked_db is None else cooked_db)
    limit = RAW_LIMIT_DB + (1 - np.exp(-rate * time)) * (cooked - RAW_LIMIT_DB)
    return wet_basis(before + reached * np.maximum(limit - before, 0.0))


def simmer_time_for_s(moisture_after: Callable[[float], float], target: float) -> float | None:
    """Time of simmering after which a moisture that rises with it has reached a target.

    Parameters
    ----------
    moisture_after : callable
        Moisture, wet basis [-], after a time from the return to a simmer [s]; it never falls.
    target : float
        Moisture aimed at, wet basis [-].

    Returns
    -------
    float or None
        Found to a second; 0 if it is there already, none if four hours do not do it [s].
    """
    low, high = 0.0, float(LONGEST_SIMMER_S)
    if moisture_after(low) >= target:
        return 0.0
    if not moisture_after(high) >= target:
        return None
    while high - low > 1.0:
        middle = (low + high) / 2
        low, high = (low, middle) if moisture_after(middle) >= target else (middle, high)
    return high


def simmer_inputs(grain: Grain) -> list[Input]:
    """What is uncertain about a simmer: the speed of gelatinizing, the law, the cooked moisture.

    Parameters
    ----------
    grain : Grain
        Gives the spread of the cooked moisture.

    Returns
    -------
    list of Input
        Named "gelatinized", "simmer uptake" and "cooked"; their draws go into
        `simmered_moisture`.
    """
    weigh = "weigh the drained grain"
    return [
        Input.of("gelatinized", GELATINIZED_PER_S, "lognormal", narrow_with=weigh),
        Input.of("simmer uptake", SIMMER_UPTAKE, "lognormal", narrow_with=weigh),
        Input.of("cooked", grain.cooked_db, narrow_with=weigh),
    ]
