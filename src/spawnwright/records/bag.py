"""A filter-patch bag: what spawn is made in by the kilogram."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

from spawnwright.errors import Contradiction
from spawnwright.records.catalog import CatalogRecord, entry
from spawnwright.records.jar import Jar
from spawnwright.sources import JUDGMENT, OWN, Constant, Estimate

BULK_KG_M3 = Constant(
    700.0, "kg/m³", source=JUDGMENT, where="loose wet grain, near enough to know a bag's volume"
)
ROUNDNESS = Constant(
    0.92, "-", source=JUDGMENT, where="a filled bag's cross-section against width times depth"
)
LYING_TO_STANDING = Constant(
    0.6, "-", source=JUDGMENT, where="thickness of a bag laid down against its depth as it stands"
)
PLASTIC_KG = Constant(0.04, "kg", source=JUDGMENT, where="an empty bag; its heat hardly counts")
USUAL_SHARE = Constant(
    0.4, "-", source=JUDGMENT, where="an own bag is taken to be two fifths full, its room unknown"
)
SPREAD = Constant(0.06, "-", source=JUDGMENT, where="a bag measured once with a tape")


@dataclass(frozen=True)
class Bag(CatalogRecord):
    """A kind of bag with its grain in it, taken as a block of rounded edges.

    Standing, heat crosses it sideways: it counts as a cylinder of equal cross-section. Lying, it
    is a slab: it counts as a disc of equal face.
    """

    grain_kg: Constant = entry("grain", "mass")
    """Wet grain in it."""
    bag_volume_m3: Constant = entry("bag_volume", "volume")
    """Room below the seal; a third to half of it is filled."""
    standing_radius_m: Constant = entry("standing_radius", "length")
    standing_width_m: Constant = entry("standing_width", "length")
    standing_depth_m: Constant = entry("standing_depth", "length")
    lying_radius_m: Constant = entry("lying_radius", "length")
    """Of the disc that has the area of its face."""
    lying_width_m: Constant = entry("lying_width", "length")
    lying_length_m: Constant = entry("lying_length", "length")
    note: str = entry("note", "text", default="")

    @classmethod
    def form_with(cls, keys: frozenset[str]) -> type[CatalogRecord]:
        """A bag may be given by mass, width and height of its grain as it stands."""
        return MeasuredBag if "grain_height" in keys else cls

    @property
    def grain_volume_m3(self) -> float:
        """Room that the grain takes up, about [m³]."""
        return self.grain_kg / BULK_KG_M3

    @property
    def share_full(self) -> float:
        """How full the bag is [-]."""
        return self.grain_volume_m3 / self.bag_volume_m3

    def thickness_m(self, is_lying: bool) -> float:
        """Height of the grain as the bag lies or stands [m]."""
        radius = self.lying_radius_m if is_lying else self.standing_radius_m
        return self.grain_volume_m3 / (pi * radius**2)

    def footprint_m(self, is_lying: bool) -> tuple[float, float]:
        """Its two sides seen from above [m]."""
        if is_lying:
            return float(self.lying_width_m), float(self.lying_length_m)
        return float(self.standing_width_m), float(self.standing_depth_m)

    def as_jar(self, is_lying: bool) -> Jar:
        """The cylinder that the heat models know, without glass; its radius carries the spread."""
        radius = self.lying_radius_m if is_lying else self.standing_radius_m
        area = pi * radius**2
        return Jar(
            key=f"{self.key} bag, {'lying' if is_lying else 'standing'}",
            names=(),
            nominal_volume_m3=self.bag_volume_m3,
            inner_radius_m=radius,
            inside_height_m=Constant(
                self.bag_volume_m3 / area, "m", source=JUDGMENT, where="its room over its area"
            ),
            outer_radius_m=radius,
            glass_mass_kg=PLASTIC_KG,
            note=self.note,
        )


@dataclass(frozen=True)
class MeasuredBag(CatalogRecord):
    """A bag as measured with scale and tape; `settled` is the bag that follows from it."""

    grain_kg: Constant = entry("grain", "mass")
    grain_width_m: Constant = entry("grain_width", "length")
    """Its wider side as it stands, filled."""
    grain_height_m: Constant = entry("grain_height", "length")
    """From the bottom to the top of the grain as it stands."""
    lying_thickness_m: Constant | None = entry("lying_thickness", "length", default=None)
    """Laid down and patted flat; left out, three fifths of its depth as it stands."""
    bag_volume_m3: Constant | None = entry("bag_volume", "volume", default=None)
    note: str = entry("note", "text", default="")

    def settled(self) -> Bag:
        """The block that holds this much grain at this width and height.

        Raises `Contradiction` where the three measurements cannot belong to one bag.
        """
        if min(self.grain_kg, self.grain_width_m, self.grain_height_m) <= 0:
            raise Contradiction(f"Bag {self.key!r}: all three measurements must be above zero.")
        volume, width = self.grain_kg / BULK_KG_M3, float(self.grain_width_m)
        area = volume / self.grain_height_m
        depth = area / (ROUNDNESS * width)
        if not 0.2 * width <= depth <= 1.5 * width:
            raise Contradiction(
                f"Bag {self.key!r}: {self.grain_kg * 1000:.0f} g of wet grain that stand "
                f"{self.grain_height_m * 100:.1f} cm high and {width * 100:.1f} cm wide would be "
                f"{depth * 100:.1f} cm deep; measure width and height of the grain again."
            )
        thickness = float(self.lying_thickness_m or LYING_TO_STANDING * depth)
        face = volume / thickness
        return Bag(
            key=self.key,
            names=self.names,
            grain_kg=self.grain_kg,
            bag_volume_m3=self.bag_volume_m3
            or Constant(volume / USUAL_SHARE, "m³", source=JUDGMENT, where=USUAL_SHARE.where),
            standing_radius_m=_measured(sqrt(area / pi), self.key),
            standing_width_m=self.grain_width_m,
            standing_depth_m=Constant(depth, "m", source=OWN, where=self.key),
            lying_radius_m=_measured(sqrt(face / pi), self.key),
            lying_width_m=self.grain_width_m,
            lying_length_m=Constant(face / (ROUNDNESS * width), "m", source=OWN, where=self.key),
            note=self.note,
        )


def _measured(radius_m: float, key: str) -> Estimate:
    return Estimate(
        radius_m, "m", low=radius_m * (1 - SPREAD), high=radius_m * (1 + SPREAD), source=OWN,
        where=f"{key}: from mass, width and height of its grain",
    )  # fmt: skip
