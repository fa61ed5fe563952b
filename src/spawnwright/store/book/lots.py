"""Lots and batches of lids, as pages ask for them."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, func, select

from spawnwright.store.book.tables import LINKS, OF_KIND, RECORDS


def listed(connection: Connection, kind: str, by: str, count: int) -> list[dict[str, Any]]:
    """Records of a kind, the last by a day first, each with `came_of_it`: its direct links."""
    table = OF_KIND[kind]
    links = (
        select(func.count(func.distinct(LINKS.c.child)))
        .select_from(LINKS)
        .join(RECORDS, RECORDS.c.number == LINKS.c.parent)
        .where(RECORDS.c.id == table.c.id)
        .scalar_subquery()
    )
    query = (
        select(table, links.label("came_of_it"))
        .where(~table.c.undone)
        .order_by(func.coalesce(table.c[by], "").desc(), table.c.changed.desc())
        .limit(count)
    )
    return [dict(row) for row in connection.execute(query).mappings()]
