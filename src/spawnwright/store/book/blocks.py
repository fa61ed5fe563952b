"""Blocks and buckets, as pages ask for them."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, func, select

from spawnwright.store.book.tables import JARS, OF_KIND

_BLOCKS, _USES, _HARVESTS = (OF_KIND[name] for name in ("block", "use", "harvest"))
MOST = 500


def all_blocks(connection: Connection, *, ended: bool) -> list[dict[str, Any]]:
    """Blocks, last made first, each with `harvest_kg`, `flushes`, `last_at` and `jars`."""
    picked = (
        select(
            _HARVESTS.c.block,
            func.sum(_HARVESTS.c.mass_kg).label("harvest_kg"),
            func.max(_HARVESTS.c.flush).label("flushes"),
            func.max(_HARVESTS.c.at).label("last_at"),
        )
        .where(~_HARVESTS.c.undone)
        .group_by(_HARVESTS.c.block)
        .subquery()
    )
    jars = (
        select(func.count())
        .select_from(_USES)
        .where(_USES.c.block == _BLOCKS.c.id, ~_USES.c.undone)
        .scalar_subquery()
    )
    query = (
        select(
            _BLOCKS,
            func.coalesce(picked.c.harvest_kg, 0.0).label("harvest_kg"),
            func.coalesce(picked.c.flushes, 0).label("flushes"),
            picked.c.last_at,
            jars.label("jars"),
        )
        .outerjoin(picked, picked.c.block == _BLOCKS.c.id)
        .where(~_BLOCKS.c.undone)
        .order_by(_BLOCKS.c.made_at.desc(), _BLOCKS.c.id)
        .limit(MOST)
    )
    if not ended:
        query = query.where(_BLOCKS.c.ended_on.is_(None))
    return [dict(row) for row in connection.execute(query).mappings()]


def uses_in(connection: Connection, block: str) -> list[dict[str, Any]]:
    """The spawn that went into a block, each with the `code` of its jar."""
    query = (
        select(_USES, JARS.c.code)
        .join(JARS, JARS.c.id == _USES.c.jar)
        .where(_USES.c.block == block, ~_USES.c.undone)
        .order_by(_USES.c.at, JARS.c.code)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def harvests_from(connection: Connection, block: str) -> list[dict[str, Any]]:
    """What was picked from a block, in order."""
    query = select(_HARVESTS).where(_HARVESTS.c.block == block, ~_HARVESTS.c.undone)
    return [dict(row) for row in connection.execute(query.order_by(_HARVESTS.c.at)).mappings()]
