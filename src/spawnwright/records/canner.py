"""A stovetop pressure canner: the vessel that sterilizes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import pi
from typing import Literal

from spawnwright.errors import Unusable
from spawnwright.records.catalog import CatalogRecord, entry
from spawnwright.sources import COMMON, JUDGMENT, Constant, Estimate
from spawnwright.units import PSI_PA

HEAVIEST_MARK_PA = Constant(
    15 * PSI_PA, "Pa", source=COMMON, where="the heaviest customary weight, 15 psi"
)
SPECIFIC_HEAT_J_KG_K = {
    "aluminum": Constant(897.0, "J/(kg K)", source="CRCHandbook", where="aluminum, 25 °C"),
    "steel": Constant(500.0, "J/(kg K)", source="CRCHandbook", where="stainless steel, 25 °C"),
}
_WEIGHT_ERROR_PA = Estimate(
    0.25 * PSI_PA, "Pa", low=0.0, high=0.5 * PSI_PA,
    source="MISSOURI163", where="a weight marked 10 lb is made to run at about 10.5 lb",
)  # fmt: skip
_DIAL_ERROR_PA = Estimate(
    0.0, "Pa", low=-PSI_PA, high=PSI_PA,
    source=JUDGMENT, where="a dial checked each year; one that is 2 psi off is replaced",
)  # fmt: skip


@dataclass(frozen=True)
class Canner(CatalogRecord):
    """A pressure canner, without its burner.

    `holds` may state how many jars of a kind go in at once, "quart 7"; for other jars it is
    worked out from the dimensions. `rated_gauge_pa` is the maker's; without it nothing above
    the heaviest customary weight is advised.
    """

    mass_kg: Constant = entry("mass", "mass")
    """Empty, with lid, rack and weight."""
    inner_diameter_m: Constant = entry("inner_diameter", "length")
    inside_height_m: Constant = entry("inside_height", "length")
    """From the bottom to the underside of the lid's middle."""
    rack_height_m: Constant = entry("rack_height", "length")
    """From the bottom to the top of the rack, where the jars stand."""
    water_m3: Constant = entry("water", "volume")
    """Water that is usually put in."""
    gauge: Literal["weight", "dial"] = entry("gauge", "text", default="weight")
    material: Literal["aluminum", "steel"] = entry("material", "text", default="aluminum")
    rated_gauge_pa: Constant | None = entry("rated_gauge", "gauge pressure", default=None)
    most_water_m3: Constant | None = entry("most_water", "volume", default=None)
    """The most water that the maker allows, or that leaves the filters dry."""
    reads_low_pa: Constant | None = entry("reads_low", "gauge pressure", default=None)
    """How far the true pressure is above the mark or the reading."""
    reads_high_pa: Constant | None = entry("reads_high", "gauge pressure", default=None)
    """How far the true pressure is below it."""
    holds: tuple[str, ...] = entry("holds", "texts", default=())
    note: str = entry("note", "text", default="")

    def __post_init__(self) -> None:
        for what, value, known in (
            ("gauge", self.gauge, ("weight", "dial")),
            ("material", self.material, tuple(SPECIFIC_HEAT_J_KG_K)),
        ):
            if value not in known:
                raise Unusable(
                    f"The canner {self.key!r} has {what} = {value!r}; write {' or '.join(known)}."
                )
        for name, number in (
            ("mass", self.mass_kg), ("inner_diameter", self.inner_diameter_m),
            ("inside_height", self.inside_height_m), ("water", self.water_m3),
        ):  # fmt: skip
            if number <= 0:
                raise Unusable(f"The canner {self.key!r} has {name} = {number:g}; it is above 0.")
        if self.reads_low_pa is not None and self.reads_high_pa is not None:
            raise Unusable(
                f"The canner {self.key!r} says both reads_low and reads_high; only one can be."
            )
        if self.rack_height_m >= self.inside_height_m:
            raise Unusable(f"The rack of the canner {self.key!r} is higher than its inside.")
        _ = self.stated_loads

    @property
    def specific_heat_j_kg_k(self) -> Constant:
        """Specific heat of the metal [J/(kg K)]."""
        return SPECIFIC_HEAT_J_KG_K[self.material]

    @property
    def highest_gauge_pa(self) -> float:
        """The gauge pressure never to go above: the maker's, else the heaviest mark [Pa]."""
        return float(HEAVIEST_MARK_PA if self.rated_gauge_pa is None else self.rated_gauge_pa)

    @property
    def gauge_error_pa(self) -> Constant:
        """True pressure less what the weight says or the dial shows, with its spread [Pa]."""
        if self.reads_low_pa is not None:
            return self.reads_low_pa
        if self.reads_high_pa is not None:
            low = -getattr(self.reads_high_pa, "high", float(self.reads_high_pa))
            high = -getattr(self.reads_high_pa, "low", float(self.reads_high_pa))
            return Estimate(
                -self.reads_high_pa, "Pa", low=low, high=high,
                source=self.reads_high_pa.source, where=self.reads_high_pa.where,
            )  # fmt: skip
        return _WEIGHT_ERROR_PA if self.gauge == "weight" else _DIAL_ERROR_PA

    @property
    def most_water_kg(self) -> float:
        """The most water that fits: as stated, else the usual, or up to the rack if more [kg]."""
        if self.most_water_m3 is not None:
            return 1000.0 * self.most_water_m3
        below_rack = pi / 4 * self.inner_diameter_m**2 * self.rack_height_m
        return 1000.0 * max(float(self.water_m3), below_rack)

    @property
    def stated_loads(self) -> dict[str, int]:
        """Jars that go in at once, by the jar's key or name, where the record says so."""
        loads: dict[str, int] = {}
        for text in self.holds:
            match = re.fullmatch(r"\s*(\S.*?)\s+(\d+)\s*", text)
            if match is None:
                raise Unusable(
                    f'The canner {self.key!r} holds {text!r}; write a jar and a count: "quart 7".'
                )
            loads[match[1].casefold()] = int(match[2])
        return loads
