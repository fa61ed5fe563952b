"""Swelling: how much room wet grain takes, and how many jars it fills.

Volumes are additive: dry substance and water keep their own. From about 40 % moisture the pores
inside kernels count as filled. Grain in the hull holds air that fills first, so its swelling is
overstated, by 5 to 13 percent for steeped barley; cooked soft grain packs tighter than loose wet
grain, so past 60 % it is overstated too. Range, checks and choices: docs/models/swelling.md.
"""

from __future__ import annotations

from typing import Any

from spawnwright.model.grain.moisture import Values, dry_basis, wet_basis
from spawnwright.model.ranges import check_range
from spawnwright.records.grain import Grain
from spawnwright.records.jar import WATER_KG_M3


def kernel_volume_m3_kg(grain: Grain, moisture: Values) -> Any:
    """Volume of wet kernels for each kilogram of their dry matter.

    v = 1/ρs + X/ρw, with X the moisture on the dry basis.

    Parameters
    ----------
    grain : Grain
        Its `solids_density_kg_m3` is used.
    moisture : float or array
        Water as a share of the whole; meant for 0.4 to 0.6 [-].

    Returns
    -------
    float or array
        Volume, kernels only [m³/kg dry matter].
    """
    return 1 / grain.solids_density_kg_m3 + dry_basis(moisture) / WATER_KG_M3


def bed_volume_m3_kg(grain: Grain, moisture: Values, void: Values | None = None) -> Any:
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


def wet_bulk_density_kg_m3(grain: Grain, moisture: Values, void: Values | None = None) -> Any:
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
    return (1 + dry_basis(moisture)) / bed_volume_m3_kg(grain, moisture, void)


def bulk_swelling(
    grain: Grain,
    moisture: Values,
    dry_moisture: Values,
    *,
    void: Values | None = None,
    dry_bulk_density_kg_m3: Values | None = None,
) -> Any:
    """Bulk volume of wet grain over the bulk volume of the same dry matter as bought.

    Parameters
    ----------
    grain : Grain
        Gives void and dry bulk density where none are given.
    moisture : float or array
        Water as a share of the wet whole [-].
    dry_moisture : float or array
        Water as a share of the grain as bought [-].
    void : float or array, optional
        Share of the wet bed between the kernels [-].
    dry_bulk_density_kg_m3 : float or array, optional
        Of the grain as bought, poured loosely [kg/m³].

    Returns
    -------
    float or array
        s = vb / vb0, with vb0 = 1 / (bulk density (1 - w0)) [-].
    """
    dry_basis(dry_moisture)  # its limits
    density = dry_bulk_density_kg_m3
    dry_volume = 1 / (
        (grain.dry_bulk_density_kg_m3 if density is None else density) * (1 - dry_moisture)
    )
    return bed_volume_m3_kg(grain, moisture, void) / dry_volume


def jars_per_jar(swelling: Values, fill: Values) -> Any:
    """Jars that one full jar of dry grain fills, each to a share of its volume.

    Parameters
    ----------
    swelling : float or array
        Bulk swelling [-].
    fill : float or array
        Share of each jar that wet grain takes, above 0 to 1 [-].

    Returns
    -------
    float or array
        N = s / fill [-].
    """
    check_range("Fill", fill, 1e-9, 1.0, "(share of the jar)")
    return swelling / fill


def moisture_for_swelling(
    grain: Grain, swelling: Values, dry_moisture: Values, void: Values | None = None
) -> Any:
    """Moisture at which grain has swollen by a factor; the inverse of `bulk_swelling`.

    Parameters
    ----------
    grain : Grain
        Gives dry bulk density, and the void where none is given.
    swelling : float or array
        Wet bulk volume over dry bulk volume, above that of dry kernels themselves [-].
    dry_moisture : float or array
        Water as a share of the grain as bought [-].
    void : float or array, optional
        Share of the wet bed between the kernels [-].

    Returns
    -------
    float or array
        Water as a share of the wet whole [-].

    Raises
    ------
    OutOfRange
        If even grain without water would take more room than that.
    """
    share = grain.wet_void if void is None else void
    dry_volume = 1 / (grain.dry_bulk_density_kg_m3 * (1 - dry_moisture))
    kernels = swelling * dry_volume * (1 - share)
    return wet_basis((kernels - 1 / grain.solids_density_kg_m3) * float(WATER_KG_M3))
