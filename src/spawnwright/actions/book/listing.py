"""The shelf as lines of a table, for who has no page at hand."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from spawnwright.errors import UnknownName

if TYPE_CHECKING:
    from sqlalchemy import Connection

MOST = 1000


@dataclass(frozen=True)
class ShelfLine:
    """One active jar; instants are UTC text."""

    code: str
    name: str | None
    jar_kind: str
    batch: str | None
    """The batch's name."""
    stored_where: str | None
    is_control: bool
    filled_at: str
    inoculated_at: str | None
    age_days: float
    """Since it was inoculated, else since it was filled [d]."""
    looked_at: str | None
    percent: float | None
    sign: str | None
    is_in_doubt: bool
    """Whether a quarantine is over it."""


def shelf_lines(
    connection: Connection, now: datetime, count: int = 100, batch: str | None = None
) -> list[ShelfLine]:
    """Active jars, last filled first; of the batch of that name or id, if one is said."""
    from spawnwright.store.book.batches import listed_batches
    from spawnwright.store.book.lineage import quarantines_over
    from spawnwright.store.book.shelf import active_jars
    from spawnwright.store.book.story import inoculated_at

    names = {row["id"]: row["name"] for row in listed_batches(connection, ended=True)}
    wanted = None if batch is None else _batch_meant(batch, names)
    jars = active_jars(connection, count=count, batch=wanted)
    ids = [jar["id"] for jar in jars]
    since, over = inoculated_at(connection, ids), quarantines_over(connection, ids)
    lines = []
    for jar in jars:
        begun = since.get(jar["id"])
        look = jar["look"] or {}
        age = now - datetime.fromisoformat(begun or jar["filled_at"])
        lines.append(
            ShelfLine(
                jar["code"], jar["name"], jar["jar_kind"], names.get(jar["batch"]),
                jar["stored_where"], bool(jar["is_control"]), jar["filled_at"], begun,
                age.total_seconds() / 86400, look.get("at"), look.get("percent"),
                look.get("sign"), jar["id"] in over,
            )
        )  # fmt: skip
    return lines


def _batch_meant(said: str, names: dict[str, str]) -> str:
    from difflib import get_close_matches

    for batch, name in names.items():
        if said == batch or said.casefold() == name.casefold():
            return batch
    raise UnknownName("batch", said, tuple(get_close_matches(said, names.values(), 3)))
