"""A spore whose resistance to moist heat was published."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.records.catalog import CatalogRecord, entry
from spawnwright.sources import Constant


@dataclass(frozen=True)
class Spore(CatalogRecord):
    """How a spore stands moist heat at 121.11 °C."""

    d_121_min: Constant = entry("d_121", "plain", unit="min")
    """Time at 121.11 °C for a tenfold reduction."""
    z_c: Constant = entry("z", "temperature difference")
    """Temperature difference that changes that time tenfold."""
    reported: str = entry("reported", "text")
    """What the work itself reports, before anything was converted."""
    grows_on_the_shelf: bool = entry("grows_on_the_shelf", "flag", default=True)
    """Whether it grows at the temperature at which spawn is kept."""
