"""What there is to print: sheets of labels, batches, the feed of open tasks."""

from __future__ import annotations

from datetime import datetime, tzinfo
from typing import TYPE_CHECKING, Any

from spawnwright.actions.choices import Choice

if TYPE_CHECKING:
    from sqlalchemy import Connection


def sheet_choices() -> list[Choice]:
    """The sheets of labels, the grower's own included."""
    from spawnwright.store.label_sheets import label_sheets

    return [
        (key, f"{each.paper}, {each.columns} × {each.rows}, "
              f"{1000 * each.width_m:g} × {1000 * each.height_m:g} mm")
        for key, each in label_sheets().items()
    ]  # fmt: skip


def batches_with_jars(connection: Connection) -> list[Choice]:
    """The batches that go on, by name."""
    from spawnwright.actions.book.batches import batches

    return [(line.row["name"], line.row["name"]) for line in batches(connection)
            if line.jars.get("")]  # fmt: skip


def batch_row(connection: Connection, batch: str) -> dict[str, Any]:
    """A batch with its documents; raises `UnknownName` if there is none of that id."""
    from spawnwright.actions.book.hand import rows_of

    return rows_of(connection, [batch], "batch")[batch]


def feed(connection: Connection, zone: tzinfo, now: datetime) -> bytes:
    """All open tasks as an iCalendar file."""
    from spawnwright.actions.printing.calendar_feed import calendar_feed

    return calendar_feed(connection, zone, now)
