"""What happened to one jar, kind by kind, with what each entry leads to."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, func, select

from spawnwright.store.book.tables import JARS, OF_KIND

_INOCULATIONS, _CULTURES, _BLOCKS = (OF_KIND[n] for n in ("inoculation", "culture", "block"))
_LOADS, _RUNS, _USES, _HARVESTS, _PHOTOS = (
    OF_KIND[name] for name in ("load", "sterilizer run", "use", "harvest", "photo")
)


def _rows(connection: Connection, query: Select[Any]) -> list[dict[str, Any]]:
    return [dict(row) for row in connection.execute(query).mappings()]


def about_jar(connection: Connection, kind: str, jar: str) -> list[dict[str, Any]]:
    """The records of a kind about a jar, by their instants."""
    table = OF_KIND[kind]
    query = select(table).where(table.c.jar == jar, ~table.c.undone)
    return _rows(connection, query.order_by(table.c.at, table.c.id))


def photos_of(connection: Connection, jar: str) -> list[dict[str, Any]]:
    """The photos of a jar, without their pictures."""
    query = select(_PHOTOS).where(_PHOTOS.c.jar == jar, ~_PHOTOS.c.undone)
    return _rows(connection, query.order_by(_PHOTOS.c.taken_at, _PHOTOS.c.id))


def runs_of(connection: Connection, jar: str) -> list[dict[str, Any]]:
    """The runs in which a jar stood, with its `position`, to be used or as a spoiled one."""
    query = (
        select(*_RUNS.c, _LOADS.c.position, _LOADS.c.id.label("load"))
        .join(_LOADS, _LOADS.c.run == _RUNS.c.id)
        .where((_LOADS.c.jar == jar) | (_LOADS.c.spoiled_jar == jar))
        .where(~_LOADS.c.undone, ~_RUNS.c.undone)
    )
    return _rows(connection, query.order_by(_RUNS.c.started_at, _RUNS.c.id))


_SOURCE, _TARGET = JARS.alias("source"), JARS.alias("target")


def _inoculations(where: ColumnElement[bool]) -> Select[Any]:
    source, target = _SOURCE, _TARGET
    return (
        select(
            *_INOCULATIONS.c, _CULTURES.c.name.label("culture_name"),
            source.c.code.label("from_code"), target.c.code.label("code"),
        )
        .outerjoin(_CULTURES, _CULTURES.c.id == _INOCULATIONS.c.culture)
        .outerjoin(source, source.c.id == _INOCULATIONS.c.from_jar)
        .join(target, target.c.id == _INOCULATIONS.c.jar)
        .where(where, ~_INOCULATIONS.c.undone)
        .order_by(_INOCULATIONS.c.at, _INOCULATIONS.c.number, _INOCULATIONS.c.id)
    )  # fmt: skip


def inoculations_of(connection: Connection, jar: str) -> list[dict[str, Any]]:
    """How a jar was inoculated, with `culture_name` or `from_code`."""
    return _rows(connection, _inoculations(_INOCULATIONS.c.jar == jar))


def spawn_given(connection: Connection, jar: str) -> list[dict[str, Any]]:
    """Inoculations of other jars from this one, with their `code`."""
    return _rows(connection, _inoculations(_INOCULATIONS.c.from_jar == jar))


def uses_of(connection: Connection, jar: str) -> list[dict[str, Any]]:
    """What spawn of a jar went into, with `block_name` and `container`."""
    query = (
        select(*_USES.c, _BLOCKS.c.name.label("block_name"), _BLOCKS.c.container)
        .join(_BLOCKS, _BLOCKS.c.id == _USES.c.block)
        .where(_USES.c.jar == jar, ~_USES.c.undone)
    )
    return _rows(connection, query.order_by(_USES.c.at, _USES.c.id))


def harvests_of(connection: Connection, jar: str) -> list[dict[str, Any]]:
    """Harvests from the blocks that spawn of a jar went into, with `block_name`."""
    fed = select(_USES.c.block).where(_USES.c.jar == jar, ~_USES.c.undone)
    query = (
        select(*_HARVESTS.c, _BLOCKS.c.name.label("block_name"))
        .join(_BLOCKS, _BLOCKS.c.id == _HARVESTS.c.block)
        .where(_HARVESTS.c.block.in_(fed), ~_HARVESTS.c.undone)
    )
    return _rows(connection, query.order_by(_HARVESTS.c.at, _HARVESTS.c.id))


def inoculated_at(connection: Connection, jars: list[str]) -> dict[str, str]:
    """When each of some jars was inoculated first."""
    query = (
        select(_INOCULATIONS.c.jar, func.min(_INOCULATIONS.c.at))
        .where(_INOCULATIONS.c.jar.in_(jars), ~_INOCULATIONS.c.undone)
        .group_by(_INOCULATIONS.c.jar)
    )
    return {row[0]: row[1] for row in connection.execute(query)}


def jars_in_run(connection: Connection, run: str) -> list[dict[str, Any]]:
    """The jars to be used that stood in a run: kind, fill, grain and its texture."""
    grain = OF_KIND["grain batch"]
    query = (
        select(JARS.c.id, JARS.c.jar_kind, JARS.c.fill, grain.c.grain, grain.c.texture)
        .join(_LOADS, _LOADS.c.jar == JARS.c.id)
        .outerjoin(grain, grain.c.id == JARS.c.grain_batch)
        .where(_LOADS.c.run == run, ~_LOADS.c.undone, ~JARS.c.undone)
    )
    return _rows(connection, query.order_by(JARS.c.code))
