"""Look something up in a catalog, or in the grower's own file; list what a catalog holds."""

from __future__ import annotations

from dataclasses import dataclass, fields

from spawnwright.records.bag import Bag
from spawnwright.records.canner import Canner
from spawnwright.records.catalog import CatalogRecord
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.records.species import Species
from spawnwright.records.spore import Spore
from spawnwright.sources import Constant, Estimate, Work, bibliography
from spawnwright.store import catalog

CATALOGS: dict[str, type[CatalogRecord]] = {
    "grains": Grain,
    "jars": Jar,
    "bags": Bag,
    "canners": Canner,
    "species": Species,
    "spores": Spore,
}


@dataclass(frozen=True)
class ListedNumber:
    """One number of an entry, with what stands behind it."""

    name: str
    """As in code and JSON, with its unit as suffix."""
    label: str
    """As in a file of the grower's own, with spaces."""
    kind: str
    number: Constant
    work: Work

    def as_dict(self) -> dict[str, object]:
        """What the JSON of a catalog says of it; `low` and `high` are null if none is known."""
        spread = self.number if isinstance(self.number, Estimate) else None
        return {
            "value": float(self.number),
            "unit": self.number.unit,
            "low": spread.low if spread else None,
            "high": spread.high if spread else None,
            "source": self.number.source,
            "where": self.number.where,
        }


@dataclass(frozen=True)
class ListedEntry:
    """An entry of a catalog: its names, numbers, and what it says in words."""

    key: str
    names: tuple[str, ...]
    numbers: tuple[ListedNumber, ...]
    words: dict[str, object]


def look_up(name: str, wanted: str) -> CatalogRecord:
    """The entry of catalog `name` that `wanted` names, or that a TOML file of that path holds.

    A jar may also be given by its volume ("0.5 L") or by three measurements; see
    actions/grain/jars.py.
    """
    if name == "jars":
        from spawnwright.actions.grain.jars import find_jar

        return find_jar(wanted)
    return catalog.find(CATALOGS[name], name, wanted)


def entries(name: str, wanted: str | None = None) -> list[ListedEntry]:
    """The entries of a catalog, or the one that `wanted` names."""
    if wanted is not None:
        return [_listed(look_up(name, wanted))]
    return [_listed(each) for each in catalog.catalog(CATALOGS[name], name).values()]


def _listed(record: CatalogRecord) -> ListedEntry:
    numbers, words = [], {}
    for each in fields(record):
        value = getattr(record, each.name)
        if each.name in ("key", "names") or value is None or value == "":
            continue
        if isinstance(value, Constant):
            label = str(each.metadata["key"]).replace("_", " ")
            work = bibliography()[value.source]
            numbers.append(ListedNumber(each.name, label, each.metadata["kind"], value, work))
        else:
            words[each.name] = value
    return ListedEntry(record.key, record.names, tuple(numbers), words)
