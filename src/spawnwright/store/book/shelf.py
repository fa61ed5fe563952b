"""What the bench asks of the book: the shelf, what is free, what is left, one jar's story."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, and_, func, or_, select

from spawnwright.errors import UnknownName
from spawnwright.records.book.codes import nearest_codes, read_code
from spawnwright.store.book.refold import in_parts
from spawnwright.store.book.tables import JARS, LOOKS, OF_KIND

PAGE = 100
_CHANGES = OF_KIND["stock change"]
_LOADS, _RUNS = OF_KIND["load"], OF_KIND["sterilizer run"]


def jar_with_code(connection: Connection, typed: str) -> str:
    """The id of the jar that a code names; the nearest codes are offered for one that none has.

    Of two jars with one code, which two merged books may have, it is the one filled last.
    """
    code = read_code(typed)
    query = select(JARS.c.id).where(JARS.c.code == code, ~JARS.c.undone)
    found = connection.execute(query.order_by(JARS.c.filled_at.desc())).first()
    if found is None:
        like = select(JARS.c.code).where(JARS.c.code.like(f"{code[0]}%"), ~JARS.c.undone)
        codes = list(connection.execute(like.limit(2000)).scalars())
        raise UnknownName("jar", code, nearest_codes(code, codes))
    return str(found[0])


def codes_of(connection: Connection, jars: Sequence[str]) -> list[tuple[str, bool]]:
    """The codes of some jars, each with whether it is still here: without an outcome."""
    found = []
    for part in in_parts(jars, 5000):
        query = select(JARS.c.code, JARS.c.outcome).where(JARS.c.id.in_(part))
        found += [(row[0], row[1] is None) for row in connection.execute(query)]
    return found


def active_jars(
    connection: Connection,
    after: tuple[str, str] | None = None,
    count: int = PAGE,
    batch: str | None = None,
) -> list[dict[str, Any]]:
    """Jars without an outcome, last filled first, each with its last look under `look`.

    `after` is the `filled_at` and `code` of the last one shown, to page on; with `batch`, only
    jars of that batch.
    """
    jars = bare_jars(connection, after, count, batch)
    looks = last_looks(connection, [jar["id"] for jar in jars])
    return [jar | {"look": looks.get(jar["id"])} for jar in jars]


def bare_jars(
    connection: Connection,
    after: tuple[str, str] | None = None,
    count: int = PAGE,
    batch: str | None = None,
) -> list[dict[str, Any]]:
    """Jars without an outcome as `active_jars` gives them, but without their looks."""
    return _jars(connection, JARS.c.outcome.is_(None), after, count, batch)


def past_jars(
    connection: Connection,
    outcomes: Sequence[str],
    after: tuple[str, str] | None = None,
    count: int = PAGE,
) -> list[dict[str, Any]]:
    """Jars with one of some outcomes, last filled first; `after` as for `active_jars`.

    Each outcome is asked for by itself, since the index then gives the order.
    """
    found = [
        jar
        for outcome in outcomes
        for jar in _jars(connection, JARS.c.outcome == outcome, after, count)
    ]
    return sorted(found, key=lambda jar: (jar["filled_at"], jar["code"]), reverse=True)[:count]


def _jars(
    connection: Connection,
    which: Any,
    after: tuple[str, str] | None,
    count: int,
    batch: str | None = None,
) -> list[dict[str, Any]]:
    query = select(JARS).where(~JARS.c.undone, which)
    if batch is not None:
        query = query.where(JARS.c.batch == batch)
    if after is not None:
        filled_at, code = after
        query = query.where(
            JARS.c.filled_at <= filled_at,
            or_(JARS.c.filled_at < filled_at, JARS.c.code < code),
        )
    query = query.order_by(JARS.c.filled_at.desc(), JARS.c.code.desc()).limit(count)
    return [dict(row) for row in connection.execute(query).mappings().all()]


def is_any_jar(connection: Connection) -> bool:
    """Whether the book has any jar at all."""
    return connection.execute(select(JARS.c.id).where(~JARS.c.undone).limit(1)).first() is not None


def last_looks(connection: Connection, jars: Sequence[str]) -> dict[str, dict[str, Any]]:
    """The last look at each of some jars."""
    last = (
        select(LOOKS.c.jar, func.max(LOOKS.c.at).label("at"))
        .where(LOOKS.c.jar.in_(jars), ~LOOKS.c.undone)
        .group_by(LOOKS.c.jar)
        .subquery()
    )
    query = select(LOOKS).join(last, and_(LOOKS.c.jar == last.c.jar, LOOKS.c.at == last.c.at))
    rows = connection.execute(query.where(~LOOKS.c.undone).order_by(LOOKS.c.id)).mappings()
    return {row["jar"]: dict(row) for row in rows}


def story_of(connection: Connection, jar: str) -> dict[str, list[dict[str, Any]]]:
    """All records about a jar by kind, each kind in the order of time."""
    told = {}
    for kind, order in (("inoculation", "at"), ("look", "at"), ("shake", "at"), ("use", "at")):
        table = OF_KIND[kind]
        query = select(table).where(table.c.jar == jar, ~table.c.undone).order_by(table.c[order])
        told[kind] = [dict(row) for row in connection.execute(query).mappings()]
    return told


@dataclass(frozen=True)
class Stock:
    """Jars of a kind, or lids: what the household has, and where it is."""

    item: str
    owned: int
    out: int
    """Filled, on the shelf, in the fridge, or used and not yet washed."""
    binned: int

    @property
    def free(self) -> int:
        """Clean and empty; below zero if more were filled than entered as bought."""
        return self.owned - self.out - self.binned


def stock_of_jars(connection: Connection) -> list[Stock]:
    """The jars by kind."""
    owned, kinds = owned_of(connection, "jar"), _kinds_filled(connection)
    out, binned = (_counted(connection, kinds, back) for back in (None, "binned"))
    items = sorted({*owned, *out, *binned})
    return [Stock(i, owned.get(i, 0), out.get(i, 0), binned.get(i, 0)) for i in items]


def _kinds_filled(connection: Connection) -> list[str]:
    """The kinds of all jars that were ever filled: a step to the next one in the index each."""
    kinds: list[str] = []
    following = select(func.min(JARS.c.jar_kind)).where(~JARS.c.undone)
    found = connection.execute(following).scalar()
    while found is not None:
        kinds.append(found)
        found = connection.execute(following.where(JARS.c.jar_kind > found)).scalar()
    return kinds


def _counted(connection: Connection, kinds: list[str], back: str | None) -> dict[str, int]:
    """Jars of some kinds that are not back, or binned; those that are washed are not touched."""
    is_it = JARS.c.jar_back.is_(None) if back is None else JARS.c.jar_back == back
    query = (
        select(JARS.c.jar_kind, func.count())
        .where(~JARS.c.undone, JARS.c.jar_kind.in_(kinds), is_it)
        .group_by(JARS.c.jar_kind)
    )
    return {row[0]: row[1] for row in connection.execute(query)}


def stock_of_lids(connection: Connection) -> Stock:
    """All lids together: which sort is on which jar is not asked for."""
    out, binned = (
        connection.execute(select(func.count()).where(~JARS.c.undone, is_it)).scalar_one()
        for is_it in (JARS.c.lid_back.is_(None), JARS.c.lid_back == "binned")
    )
    return Stock("lid", sum(owned_of(connection, "lid").values()), out, binned)


def owned_of(connection: Connection, what: str) -> dict[str, int]:
    """How many jars or lids of each sort the household has in all."""
    query = (
        select(_CHANGES.c.item, func.sum(_CHANGES.c.change))
        .where(_CHANGES.c.what == what, ~_CHANGES.c.undone)
        .group_by(_CHANGES.c.item)
    )
    return {row[0]: int(row[1]) for row in connection.execute(query)}


def runs_with_spoiled(
    connection: Connection, jars: Sequence[str]
) -> dict[str, list[dict[str, Any]]]:
    """For each of some spoiled jars: the runs of its own in which it was sterilized, in order."""
    query = (
        select(_RUNS, _LOADS.c.spoiled_jar)
        .join(_LOADS, _LOADS.c.run == _RUNS.c.id)
        .where(_LOADS.c.spoiled_jar.in_(jars), ~_LOADS.c.undone, ~_RUNS.c.undone)
        .order_by(_RUNS.c.started_at)
    )
    found: dict[str, list[dict[str, Any]]] = {}
    for row in connection.execute(query).mappings():
        found.setdefault(row["spoiled_jar"], []).append(dict(row))
    return found
