"""What is in doubt: quarantine a record and see what descends from it; a mock recall."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import Entered, arrived, change_entry, made_id, with_step
from spawnwright.actions.book.jars import Hand, Recall, enter, recall, recall_among
from spawnwright.errors import Contradiction, UnknownName
from spawnwright.records.book.steps import Entry, Kept

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book


ALL_LISTED = 2000
"""Up to so many jars a recall lists all, also those that are used up or thrown away."""


def quarantine(book: Book, hand: Hand, record: str, why: str, now: datetime) -> Entered:
    """Put a record in doubt, and with it all that descends from it, now and later.

    Raises
    ------
    Contradiction
        If the record itself is in quarantine already.
    """
    from spawnwright.store.book.history import current
    from spawnwright.store.book.names import name_of

    hand = with_step(hand)
    made = made_id(hand, "quarantine", record)
    kept = arrived(book, hand)
    if kept:
        return Entered(made, kept)
    with book.read() as connection:
        row = current(connection, [record]).get(record)
        if row is None:
            raise UnknownName("record", record, ())
        if active_quarantines(connection, record):
            raise Contradiction(f"{name_of(row)} is in quarantine already; lift that first.")
    entry = Entry(made, "quarantine", {"record": record, "at": hand.at, "why": why})
    return Entered(made, enter(book, hand, f"quarantine {name_of(row)}", (entry,), now))


def lift(
    book: Book, hand: Hand, quarantined: str, why: str | None, now: datetime,
    seen: tuple[str, ...] | None = None,
) -> Kept:  # fmt: skip
    """Lift a quarantine, named by its own id or by that of the record that is in doubt."""
    from spawnwright.store.book.history import current
    from spawnwright.store.book.names import name_of

    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        rows = active_quarantines(connection, quarantined)
        if not rows:
            raise Contradiction(f"No quarantine of {quarantined} stands; there is none to lift.")
        about = current(connection, [rows[0]["record"]])[rows[0]["record"]]
    said = {"lifted_at": hand.at} | ({} if why is None else {"lifted_why": why})
    entries = tuple(change_entry(row | {"kind_of_record": "quarantine"}, said, seen)
                    for row in rows)  # fmt: skip
    return enter(book, hand, f"lift the quarantine of {name_of(about)}", entries, now)


def active_quarantines(connection: Connection, record: str | None = None) -> list[dict[str, Any]]:
    """The quarantines that stand: all, or those of a record, or the one of that id."""
    from sqlalchemy import select

    from spawnwright.store.book.tables import OF_KIND

    table = OF_KIND["quarantine"]
    query = select(table).where(~table.c.undone, table.c.lifted_at.is_(None))
    if record is not None:
        query = query.where((table.c.record == record) | (table.c.id == record))
    return [dict(row) for row in connection.execute(query.order_by(table.c.at)).mappings()]


@dataclass(frozen=True)
class Doubt:
    """A quarantine that stands, and what it holds."""

    quarantine: dict[str, Any]
    name: str
    kind: str
    recall: Recall


def in_doubt(connection: Connection, zone: tzinfo | None = None) -> list[Doubt]:
    """Each quarantine that stands, oldest first, with all that descends from its record."""
    from spawnwright.store.book.history import current
    from spawnwright.store.book.names import name_of

    rows = active_quarantines(connection)
    about = current(connection, [row["record"] for row in rows])
    return [
        Doubt(
            row,
            name_of(about[row["record"]], zone),
            about[row["record"]]["kind_of_record"],
            recall(connection, row["record"]),
        )
        for row in rows
    ]


def quarantines_of(
    connection: Connection, records: Iterable[str], zone: tzinfo | None = None
) -> dict[str, list[dict[str, Any]]]:
    """For each of some records that is in doubt: the quarantines over it, with what they name."""
    from spawnwright.store.book.history import current
    from spawnwright.store.book.lineage import quarantines_over
    from spawnwright.store.book.names import names_of_records

    over = quarantines_over(connection, records)
    rows = current(connection, {each for found in over.values() for each in found})
    named = names_of_records(connection, {row["record"] for row in rows.values()}, zone)
    return {
        record: [rows[each] | {"name": named[rows[each]["record"]]} for each in found]
        for record, found in over.items()
    }


def refuse_in_doubt(connection: Connection, records: Iterable[str], in_spite: bool) -> None:
    """Refuse what is in quarantine, unless the grower says that it is meant."""
    if in_spite:
        return
    over = quarantines_of(connection, records)
    for found in over.values():
        raise Contradiction(
            f"In doubt because of {found[0]['name']} ({found[0]['why']}). Lift the quarantine, "
            "or say that it is used in spite of it."
        )


@dataclass(frozen=True)
class MockRecall:
    """What would have to be called back if one record turned out bad; nothing is changed."""

    name: str
    recall: Recall
    jars: tuple[dict[str, Any], ...]
    """Code, where it is, and what became of it; the record itself if it is a jar. Those still here
    come first, then those given away; of more than `ALL_LISTED` jars, these alone."""
    jars_in_all: int
    blocks: tuple[dict[str, Any], ...]
    """Name, container, and the mushrooms picked from it so far [kg]."""


def mock_recall(connection: Connection, named: str, zone: tzinfo | None = None) -> MockRecall:
    """A recall of what somebody names: a jar's code, a name, "last run", a run's day, an id."""
    from spawnwright.store.book import lineage
    from spawnwright.store.book.names import names_of_records, record_named
    from spawnwright.store.book.refold import numbers_of

    record = record_named(connection, named, zone)
    reached = lineage.below(connection, record)
    found = recall_among(connection, record, reached)
    reached |= set(numbers_of(connection, [record]).values())
    in_all = found.jars + (found.kind == "jar")
    listed = None if in_all <= ALL_LISTED else (None, "given away")
    return MockRecall(
        names_of_records(connection, [record], zone)[record],
        found,
        tuple(lineage.jars_among(connection, reached, listed)),
        in_all,
        tuple(lineage.blocks_with_harvest(connection, lineage.blocks_among(connection, reached))),
    )
