"""The history as people read it: the last steps, and what can be undone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy import Connection


def step_named(connection: Connection, step: str) -> dict[str, str] | None:
    """Id and title of a step that stands; none if there is no such step or it is undone."""
    from sqlalchemy import select

    from spawnwright.store.book.tables import STEPS

    query = select(STEPS.c.id, STEPS.c.title).where(STEPS.c.id == step, ~STEPS.c.undone)
    row = connection.execute(query).one_or_none()
    return None if row is None else {"id": row[0], "title": row[1]}


@dataclass(frozen=True)
class PastStep:
    """A step as the list of steps shows it; `is_undone` if it counts for nothing now."""

    id: str
    at: str
    received: str
    who: str
    device: str
    title: str
    undoes: str | None
    is_undone: bool


def last_steps(
    connection: Connection, count: int = 50, before: str | None = None
) -> list[PastStep]:
    """The last steps received, newest first; `before` is the `received` of the last one shown."""
    from sqlalchemy import select

    from spawnwright.store.book.tables import STEPS

    query = select(STEPS).order_by(STEPS.c.received.desc(), STEPS.c.id.desc()).limit(count)
    if before:
        query = query.where(STEPS.c.received < before)
    return [
        PastStep(
            row["id"], row["at"], row["received"], row["who"], row["device"], row["title"],
            row["undoes"], bool(row["undone"]),
        )
        for row in connection.execute(query).mappings()
    ]  # fmt: skip
