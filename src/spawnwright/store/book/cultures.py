"""Cultures, as pages ask for them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, case, func, select

from spawnwright.store.book.batches import as_dicts
from spawnwright.store.book.tables import JARS, OF_KIND

_CULTURES, _STRAINS, _INOCULATIONS = (
    OF_KIND[name] for name in ("culture", "strain", "inoculation")
)


def all_cultures(connection: Connection) -> list[dict[str, Any]]:
    """All cultures by name, ended ones too."""
    query = select(_CULTURES).where(~_CULTURES.c.undone)
    rows = connection.execute(query.order_by(_CULTURES.c.name, _CULTURES.c.id)).mappings()
    return [dict(row) for row in rows]


def strains_by_id(connection: Connection) -> dict[str, dict[str, Any]]:
    """All strains."""
    rows = connection.execute(select(_STRAINS).where(~_STRAINS.c.undone)).mappings()
    return {row["id"]: dict(row) for row in rows}


def jars_by_culture(connection: Connection, cultures: list[str]) -> dict[str, tuple[int, int]]:
    """For each of some cultures: the jars inoculated from it, and those of them that spoiled."""
    query = (
        select(
            _INOCULATIONS.c.culture,
            func.count(func.distinct(JARS.c.id)),
            func.count(func.distinct(case((JARS.c.outcome == "spoiled", JARS.c.id)))),
        )
        .join(JARS, JARS.c.id == _INOCULATIONS.c.jar)
        .where(_INOCULATIONS.c.culture.in_(cultures), ~_INOCULATIONS.c.undone, ~JARS.c.undone)
        .group_by(_INOCULATIONS.c.culture)
    )
    return {row[0]: (row[1], row[2]) for row in connection.execute(query)}


def left_ml(
    connection: Connection, cultures: Sequence[Mapping[str, Any]]
) -> dict[str, float | None]:
    """What is left of some cultures: as measured last, else the volume, less doses since [mL].

    None if neither is known; not below zero.
    """
    query = (
        select(_INOCULATIONS.c.culture, func.sum(_INOCULATIONS.c.dose_ml))
        .join(_CULTURES, _CULTURES.c.id == _INOCULATIONS.c.culture)
        .where(
            _INOCULATIONS.c.culture.in_([row["id"] for row in cultures]), ~_INOCULATIONS.c.undone,
            _INOCULATIONS.c.at > func.coalesce(_CULTURES.c.left_at, ""),
        )
        .group_by(_INOCULATIONS.c.culture)
    )  # fmt: skip
    given = {row[0]: float(row[1] or 0.0) for row in connection.execute(query)}
    found: dict[str, float | None] = {}
    for row in cultures:
        start = row["volume_ml"] if row["left_ml"] is None else row["left_ml"]
        found[row["id"]] = None if start is None else max(0.0, start - given.get(row["id"], 0.0))
    return found


def inoculated(connection: Connection, jars: list[str]) -> set[str]:
    """Those of some jars that were inoculated."""
    query = select(_INOCULATIONS.c.jar).where(
        _INOCULATIONS.c.jar.in_(jars), ~_INOCULATIONS.c.undone
    )
    return set(connection.execute(query).scalars())


def jars_from(connection: Connection, culture: str, count: int) -> list[dict[str, Any]]:
    """Jars inoculated from a culture, last first: `code`, `at`, `dose_ml`, `outcome`."""
    query = (
        select(JARS.c.code, JARS.c.outcome, _INOCULATIONS.c.at, _INOCULATIONS.c.dose_ml)
        .join(JARS, JARS.c.id == _INOCULATIONS.c.jar)
        .where(_INOCULATIONS.c.culture == culture, ~_INOCULATIONS.c.undone, ~JARS.c.undone)
        .order_by(_INOCULATIONS.c.at.desc(), _INOCULATIONS.c.number)
        .limit(count)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def jars_to_inoculate(connection: Connection, batch: str | None = None) -> list[dict[str, Any]]:
    """Sterilized jars without an outcome that were not inoculated; controls are left out."""
    loads = OF_KIND["load"]
    loaded = select(loads.c.id).where(loads.c.jar == JARS.c.id, ~loads.c.undone).exists()
    done = (
        select(_INOCULATIONS.c.id)
        .where(_INOCULATIONS.c.jar == JARS.c.id, ~_INOCULATIONS.c.undone)
        .exists()
    )
    query = (
        select(JARS)
        .where(~JARS.c.undone, JARS.c.outcome.is_(None), JARS.c.is_control.is_not(True))
        .order_by(JARS.c.filled_at.desc(), JARS.c.code)
        .limit(500)
    )
    query = query.where(JARS.c.batch == batch) if batch else query.where(loaded)
    query = query.where(~done)
    return as_dicts(connection.execute(query))
