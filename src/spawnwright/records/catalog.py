"""How a record says which of its fields a TOML file may set, and in which kind of quantity."""

from __future__ import annotations

from dataclasses import MISSING, dataclass, field
from typing import Any


@dataclass(frozen=True)
class CatalogRecord:
    """Anything that a catalog lists, found by its key or by any of its names."""

    key: str
    names: tuple[str, ...] = field(metadata={"key": "names", "kind": "texts"})

    @classmethod
    def form_with(cls, keys: frozenset[str]) -> type[CatalogRecord]:
        """The record type that an entry with these keys is read as; some have a second form."""
        return cls

    def settled(self) -> CatalogRecord:
        """The record that a catalog holds for what was read: itself, or what follows from it."""
        return self


def entry(key: str, kind: str, *, default: Any = MISSING, unit: str = "") -> Any:
    """A field set by the TOML key `key`.

    `kind` is one of `units.KINDS` (written with a unit, "43 mm"), "share" ("70%"), "plain" (a
    number in the unit that the field's name ends with), "text", "texts" or "flag". Quantities,
    shares and numbers become a `Constant` or, with low and high, an `Estimate`: their source
    stands in the file, or is the grower. `unit` is that of a "plain" number; the entry itself
    may name another.
    """
    metadata = {"key": key, "kind": kind, "unit": unit}
    if default is MISSING:
        return field(metadata=metadata)
    return field(default=default, metadata=metadata)
