"""A jar: what grain spawn is made in."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

from spawnwright.errors import Contradiction
from spawnwright.records.catalog import CatalogRecord, entry
from spawnwright.sources import COMMON, JUDGMENT, OWN, Constant, Estimate

WATER_KG_M3 = Constant(
    998.2, "kg/m³", source="CRCHandbook", where="density of water at 20 °C and 1 atm"
)
GLASS_KG_M3 = Constant(2500.0, "kg/m³", source=COMMON, where="density of soda-lime glass")
THINNEST_WALL_M = Constant(1e-3, "m", source=JUDGMENT, where="no jar that is lifted has less")
THICKEST_WALL_M = Constant(9e-3, "m", source=JUDGMENT, where="narrow neck and thick glass together")


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

    @classmethod
    def form_with(cls, keys: frozenset[str]) -> type[CatalogRecord]:
        """A jar may be given by three measurements at home instead of by its dimensions."""
        return MeasuredJar if "brim_water" in keys else cls

    @property
    def cross_section_m2(self) -> float:
        """Inner cross-section [m²]."""
        return pi * self.inner_radius_m**2

    def bed_depth_m(self, fill: float) -> float:
        """Depth of loosely filled grain at a share of the nominal volume [m]."""
        return fill * self.nominal_volume_m3 / self.cross_section_m2


@dataclass(frozen=True)
class MeasuredJar(CatalogRecord):
    """A jar as measured in a kitchen; `settled` is the jar that follows from it."""

    brim_water_kg: Constant = entry("brim_water", "mass")
    """Water that fills it to the brim."""
    string_round_m: Constant = entry("string_round", "length")
    """A string laid round the outside."""
    inside_height_m: Constant = entry("inside_height", "length")
    """From the bottom inside to the brim."""
    nominal_volume_m3: Constant | None = entry("nominal_volume", "volume", default=None)
    """What shares of fill refer to; left out, the volume to the brim."""
    glass_mass_kg: Constant | None = entry("glass_mass", "mass", default=None)
    note: str = entry("note", "text", default="")

    def settled(self) -> Jar:
        """The cylinder that holds this much water at this height, and its walls.

        Raises `Contradiction` where the three measurements cannot belong to one jar. A narrow
        neck makes the cylinder a little thinner than the body: the middle is then taken as
        nearer to the wall than it is, by a few percent.
        """
        volume = self.brim_water_kg / WATER_KG_M3
        if min(volume, self.inside_height_m, self.string_round_m) <= 0:
            raise Contradiction(f"Jar {self.key!r}: all three measurements must be above zero.")
        inner = sqrt(volume / (pi * self.inside_height_m))
        outer = self.string_round_m / (2 * pi)
        self._check(inner, outer)
        wall, height = outer - inner, self.inside_height_m
        glass = GLASS_KG_M3 * wall * (2 * pi * (inner + wall / 2) * height + pi * inner**2)
        where = f"{self.key}: from water to the brim, string round it and inside height"
        return Jar(
            key=self.key,
            names=self.names,
            nominal_volume_m3=self.nominal_volume_m3
            or Constant(volume, "m³", source=OWN, where=f"{self.key}: water to the brim"),
            inner_radius_m=Estimate(
                inner, "m", low=inner * 0.99, high=inner * 1.02, source=OWN, where=where
            ),
            inside_height_m=self.inside_height_m,
            outer_radius_m=Constant(outer, "m", source=OWN, where=where),
            glass_mass_kg=self.glass_mass_kg
            or Estimate(
                glass, "kg", low=0.7 * glass, high=1.2 * glass, source=JUDGMENT,
                where=f"{self.key}: its walls times the density of glass; weigh it",
            ),
            note=self.note,
        )  # fmt: skip

    def _check(self, inner: float, outer: float) -> None:
        wall = outer - inner
        if THINNEST_WALL_M <= wall <= THICKEST_WALL_M:
            return
        fault = "there is no room for its glass" if wall < THINNEST_WALL_M else "that is too thick"
        raise Contradiction(
            f"Jar {self.key!r}: {self.brim_water_kg * 1000:.0f} g of water at an inside height of "
            f"{self.inside_height_m * 100:.1f} cm needs an inner radius of {inner * 1000:.1f} mm, "
            f"but a string of {self.string_round_m * 100:.1f} cm means an outer radius of "
            f"{outer * 1000:.1f} mm, a wall of {wall * 1000:.1f} mm: {fault}; measure again."
        )
