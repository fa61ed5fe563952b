"""All kinds of record by name, each after those that it refers to."""

from __future__ import annotations

from difflib import get_close_matches

from spawnwright.errors import UnknownName
from spawnwright.records.book import grown, made, planned
from spawnwright.records.book.form import BookRecord

KINDS: dict[str, type[BookRecord]] = {
    kind.KIND: kind
    for kind in (
        made.Lot, made.Strain, planned.Batch, planned.Task, made.GrainBatch, made.LidBatch,
        made.Run, grown.BookJar, made.Culture, made.Load, made.Event, made.Trace,
        grown.Inoculation, grown.Look, grown.Photo, grown.Shake, grown.GrowingBlock, grown.Use,
        grown.Harvest, grown.Cost, grown.StockChange, grown.Quarantine,
    )
}  # fmt: skip


def kind_named(name: str) -> type[BookRecord]:
    """The kind of a name; an unknown one is refused with the nearest."""
    if name not in KINDS:
        raise UnknownName("kind of record", name, tuple(get_close_matches(name, KINDS, 2)))
    return KINDS[name]
