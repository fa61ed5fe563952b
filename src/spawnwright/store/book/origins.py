"""Where what grows in a jar comes from, asked for a whole page of jars at once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Any

from sqlalchemy import BindParameter, Connection, Select, Table, bindparam, select

from spawnwright.store.book.memo import UntilNextStep
from spawnwright.store.book.refold import in_parts, numbers_of
from spawnwright.store.book.tables import LINKS, OF_KIND

_INOCULATIONS, _CULTURES = OF_KIND["inoculation"], OF_KIND["culture"]
_STRAINS, _QUARANTINES = OF_KIND["strain"], OF_KIND["quarantine"]
_BATCHES, _GRAIN, _SHAKES = OF_KIND["batch"], OF_KIND["grain batch"], OF_KIND["shake"]
MOST_GENERATIONS = 60
_SPECIES: UntilNextStep[str | None] = UntilNextStep()
_DOUBTS: UntilNextStep[list[str]] = UntilNextStep()
_TOLD = ("jar", "at", "culture", "from_jar", "dose_ml", "dose_g", "way")


def _about_jars(table: Table, *names: str) -> Select[Any]:
    """Rows of a table about `:jars`, last first; made once, since a page asks it often."""
    columns = [table.c[name] for name in names]
    query = select(*columns).where(table.c.jar.in_(_JARS), ~table.c.undone)
    return query.order_by(table.c.at.desc(), table.c.id)


_JARS: BindParameter[Any] = bindparam("jars", expanding=True)
_FIRST_INOCULATIONS = _about_jars(_INOCULATIONS, *_TOLD)
_FIRST_SHAKES = _about_jars(_SHAKES, "jar", "at")
_CULTURES_FROM = (
    select(_CULTURES.c.id, _STRAINS.c.species, _CULTURES.c.parent, _CULTURES.c.from_jar)
    .outerjoin(_STRAINS, _STRAINS.c.id == _CULTURES.c.strain)
    .where(_CULTURES.c.id.in_(bindparam("cultures", expanding=True)))
)
_PARENTS = select(LINKS.c.child, LINKS.c.parent).where(
    LINKS.c.child.in_(bindparam("children", expanding=True))
)


def first_inoculations(connection: Connection, jars: Sequence[str]) -> dict[str, dict[str, Any]]:
    """The first inoculation of each of some jars; jars without one are left out."""
    found = {}
    for part in in_parts(jars):
        for row in connection.execute(_FIRST_INOCULATIONS, {"jars": part}).all():
            found[row[0]] = dict(zip(_TOLD, row, strict=True))
    return found


def first_shakes(connection: Connection, jars: Sequence[str]) -> dict[str, str]:
    """When each of some jars was shaken first; jars that never were are left out."""
    found: dict[str, str] = {}
    for part in in_parts(jars):
        for jar, at in connection.execute(_FIRST_SHAKES, {"jars": part}).all():
            found[jar] = at
    return found


def batches_named(connection: Connection, batches: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Name, species and shelf of some batches, by id, with the species of their strain."""
    found: dict[str, dict[str, Any]] = {}
    for part in in_parts(set(batches)):
        query = (
            select(
                _BATCHES.c.id, _BATCHES.c.name, _BATCHES.c.species, _BATCHES.c.shelf_c,
                _STRAINS.c.species.label("strain_species"),
            )
            .outerjoin(_STRAINS, _STRAINS.c.id == _BATCHES.c.strain)
            .where(_BATCHES.c.id.in_(part))
        )  # fmt: skip
        for row in connection.execute(query).mappings():
            told = dict(row)
            found[row["id"]] = told | {"species": told.pop("strain_species") or told["species"]}
    return found


