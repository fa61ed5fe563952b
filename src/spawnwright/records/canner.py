"""A stovetop pressure canner: the vessel that sterilizes."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.records.catalog import CatalogRecord


@dataclass(frozen=True)
class Canner(CatalogRecord):
    """A pressure canner, with its burner apart."""
