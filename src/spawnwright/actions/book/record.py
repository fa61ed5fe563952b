"""One record as a page shows it: as it is now, and all that was ever said of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import tzinfo
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.past import Dispute, disputes, history_of
from spawnwright.errors import UnknownName
from spawnwright.records.book.steps import Step

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True)
class RecordStory:
    """A record as it is now, and all that was ever said of it."""

    row: dict[str, Any]
    kind: str
    name: str
    values: dict[str, Any]
    """What it says now, without what is empty."""
    steps: tuple[Step, ...]
    disputes: tuple[Dispute, ...]


def record_story(connection: Connection, record: str, zone: tzinfo | None = None) -> RecordStory:
    """Everything about a record; raises `UnknownName` if there is none of that id."""
    from spawnwright.records.book.form import columns
    from spawnwright.records.book.kinds import KINDS
    from spawnwright.store.book.history import current
    from spawnwright.store.book.names import name_of

    row = current(connection, [record]).get(record)
    if row is None:
        raise UnknownName("record", record, ())
    kind = row["kind_of_record"]
    known = [name for name, each in columns(KINDS[kind]).items()
             if each.metadata["type"] not in ("series", "document")]  # fmt: skip
    return RecordStory(
        row, kind, name_of(row, zone),
        {name: row[name] for name in known if row[name] is not None},
        tuple(history_of(connection, record)),
        tuple(each for each in disputes(connection, zone) if each.record == record),
    )  # fmt: skip
