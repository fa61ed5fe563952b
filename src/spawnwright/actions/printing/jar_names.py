"""What paper says of a jar: its strain or culture, its batch, the day where the grower is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spawnwright.errors import UnknownName, Unusable

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book

PAGE = 1000
_MOST_GENERATIONS = 60


@contextmanager
def there(named: str | None) -> Iterator[Book]:
    """The book or export that was named, or the grower's own; none is made to print nothing."""
    from spawnwright.actions.book.opening import reading
    from spawnwright.store.book.place import book_path

    if named is None and not book_path(None).is_file():
        raise Unusable(
            f"There is no record book {book_path(None)} yet, so there are no jars to print. "
            "`./run serve` begins one; --file names another."
        )
    with reading(named) as book:
        yield book


def check_target(target: Path, named: str | None) -> None:
    """Refuse a place that cannot be written to, or that is the book or export itself."""
    from spawnwright.store.book.place import book_path, is_url
    from spawnwright.store.files import check_writable

    check_writable(target, None if is_url(named) else book_path(named))


def own_zone() -> tzinfo:
    """The time zone of the kit, else of this machine."""
    from zoneinfo import ZoneInfo

    from spawnwright.actions.own_kit.kit import own_kit

    named = own_kit().time_zone
    if named:
        return ZoneInfo(named)
    import tzlocal

    return tzlocal.get_localzone()


def active(connection: Connection, batch: str | None = None) -> list[dict[str, Any]]:
    """All jars without an outcome, each with its last look under `look`; first filled first."""
    from spawnwright.store.book.shelf import active_jars

    found: list[dict[str, Any]] = []
    page = active_jars(connection, None, PAGE, batch)
    while page:
        found += page
        after = (page[-1]["filled_at"], page[-1]["code"])
        page = active_jars(connection, after, PAGE, batch) if len(page) == PAGE else []
    return sorted(found, key=lambda jar: (jar["filled_at"], jar["code"]))


def batch_meant(connection: Connection, said: str) -> str:
    """The batch of that name or id; the nearest names are offered if there is none."""
    from difflib import get_close_matches

    from spawnwright.store.book.batches import listed_batches

    names = {str(row["id"]): str(row["name"]) for row in listed_batches(connection, ended=True)}
    for batch, name in names.items():
        if said == batch or said.casefold() == name.casefold():
            return batch
    raise UnknownName("batch", said, tuple(get_close_matches(said, names.values(), 3)))


def batch_names(connection: Connection, jars: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """The names of the batches of some jars, by the batch's id."""
    from spawnwright.store.book.history import current

    rows = current(connection, {jar["batch"] for jar in jars if jar["batch"]})
    return {batch: row["name"] for batch, row in rows.items()}


def strains_of(connection: Connection, jars: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """What grows in some jars, by the jar's id: the strain's name, else the culture's.

    Where a jar was inoculated from another one, that one's origin counts. A jar that was not
    inoculated is taken to get the strain of its batch; jars of which nothing is known are left
    out, and so are control jars that were not inoculated: nothing is to grow in them.
    """
    from spawnwright.store.book.history import current

    origins = _origins(connection, [jar["id"] for jar in jars])
    batches = current(connection, {jar["batch"] for jar in jars if jar["batch"]})
    wanted: dict[str, str] = {}
    for jar in jars:
        planned = batches.get(jar["batch"], {}).get("strain")
        if jar["id"] in origins:
            wanted[jar["id"]] = origins[jar["id"]]
        elif planned and not jar["is_control"]:
            wanted[jar["id"]] = planned
    named = _strain_names(connection, set(wanted.values()))
    return {jar: named[record] for jar, record in wanted.items() if record in named}


def _origins(connection: Connection, jars: Sequence[str]) -> dict[str, str]:
    """The culture that each of some inoculated jars goes back to, through other jars."""
    from spawnwright.store.book.origins import first_inoculations

    above: dict[str, dict[str, Any]] = {}
    now: set[str] = set(jars)
    for _ in range(_MOST_GENERATIONS):
        if not now:
            break
        found = first_inoculations(connection, sorted(now))
        above |= found
        now = {row["from_jar"] for row in found.values() if row["from_jar"]} - above.keys()
    origins = {}
    for jar in jars:
        here, met = jar, set[str]()
        while here in above and here not in met and above[here]["from_jar"]:
            met.add(here)
            here = above[here]["from_jar"]
        culture = above.get(here, {}).get("culture")
        if culture:
            origins[jar] = culture
    return origins


def _strain_names(connection: Connection, records: set[str]) -> dict[str, str]:
    """What cultures and strains are called: a culture by its strain, or by its own name."""
    from spawnwright.store.book.history import current

    rows = current(connection, records)
    strain_of = {record: row.get("strain") for record, row in rows.items()}
    strains = current(connection, {each for each in strain_of.values() if each})
    return {
        record: strains[strain]["name"] if strain in strains else rows[record]["name"]
        for record, strain in strain_of.items()
    }
