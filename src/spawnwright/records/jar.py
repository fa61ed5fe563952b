"""A jar: what grain spawn is made in."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from spawnwright.records.catalog import CatalogRecord, entry
from spawnwright.sources import Constant


@dataclass(frozen=True)
class Jar(CatalogRecord):
    """A kind of jar, taken as a cylinder of its inner radius up to the fill.

    `nominal_volume_m3` is what the trade calls its size; shares of fill refer to it.
    """

    nominal_volume_m3: Constant = entry("nominal_volume", "volume")
    inner_radius_m: Constant = entry("inner_radius", "length")
    inside_height_m: Constant = entry("inside_height", "length")
    outer_radius_m: Constant = entry("outer_radius", "length")
    glass_mass_kg: Constant = entry("glass_mass", "mass")
    note: str = entry("note", "text", default="")

    @property
    def cross_section_m2(self) -> float:
        """Inner cross-section [m²]."""
        return pi * self.inner_radius_m**2

    def bed_depth_m(self, fill: float) -> float:
        """Depth of loosely filled grain at a share of the nominal volume [m]."""
        return fill * self.nominal_volume_m3 / self.cross_section_m2
