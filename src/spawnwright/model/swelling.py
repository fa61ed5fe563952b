"""Swelling: how much room wet grain takes, and how many jars it fills.

Volumes are additive: dry substance and water keep their own. From about 40 % moisture the pores
inside kernels count as filled. Grain in the hull holds air that fills first, so its swelling is
overstated, by 5 to 13 percent for steeped barley; cooked soft grain packs tighter than loose wet
grain, so past 60 % it is overstated too. Range, checks and choices: docs/models/swelling.md.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from spawnwright.errors import OutOfRange
from spawnwright.records.grain import Grain
from spawnwright.records.jar import WATER_KG_M3


def _dry_basis(moisture: Any) -> Any:
    wet = np.asarray(moisture, dtype=float)
    if not bool(np.all((wet >= 0) & (wet < 1))):
        raise OutOfRange("Moisture", float(np.ravel(wet)[0]), 0.0, 1.0, "")
    return wet / (1 - wet)


def kernel_volume_m3_kg(grain: Grain, moisture: Any) -> Any:
    """Volume of wet kernels for each kilogram of their dry matter.

    v = 1/ρs + X/ρw, with X the moisture on the dry basis.

    Parameters
    ----------
    grain : Grain
        Its `solids_density_kg_m3` is used.
    moisture : float or array
        Water as a share of the whole, 0.4 to 0.6 as meant, below 1 as accepted [-].

    Returns
    -------
    float or array
        Volume, kernels only [m³/kg dry matter].
    """
    return 1 / grain.solids_density_kg_m3 + _dry_basis(moisture) / WATER_KG_M3


def bed_volume_m3_kg(grain: Grain, moisture: Any, void: Any = None) -> Any:
    """Volume of a loose bed of wet grain for each kilogram of its dry matter.

    Parameters
    ----------
    grain : Grain
        Gives the void where none is given.
    moisture : float or array
        Water as a share of the whole [-].
    void : float or array, optional
        Share of the bed between the kernels [-].

    Returns
    -------
    float or array
        Volume, kernels and the air between them [m³/kg dry matter].
    """
    share = grain.wet_void if void is None else void
    return kernel_volume_m3_kg(grain, moisture) / (1 - share)


def wet_bulk_density_kg_m3(grain: Grain, moisture: Any, void: Any = None) -> Any:
    """Bulk density of loosely filled wet grain, its water counted.

    Parameters
    ----------
    grain : Grain
        Gives solids density, and the void where none is given.
    moisture : float or array
        Water as a share of the whole [-].
    void : float or array, optional
        Share of the bed between the kernels [-].

    Returns
    -------
    float or array
        Wet mass to bulk volume [kg/m³]; 699 for rye at 50 %.
    """
    return (1 + _dry_basis(moisture)) / bed_volume_m3_kg(grain, moisture, void)
