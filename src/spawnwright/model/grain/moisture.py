"""Moisture: the mass balance of water and dry matter, exact but for what leaches unseen.

Moisture is water as a share of the whole (wet basis) unless "db" says that it is water to dry
matter. `leached` is the share of the dry matter that went away with the water: leaving it out of
a weighing reads too dry, by 1.6 points for 3 % at 48 %. Checks: docs/models/moisture.md.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Floats
from spawnwright.sources import COMMON, JUDGMENT, Estimate

DRY_MOISTURE = Estimate(
    0.12, "-", low=0.10, high=0.14, source=COMMON,
    where="grain as bought; kept indoors 11 to 12 %, safe in store below 13.5 % [IGMRI]",
)  # fmt: skip
LEACHED = Estimate(
    0.03, "-", low=0.01, high=0.05, source=JUDGMENT,
    where="dry matter lost to soak and cooking water, 1 to 5 %, from memory",
)  # fmt: skip
TARGET = Estimate(
    0.48, "-", low=0.45, high=0.52, source=COMMON,
    where="wet basis; handbooks say 45 to 55 %, Stamets2000 about 50 %",
)  # fmt: skip
_HIGHEST = 0.95  # wetter than any grain; keeps 1 - w away from zero

Values = float | Floats


def _plain(values: Any) -> Any:
    array = np.asarray(values, dtype=np.float64)
    return float(array) if array.ndim == 0 else array


def dry_basis(moisture: Values) -> Any:
    """Water to dry matter, from water as a share of the whole.

    Parameters
    ----------
    moisture : float or array
        Wet basis, 0 to 0.95 [-].

    Returns
    -------
    float or array
        X = w / (1 - w) [kg/kg].

    Raises
    ------
    OutOfRange
        If a moisture lies outside those limits.
    """
    check_range("Moisture", moisture, 0.0, _HIGHEST, "(share of the whole)")
    return _plain(np.asarray(moisture) / (1.0 - np.asarray(moisture)))


def wet_basis(moisture_db: Values) -> Any:
    """Water as a share of the whole, from water to dry matter.

    Parameters
    ----------
    moisture_db : float or array
        Dry basis, 0 or more [kg/kg].

    Returns
    -------
    float or array
        w = X / (1 + X) [-].

    Raises
    ------
    OutOfRange
        If a moisture is negative.
    """
    check_range("Moisture", moisture_db, 0.0, np.inf, "kg/kg")
    return _plain(np.asarray(moisture_db) / (1.0 + np.asarray(moisture_db)))


def mass_at_moisture_kg(
    mass_kg: Values, moisture: Values, new_moisture: Values, leached: Values = 0.0
) -> Any:
    """Mass of the same grain when its moisture has become another.

    Parameters
    ----------
    mass_kg : float or array
        Mass now [kg].
    moisture : float or array
        Moisture now, wet basis, 0 to 0.95 [-].
    new_moisture : float or array
        Moisture then, wet basis, 0 to 0.95 [-].
    leached : float or array
        Share of the dry matter lost on the way, 0 to 0.5 [-].

    Returns
    -------
    float or array
        m2 = m1 (1 - w1)(1 - leached) / (1 - w2) [kg].

    Raises
    ------
    OutOfRange
        If a moisture or the loss lies outside those limits, or the mass is negative.

    Examples
    --------
    >>> round(mass_at_moisture_kg(1000.0, 0.25, 0.14))
    872
    """
    _check(mass_kg, moisture, leached)
    check_range("Moisture", new_moisture, 0.0, _HIGHEST, "(share of the whole)")
    dry = np.asarray(mass_kg) * (1.0 - np.asarray(moisture)) * (1.0 - np.asarray(leached))
    return _plain(dry / (1.0 - np.asarray(new_moisture)))


def water_taken_up_kg(
    mass_kg: Values, moisture: Values, new_moisture: Values, leached: Values = 0.0
) -> Any:
    """Water that the grain takes up on the way from one moisture to another.

    Parameters
    ----------
    mass_kg : float or array
        Mass now [kg].
    moisture : float or array
        Moisture now, wet basis, 0 to 0.95 [-].
    new_moisture : float or array
        Moisture then, wet basis, 0 to 0.95 [-].
    leached : float or array
        Share of the dry matter lost on the way, 0 to 0.5 [-].

    Returns
    -------
    float or array
        w2 m2 - w1 m1, negative when drying; without a loss this is m2 - m1 [kg].

    Raises
    ------
    OutOfRange
        As `mass_at_moisture_kg`.
    """
    wet = mass_at_moisture_kg(mass_kg, moisture, new_moisture, leached)
    return _plain(np.asarray(new_moisture) * wet - np.asarray(moisture) * np.asarray(mass_kg))


def dry_mass_for_kg(
    wet_mass_kg: Values, moisture: Values, target: Values, leached: Values = 0.0
) -> Any:
    """Grain to start with, as bought, for a mass of prepared grain.

    Parameters
    ----------
    wet_mass_kg : float or array
        Prepared grain wanted [kg].
    moisture : float or array
        Moisture as bought, wet basis, 0 to 0.95 [-].
    target : float or array
        Moisture when prepared, wet basis, 0 to 0.95 [-].
    leached : float or array
        Share of the dry matter lost on the way, 0 to 0.5 [-].

    Returns
    -------
    float or array
        m (1 - target) / ((1 - w0)(1 - leached)) [kg].

    Raises
    ------
    OutOfRange
        As `mass_at_moisture_kg`.
    """
    return _plain(np.asarray(wet_mass_kg) / mass_at_moisture_kg(1.0, moisture, target, leached))


def moisture_by_weighing(
    dry_moisture: Values, dry_mass_kg: Values, drained_mass_kg: Values, leached: Values = 0.0
) -> Any:
    """Moisture of drained grain, from its mass and that of the dry grain it was.

    Parameters
    ----------
    dry_moisture : float or array
        Moisture as bought, wet basis, 0 to 0.95 [-].
    dry_mass_kg : float or array
        Grain as bought [kg].
    drained_mass_kg : float or array
        The same grain, drained, its surface dry [kg].
    leached : float or array
        Share of the dry matter lost on the way, 0 to 0.5 [-].

    Returns
    -------
    float or array
        1 - (1 - w0) m0 (1 - leached) / m; negative where the grain weighs less than its own dry
        matter, which is a weighing error [-].

    Raises
    ------
    OutOfRange
        If an input lies outside those limits or a mass is not above zero.

    Examples
    --------
    >>> round(moisture_by_weighing(0.12, 2.0, 3.3, leached=0.03), 3)
    0.483
    """
    _check(dry_mass_kg, dry_moisture, leached)
    check_range("Drained mass", drained_mass_kg, 1e-9, np.inf, "kg")
    dry = np.asarray(dry_mass_kg) * (1.0 - np.asarray(dry_moisture)) * (1.0 - np.asarray(leached))
    return _plain(1.0 - dry / np.asarray(drained_mass_kg))


def _check(mass_kg: Values, moisture: Values, leached: Values) -> None:
    check_range("Mass", mass_kg, 0.0, np.inf, "kg")
    check_range("Moisture", moisture, 0.0, _HIGHEST, "(share of the whole)")
    check_range("Share leached", leached, 0.0, 0.5, "(share of the dry matter)")
