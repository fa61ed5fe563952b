"""What people call a record, and which record they mean by what they say."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, tzinfo
from difflib import get_close_matches
from typing import Any

from sqlalchemy import Connection, func, select

from spawnwright.errors import Contradiction, UnknownName, Unusable
from spawnwright.records.book.codes import read_code
from spawnwright.records.book.form import ID
from spawnwright.store.book.history import current
from spawnwright.store.book.tables import JARS, OF_KIND, RECORDS

NAMED = ("batch", "culture", "lot", "lid batch", "strain", "block")
"""Kinds with a name of their own, in the order in which a name is looked for."""
_DATED = {"sterilizer run": ("run of", "started_at"), "grain batch": ("grain of", "made_at")}


def name_of(row: Mapping[str, Any], zone: tzinfo | None = None) -> str:
    """What a record is called: a jar by its code, a run by its day, others by their name."""
    kind = row["kind_of_record"]
    if kind == "jar":
        return str(row["code"])
    if kind in NAMED:
        return str(row["name"])
    if kind in _DATED:
        word, column = _DATED[kind]
        return f"{word} {_day_of(row[column], zone)}"
    at = row.get("at")
    return kind if at is None else f"{kind} of {_day_of(at, zone)}"


def names_of_records(
    connection: Connection, records: Iterable[str], zone: tzinfo | None = None
) -> dict[str, str]:
    """What some records are called."""
    return {record: name_of(row, zone) for record, row in current(connection, records).items()}


def _day_of(instant: str, zone: tzinfo | None) -> str:
    when = datetime.fromisoformat(instant)
    return (when if zone is None else when.astimezone(zone)).date().isoformat()


def record_named(connection: Connection, said: str, zone: tzinfo | None = None) -> str:
    """The record that somebody means by a jar's code, a name, a run's day, "last run", or an id.

    Raises
    ------
    Contradiction
        If several are called so; they are named with their ids.
    UnknownName
        If none is; the nearest names are offered.
    """
    text = " ".join(said.split())
    for found in (_jars(connection, text), _named(connection, text), _runs(connection, text, zone)):
        if len(found) > 1:
            told = ", ".join(f"{kind} {record}" for kind, record in found[:5])
            raise Contradiction(f"{len(found)} are called {text!r}: {told}. Name one by its id.")
        if found:
            return found[0][1]
    if ID.fullmatch(text):
        query = select(RECORDS.c.id).where(RECORDS.c.id == text)
        if connection.execute(query).first() is not None:
            return text
    raise UnknownName("jar, lot, culture, batch or run", text, _nearest(connection, text))


def _jars(connection: Connection, text: str) -> list[tuple[str, str]]:
    try:
        code = read_code(text)
    except Unusable:
        code = ""
    query = select(JARS.c.id).where(~JARS.c.undone)
    by_code = connection.execute(query.where(JARS.c.code == code)).scalars().all() if code else []
    return [("jar", record) for record in by_code]


def _named(connection: Connection, text: str) -> list[tuple[str, str]]:
    found = []
    for kind in NAMED:
        table = OF_KIND[kind]
        query = select(table.c.id).where(~table.c.undone, func.lower(table.c.name) == text.lower())
        found += [(kind, record) for record in connection.execute(query).scalars()]
    return found


def _runs(connection: Connection, text: str, zone: tzinfo | None) -> list[tuple[str, str]]:
    table = OF_KIND["sterilizer run"]
    query = select(table.c.id, table.c.started_at).where(~table.c.undone)
    if text.lower() in ("last", "last run"):
        last = connection.execute(query.order_by(table.c.started_at.desc())).first()
        return [] if last is None else [("sterilizer run", last[0])]
    day = text.lower().removeprefix("run").strip().removeprefix("of").strip()
    if not day[:4].isdigit():
        return []
    return [
        ("sterilizer run", record)
        for record, started in connection.execute(query.order_by(table.c.started_at))
        if _day_of(started, zone) == day
    ]


def _nearest(connection: Connection, text: str) -> tuple[str, ...]:
    names: list[str] = []
    for kind in NAMED:
        table = OF_KIND[kind]
        names += connection.execute(select(table.c.name).where(~table.c.undone)).scalars()
    by_case = {name.casefold(): name for name in names}
    return tuple(by_case[each] for each in get_close_matches(text.casefold(), by_case, 3))
