"""Look something up in a catalog, or in the grower's own file."""

from __future__ import annotations

from spawnwright.records.canner import Canner
from spawnwright.records.catalog import CatalogRecord
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.records.species import Species
from spawnwright.store import catalog

CATALOGS: dict[str, type[CatalogRecord]] = {
    "grains": Grain,
    "jars": Jar,
    "canners": Canner,
    "species": Species,
}


def look_up(name: str, wanted: str) -> CatalogRecord:
    """The entry of catalog `name` that `wanted` names, or that a TOML file of that path holds."""
    return catalog.find(CATALOGS[name], name, wanted)
