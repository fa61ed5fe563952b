"""How a record says which of its fields a TOML file may set, and in which kind of quantity."""

from __future__ import annotations

from dataclasses import MISSING, dataclass, field
from typing import Any


@dataclass(frozen=True)
class CatalogRecord:
    """Anything that a catalog lists, found by its key or by any of its names."""

    key: str
    names: tuple[str, ...] = field(metadata={"key": "names", "kind": "texts"})


def entry(key: str, kind: str, *, default: Any = MISSING) -> Any:
    """A field set by the TOML key `key`.

    `kind` is one of `units.KINDS` (written with a unit, "43 mm"), "share" ("70%"), "plain" (a
    number in the unit that the field's name ends with), "text", "texts" or "flag". Quantities,
    shares and numbers become a `Constant` or, with low and high, an `Estimate`: their source
    stands in the file, or is the grower.
    """
    metadata = {"key": key, "kind": kind}
    if default is MISSING:
        return field(metadata=metadata)
    return field(default=default, metadata=metadata)