def batch_names(connection: Connection, count: int) -> list[dict[str, Any]]:
    """Id and name of the batches that go on, last started first."""
    query = (
        select(_BATCHES.c.id, _BATCHES.c.name)
        .where(~_BATCHES.c.undone, _BATCHES.c.ended_on.is_(None))
        .order_by(_BATCHES.c.started_at.desc(), _BATCHES.c.id)
        .limit(count)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def grains_of(connection: Connection, grain_batches: Iterable[str]) -> dict[str, str]:
    """The grain of some grain batches, by id."""
    found: dict[str, str] = {}
    for part in in_parts(set(grain_batches)):
        query = select(_GRAIN.c.id, _GRAIN.c.grain).where(_GRAIN.c.id.in_(part))
        found.update((row[0], row[1]) for row in connection.execute(query))
    return found


def species_of_jars(
    connection: Connection, inoculated: dict[str, dict[str, Any]]
) -> dict[str, str]:
    """The species that grows in each of some jars, from what they were inoculated with.

    The walk goes up one generation a question, through jars and cultures, until it meets a strain;
    jars whose origin names none are left out.
    """
    known = _SPECIES.of(connection)
    lacking = {jar: row for jar, row in inoculated.items() if jar not in known}
    found = _species_of(connection, lacking) if lacking else {}
    known |= {jar: found.get(jar) for jar in lacking}
    return {jar: named for jar in inoculated if (named := known[jar])}


def _species_of(connection: Connection, inoculated: dict[str, dict[str, Any]]) -> dict[str, str]:
    above: dict[str, str | None] = {}
    species: dict[str, str] = {}
    for jar, row in inoculated.items():
        above[jar] = row["culture"] or row["from_jar"]
    jars = {row["from_jar"] for row in inoculated.values() if row["from_jar"]} - above.keys()
    cultures = {row["culture"] for row in inoculated.values() if row["culture"]}
    for _ in range(MOST_GENERATIONS):
        if not jars and not cultures:
            break
        found = _cultures(connection, cultures) | _of_jars(connection, jars)
        following = (set[str](), set[str]())
        for record, (named, culture, source) in found.items():
            if named:
                species[record] = named
            above[record] = culture or source
            if not named:
                following[0].update({culture} if culture else ())
                following[1].update({source} if source else ())
        cultures, jars = (each - above.keys() for each in following)
    return {jar: named for jar in inoculated if (named := _first(jar, above, species))}


def _first(record: str, above: dict[str, str | None], species: dict[str, str]) -> str | None:
    met: set[str] = set()
    here: str | None = record
    while here is not None and here not in met:
        if here in species:
            return species[here]
        met.add(here)
        here = above.get(here)
    return None


def _cultures(
    connection: Connection, cultures: set[str]
) -> dict[str, tuple[str | None, str | None, str | None]]:
    """For each culture: the species of its strain, its parent, the jar that it is from."""
    found = {}
    for part in in_parts(cultures):
        for row in connection.execute(_CULTURES_FROM, {"cultures": part}).all():
            found[row[0]] = (row[1], row[2], row[3])
    return found


def _of_jars(
    connection: Connection, jars: set[str]
) -> dict[str, tuple[str | None, str | None, str | None]]:
    return {
        jar: (None, row["culture"], row["from_jar"])
        for jar, row in first_inoculations(connection, sorted(jars)).items()
    }


def doubted(connection: Connection, records: Sequence[str]) -> dict[str, list[str]]:
    """For each of some records that is in doubt, why: of its own quarantine or an ancestor's.

    As `lineage.quarantines_over` tells for one record, but for a page of them with one question a
    generation.
    """
    known = _DOUBTS.of(connection)
    lacking = [record for record in records if record not in known]
    found = _doubted(connection, lacking) if lacking else {}
    known |= {record: found.get(record, []) for record in lacking}
    return {record: known[record] for record in records if known[record]}


def _doubted(connection: Connection, records: Sequence[str]) -> dict[str, list[str]]:
    query = select(_QUARANTINES.c.record, _QUARANTINES.c.why).where(
        ~_QUARANTINES.c.undone, _QUARANTINES.c.lifted_at.is_(None)
    )
    active: dict[str, list[str]] = {}
    for record, why in connection.execute(query):
        active.setdefault(record, []).append(why)
    if not active:
        return {}
    wanted, bad = numbers_of(connection, records), numbers_of(connection, active)
    why_of = {number: active[record] for record, number in bad.items()}
    parents = _parents(connection, set(wanted.values()))
    above: dict[int, frozenset[int]] = {}
    found = {}
    for record, number in wanted.items():
        bad_above = _bad_above(number, parents, why_of.keys(), above)
        if bad_above:
            found[record] = [why for each in sorted(bad_above) for why in why_of[each]]
    return found


def _bad_above(
    start: int,
    parents: dict[int, list[int]],
    bad: Collection[int],
    known: dict[int, frozenset[int]],
) -> frozenset[int]:
    """Those in doubt among a record and all that it came from; `known` is filled on the way."""
    reached, now = {start}, [start]
    found: set[int] = set()
    while now:
        here = now.pop()
        if here in known:
            found |= known[here]
            continue
        if here in bad:
            found.add(here)
        new = [up for up in parents.get(here, ()) if up not in reached]
        reached.update(new)
        now += new
    known[start] = frozenset(found)
    return known[start]


def _parents(connection: Connection, start: set[int]) -> dict[int, list[int]]:
    parents: dict[int, list[int]] = {}
    now = start
    while now:
        parents.update({each: [] for each in now})
        children = sorted(now)
        for first in range(0, len(children), 5000):
            part = children[first : first + 5000]
            for child, parent in connection.execute(_PARENTS, {"children": part}).all():
                parents[child].append(parent)
        now = {up for each in now for up in parents[each]} - parents.keys()
    return parents
