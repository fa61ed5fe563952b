"""A mushroom species, as a grower meets it on grain and after."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.records.catalog import CatalogRecord


@dataclass(frozen=True)
class Species(CatalogRecord):
    """A species or a common strain group."""
