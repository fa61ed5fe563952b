"""An entry of a calendar: a step of a plan or a task of a batch, or that it is off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class FeedEvent:
    """What a calendar is told of one step; instants have an offset.

    `uid` stays the same as long as it is the same step, wherever it moves; it has no "@".
    `revision` rises with every change, which lets a calendar tell a newer word from an older one.
    """

    uid: str
    revision: int
    changed: datetime
    at: datetime
    until: datetime
    title: str
    kind: str = ""
    detail: str = ""
    cautions: tuple[str, ...] = ()
    is_attended: bool = True
    latest: datetime | None = None
    is_cancelled: bool = False
    """Done, skipped or dropped: calendars take it out, or strike it through."""
