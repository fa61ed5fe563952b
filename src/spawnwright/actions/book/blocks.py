"""Blocks and buckets: what went in, what was picked, how that compares with the substrate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import rows_of

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True)
class BlockLine:
    """A block or bucket in a list."""

    row: dict[str, Any]
    harvest_kg: float
    flushes: int
    last_at: str | None
    jars: int


def blocks(connection: Connection, *, ended: bool = False) -> list[BlockLine]:
    """The blocks and buckets that still give, last made first; with `ended`, the others too."""
    from spawnwright.store.book.blocks import all_blocks

    return [
        BlockLine(row, row.pop("harvest_kg"), row.pop("flushes"), row.pop("last_at"),
                  row.pop("jars"))
        for row in all_blocks(connection, ended=ended)
    ]  # fmt: skip


@dataclass(frozen=True)
class BlockStory:
    """Everything about a block or bucket."""

    row: dict[str, Any]
    uses: tuple[dict[str, Any], ...]
    harvests: tuple[dict[str, Any], ...]
    harvest_kg: float
    spawn_kg: float
    """Of the spawn that was weighed."""
    next_flush: int


def block_story(connection: Connection, block: str) -> BlockStory:
    """The story of a block; raises `UnknownName` if there is none of that id."""
    from spawnwright.store.book.blocks import harvests_from, uses_in

    row = rows_of(connection, [block], "block")[block]
    uses, harvests = uses_in(connection, block), harvests_from(connection, block)
    flushes = [each["flush"] for each in harvests if each["flush"]]
    return BlockStory(
        row, tuple(uses), tuple(harvests), sum(each["mass_kg"] for each in harvests),
        sum(each["spawn_kg"] or 0.0 for each in uses), max(flushes, default=0) + 1,
    )  # fmt: skip
