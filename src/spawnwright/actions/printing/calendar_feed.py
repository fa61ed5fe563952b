"""The calendar of all batches: what waits, and what is off."""

from __future__ import annotations

from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING

from spawnwright.records.book.form import instant_text
from spawnwright.records.feed import FeedEvent

if TYPE_CHECKING:
    from sqlalchemy import Connection

REMEMBERED = timedelta(days=60)
"""So long after its end a task that is off is still told of, so that each calendar hears it."""


def calendar_feed(connection: Connection, zone: tzinfo, now: datetime) -> bytes:
    """The feed as an iCalendar file, its hours in a time zone; an empty book gives an empty one."""
    from spawnwright.paper.calendar import feed_ics

    return feed_ics(feed_events(connection, zone, now), zone)


def feed_events(connection: Connection, zone: tzinfo, now: datetime) -> list[FeedEvent]:
    """Open tasks of all batches that go on, and as cancelled those that are off.

    Off is what was done or skipped, what a new plan dropped, what was undone, and what an ended
    batch had left. The revision counts the steps of the book that bear on the task or its batch.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    zone : tzinfo
        In which days are told.
    now : datetime
        With an offset; only says what is too long ago to be told of.
    """
    from spawnwright.store.book.feed import revisions, tasks_told

    rows = tasks_told(connection, instant_text(now - REMEMBERED))
    told = revisions(connection, {row[name] for row in rows for name in ("id", "batch")})
    events = []
    for row in rows:
        (own, own_last), (of_batch, batch_last) = told[row["id"]], told[row["batch"]]
        at, until, changed = (
            datetime.fromisoformat(text).astimezone(zone)
            for text in (row["at"], row["until"], max(own_last, batch_last))
        )
        events.append(
            FeedEvent(
                uid=f"task-{row['id']}",
                revision=own + of_batch,
                changed=changed,
                at=at,
                until=until,
                title=f"{row['title']} ({row['batch_name']})",
                kind=row["kind"] or "",
                detail=row["detail"] or "",
                cautions=tuple((row["cautions"] or "").splitlines()),
                is_attended=bool(row["is_attended"]),
                is_cancelled=not row["is_open"],
            )
        )
    return events
