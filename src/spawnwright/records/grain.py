"""A cereal grain, as bought and as it takes up water."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.records.catalog import CatalogRecord, entry
from spawnwright.sources import Constant


@dataclass(frozen=True)
class Grain(CatalogRecord):
    """A kind of grain. Composition is in shares of the dry matter; it adds up to one."""

    protein: Constant = entry("protein", "share")
    fat: Constant = entry("fat", "share")
    carbohydrate: Constant = entry("carbohydrate", "share")
    """Available carbohydrate: by difference, less fiber."""
    fiber: Constant = entry("fiber", "share")
    ash: Constant = entry("ash", "share")
