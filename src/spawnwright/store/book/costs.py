"""Costs and changes of the stock, as pages ask for them."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, func, select

from spawnwright.store.book.tables import OF_KIND

_COSTS = OF_KIND["cost"]


def last_rows(connection: Connection, kind: str, by: str, count: int) -> list[dict[str, Any]]:
    """The last records of a kind by a column that sorts as time does."""
    table = OF_KIND[kind]
    query = (
        select(table)
        .where(~table.c.undone)
        .order_by(table.c[by].desc(), table.c.changed.desc())
        .limit(count)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def sums_by_year(connection: Connection) -> list[tuple[str, str, float]]:
    """Year, unit and sum of all costs, last year first."""
    year = func.substr(_COSTS.c.spent_on, 1, 4)
    query = (
        select(year, _COSTS.c.unit, func.sum(_COSTS.c.amount))
        .where(~_COSTS.c.undone)
        .group_by(year, _COSTS.c.unit)
        .order_by(year.desc(), _COSTS.c.unit)
    )
    return [(row[0], row[1], float(row[2])) for row in connection.execute(query)]
