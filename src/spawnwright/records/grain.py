"""A cereal grain, as bought and as it takes up water."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.records.catalog import CatalogRecord, entry
from spawnwright.sources import Constant


@dataclass(frozen=True)
class Grain(CatalogRecord):
    """A kind of grain. Composition is in shares of the dry matter; it adds up to one.

    "db" is moisture on the dry basis: kilograms of water to a kilogram of dry matter.
    """

    protein: Constant = entry("protein", "share")
    fat: Constant = entry("fat", "share")
    carbohydrate: Constant = entry("carbohydrate", "share")
    """Available carbohydrate: by difference, less fiber."""
    fiber: Constant = entry("fiber", "share")
    ash: Constant = entry("ash", "share")

    dry_bulk_density_kg_m3: Constant = entry("dry_bulk_density", "plain", unit="kg/m³")
    """As bought, poured loosely."""
    solids_density_kg_m3: Constant = entry("solids_density", "plain", unit="kg/m³")
    """Of the dry substance, without pores."""
    wet_void: Constant = entry("wet_void", "share")
    """Share of a bed of wet grain that lies between the kernels."""
    kernel_mass_kg: Constant = entry("kernel_mass", "mass")
    """One kernel as bought."""
    surface_to_volume_per_m: Constant = entry("surface_to_volume", "plain", unit="1/m")

    soak_law: str = entry("soak_law", "text")
    """`kernel`, `sphere`, `hull` or `peleg`: which equation of model/grain/soak.py holds."""
    soak_rate: Constant = entry("soak_rate", "plain")
    """`kernel` and `sphere`: diffusivity at 20 °C [m²/s]; `hull`: gain at 21 °C [kg/kg/√h];
    `peleg`: initial rate at 20 °C [kg/kg/h]."""
    soak_energy_j_mol: Constant = entry("soak_energy", "plain", unit="J/mol")
    """Activation energy of the rate."""
    soak_instant_db: Constant = entry("soak_instant", "plain", unit="kg/kg")
    """Water that is taken up at once, by hull and surface."""
    soak_limit_db: Constant = entry("soak_limit", "plain", unit="kg/kg")
    """Moisture that cold water leads to; `peleg`: the gain at 20 °C."""
    soak_quickness: Constant = entry("soak_quickness", "plain", unit="-")
    """Multiplies the rate: what is uncertain about the speed."""
    soak_uptake: Constant = entry("soak_uptake", "plain", unit="-")
    """Multiplies the gain: what is uncertain about the law as a whole."""
    soak_coldest_c: Constant = entry("soak_coldest", "temperature")
    """The measurements behind the law begin here."""
    soak_warmest_c: Constant = entry("soak_warmest", "temperature")
    soak_longest_s: Constant = entry("soak_longest", "duration")
    soak_basis: str = entry("soak_basis", "text")
    """How well the law is known, in a sentence for the grower."""

    simmer_time_s: Constant = entry("simmer_time", "duration")
    """Starting minutes, counted from the return to a simmer; the texture decides."""
    cooked_db: Constant = entry("cooked", "plain", unit="kg/kg")
    """Moisture that the fully cooked kernel holds."""
    is_in_hull: bool = entry("in_hull", "flag", default=False)
    note: str = entry("note", "text", default="")
