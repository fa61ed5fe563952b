"""Lineage: what a record came from, and all that came from it.

The walk asks the database for one generation at a time, so its cost follows the size of the answer
and the number of generations, not the size of the book.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from heapq import nsmallest
from itertools import groupby
from operator import itemgetter
from typing import Any

from sqlalchemy import Connection, func, select, text

from spawnwright.errors import UnknownName
from spawnwright.records.book.form import references
from spawnwright.records.book.kinds import KINDS
from spawnwright.store.book.refold import in_parts, numbers_of
from spawnwright.store.book.tables import LINKS, OF_KIND, RECORDS

_NEXT = {
    ("sqlite", "down"): (
        "SELECT json_group_array(links.child) FROM json_each(:now) AS now "
        "JOIN links ON links.parent = now.value"
    ),
    ("sqlite", "up"): (
        "SELECT json_group_array(links.parent) FROM json_each(:now) AS now "
        "JOIN links ON links.child = now.value"
    ),
    ("postgresql", "down"): (
        "SELECT coalesce(json_agg(child)::text, '[]') FROM links WHERE parent = ANY("
        "SELECT json_array_elements_text(CAST(:now AS json))::bigint)"
    ),
    ("postgresql", "up"): (
        "SELECT coalesce(json_agg(parent)::text, '[]') FROM links WHERE child = ANY("
        "SELECT json_array_elements_text(CAST(:now AS json))::bigint)"
    ),
}
_PARENTS = text("SELECT json_group_array(parent) FROM (SELECT DISTINCT parent FROM links)")
CROWD = 10_000
"""From so many records on it is quicker to ask first which of all records have children at all,
where the database answers that from the top of its index."""


@dataclass(frozen=True)
class Relative:
    """A record on the way, `steps` links away by the shortest way."""

    id: str
    kind: str
    steps: int


def descendants(connection: Connection, records: Iterable[str]) -> list[Relative]:
    """All that came from some records, nearest first, themselves not counted."""
    return _relatives(connection, records, "down")


def ancestors(connection: Connection, records: Iterable[str]) -> list[Relative]:
    """All that some records came from, nearest first, themselves not counted."""
    return _relatives(connection, records, "up")


def walk(
    connection: Connection, start: Iterable[int], way: str, most: int | None = None
) -> dict[int, int]:
    """Numbers of all records reached from `start`, which is included, with their distance.

    `way` is "down" to what came from them, "up" to what they came from. With `most`, the walk ends
    with the generation that makes them more. They come in the order of their distance.
    """
    dialect = connection.dialect.name
    query = text(_NEXT[dialect, way])
    reached = dict.fromkeys(start, 0)
    now, steps = list(reached), 0
    while now and (most is None or len(reached) <= most):
        steps += 1
        if len(now) > CROWD and (dialect, way) == ("sqlite", "down"):
            parents = connection.execute(_PARENTS).scalar_one()
            now = list(set(json.loads(parents)).intersection(now))
        found = json.loads(connection.execute(query, {"now": json.dumps(now)}).scalar_one())
        fresh = dict.fromkeys(found, steps)
        for each in reached if len(reached) < len(fresh) else list(fresh):
            if each in reached:
                fresh.pop(each, None)
        reached |= fresh
        now = list(fresh)
    return reached


def _relatives(connection: Connection, records: Iterable[str], way: str) -> list[Relative]:
    start = set(records)
    numbers = numbers_of(connection, start)
    for record in start - numbers.keys():
        raise UnknownName("record", record, ())
    reached = walk(connection, numbers.values(), way)
    far = {number: steps for number, steps in reached.items() if steps > 0}
    named = names_of(connection, far)
    found = [Relative(*named[number], steps) for number, steps in far.items()]
    return sorted(found, key=lambda each: (each.steps, each.kind, each.id))


def below(connection: Connection, record: str) -> set[int]:
    """The numbers of all that came from a record, itself not counted."""
    numbers = numbers_of(connection, [record])
    if not numbers:
        raise UnknownName("record", record, ())
    return set(walk(connection, numbers.values(), "down")) - set(numbers.values())


def nearest(
    connection: Connection, record: str, way: str, most: int, *, counted: bool = True
) -> tuple[list[Relative], int]:
    """The nearest relatives of a record, "up" or "down", and how many there are in all.

    Only the nearest are looked up, so that a strain's first jar is as quick as its last; without
    `counted`, the others are not walked to either, and the number is of those that were met.
    """
    numbers = numbers_of(connection, [record])
    if not numbers:
        raise UnknownName("record", record, ())
    reached = walk(connection, numbers.values(), way, None if counted else most)
    chosen: list[tuple[int, int]] = []
    for steps, generation in groupby(reached.items(), key=itemgetter(1)):
        if steps and len(chosen) < most:
            firsts = nsmallest(most - len(chosen), (number for number, _ in generation))
            chosen += [(number, steps) for number in firsts]
    named = names_of(connection, [number for number, _ in chosen])
    found = [Relative(*named[number], steps) for number, steps in chosen]
    return sorted(found, key=lambda each: (each.steps, each.kind, each.id)), len(reached) - 1


def names_of(connection: Connection, numbers: Iterable[int]) -> dict[int, tuple[str, str]]:
    """Id and kind of the records of some numbers."""
    found: dict[int, tuple[str, str]] = {}
    wanted = sorted(numbers)
    for start in range(0, len(wanted), 5000):
        part = wanted[start : start + 5000]
        query = select(RECORDS.c.number, RECORDS.c.id, RECORDS.c.kind).where(
            RECORDS.c.number.in_(part)
        )
        found.update((row[0], (row[1], row[2])) for row in connection.execute(query))
    return found


def quarantines_over(connection: Connection, records: Iterable[str]) -> dict[str, list[str]]:
    """For each of some records that is in doubt, the quarantines: its own or an ancestor's.

    A quarantine holds for whatever descends from its record, also if it came later.
    """
    table = OF_KIND["quarantine"]
    query = select(table.c.id, table.c.record).where(~table.c.undone, table.c.lifted_at.is_(None))
    active: dict[str, list[str]] = {}
    for quarantine, record in connection.execute(query):
        active.setdefault(record, []).append(quarantine)
    if not active:
        return {}
    wanted = numbers_of(connection, records)
    doubted = numbers_of(connection, active)
    below = _children_above(connection, wanted.values())
    over: dict[int, list[str]] = {}
    for record, number in doubted.items():
        reached, now = {number}, {number}
        while now:
            now = {child for each in now for child in below.get(each, ())} - reached
            reached |= now
        for each in reached:
            over.setdefault(each, []).extend(active[record])
    return {r: sorted(over[number]) for r, number in wanted.items() if number in over}


def _children_above(connection: Connection, start: Iterable[int]) -> dict[int, list[int]]:
    """All links above some records, as the children of each; a question a generation."""
    below: dict[int, list[int]] = {}
    now = set(start)
    seen = set(now)
    while now:
        found: set[int] = set()
        ordered = sorted(now)
        for place in range(0, len(ordered), 5000):
            part = ordered[place : place + 5000]
            query = select(LINKS.c.child, LINKS.c.parent).where(LINKS.c.child.in_(part))
            for child, parent in connection.execute(query):
                below.setdefault(parent, []).append(child)
                found.add(parent)
        now = found - seen
        seen |= now
    return below


def generations(connection: Connection, jars: Iterable[str]) -> dict[str, int]:
    """The generation of each jar: 1 from a culture, one more than the jar it was inoculated from.

    A jar without an inoculation is generation 0; of several origins the furthest counts.
    """
    table = OF_KIND["inoculation"]
    origins: dict[str, list[str | None]] = {}
    now = set(jars)
    while now:
        query = select(table.c.jar, table.c.from_jar).where(table.c.jar.in_(now), ~table.c.undone)
        origins.update({jar: [] for jar in now})
        for jar, from_jar in connection.execute(query):
            origins[jar].append(from_jar)
        now = {each for jar in now for each in origins[jar] if each} - origins.keys()
    known: dict[str, int] = {}

    def of(jar: str, below: frozenset[str]) -> int:
        if jar not in known:
            above = [of(each, below | {jar}) if each and each not in below else 0
                     for each in origins[jar]]  # fmt: skip
            known[jar] = 1 + max(above) if above else 0
        return known[jar]

    return {jar: of(jar, frozenset()) for jar in jars}


_CHILDREN = frozenset(
    (name if to == "id" else references(kind)[to])
    for name, kind in KINDS.items()
    for _, to in kind.LINKS
)
"""The kinds that come from something."""
FEW = 2000
"""Up to so many records are looked up one by one; of more, the kinds are asked for those meant."""
_WHERE = ("code", "stored_where", "outcome", "outcome_at", "outcome_note")


def kinds_among(connection: Connection, numbers: Collection[int]) -> dict[str, int]:
    """How many of some records, all of which came from something, are of each kind."""
    if len(numbers) <= FEW:
        named = names_of(connection, numbers).values()
        return dict(sorted(Counter(kind for _, kind in named).items()))
    query = select(RECORDS.c.number, RECORDS.c.kind).where(RECORDS.c.kind.in_(_CHILDREN - {"jar"}))
    counted = Counter(kind for number, kind in connection.execute(query) if number in numbers)
    counted["jar"] = len(numbers) - counted.total()
    return dict(sorted((+counted).items()))


def jars_among(
    connection: Connection, numbers: Collection[int], outcomes: Sequence[str | None] | None = None
) -> list[dict[str, Any]]:
    """Of the jars among some records: code, place, outcome with its note.

    Those without an outcome come first, then those given away. With `outcomes`, only jars with one
    of these; None stands for none yet.
    """
    table = OF_KIND["jar"]
    query = (
        select(RECORDS.c.number, *(table.c[name] for name in _WHERE))
        .join(RECORDS, RECORDS.c.id == table.c.id)
        .where(~table.c.undone)
    )
    found: list[Any] = []
    if len(numbers) <= FEW:
        # By id, since from the numbers on SQLite may go through all jars of the book.
        named = names_of(connection, numbers).values()
        for part in in_parts((record for record, kind in named if kind == "jar"), 500):
            found += connection.execute(query.where(table.c.id.in_(part)))
    elif outcomes is None:
        found += connection.execute(query)
    else:
        for outcome in outcomes:
            is_it = table.c.outcome.is_(None) if outcome is None else table.c.outcome == outcome
            found += connection.execute(query.where(is_it))
    jars = [dict(zip(_WHERE, row[1:], strict=True)) for row in found if row[0] in numbers]
    wanted = [jar for jar in jars if outcomes is None or jar["outcome"] in outcomes]
    return sorted(wanted, key=_most_urgent)


def _most_urgent(jar: dict[str, Any]) -> tuple[int, str]:
    here, given = jar["outcome"] is None, jar["outcome"] == "given away"
    return (0 if here else 1 if given else 2, jar["code"])


def blocks_among(connection: Connection, numbers: Collection[int]) -> list[str]:
    """The ids of the blocks among some records."""
    query = select(RECORDS.c.number, RECORDS.c.id).where(RECORDS.c.kind == "block")
    return [record for number, record in connection.execute(query) if number in numbers]


def blocks_with_harvest(connection: Connection, blocks: Iterable[str]) -> list[dict[str, Any]]:
    """Of some blocks: name, container, the day of their end, mushrooms picked so far [kg]."""
    table, harvests = OF_KIND["block"], OF_KIND["harvest"]
    found: list[dict[str, Any]] = []
    for part in in_parts(blocks, 5000):
        query = (
            select(
                table.c.name, table.c.container, table.c.ended_on,
                func.coalesce(func.sum(harvests.c.mass_kg), 0.0).label("harvest_kg"),
            )
            .outerjoin(harvests, (harvests.c.block == table.c.id) & ~harvests.c.undone)
            .where(table.c.id.in_(part))
            .group_by(table.c.id, table.c.name, table.c.container, table.c.ended_on)
            .order_by(table.c.name)
        )  # fmt: skip
        found += [dict(row) for row in connection.execute(query).mappings()]
    return found
