"""The diary of the demo's season: what is to be entered, each at its instant, in order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.jars import Hand
from spawnwright.records.season import Season

if TYPE_CHECKING:
    from spawnwright.store.book.engine import Book

Entering = Callable[[Hand, datetime], Any]
"""Enters something by a hand; the instant is that of receipt."""


@dataclass
class Diary:
    """The season's book, its clock and its chance; entries are planned, then entered in order."""

    book: Book
    season: Season
    now: datetime
    pages: list[tuple[datetime, int, str, Entering]] = field(default_factory=list)
    known: dict[str, Any] = field(default_factory=dict)
    """Ids of records by what the scenario calls them, once they are entered."""

    def __post_init__(self) -> None:
        self.chance = Random(self.season.seed)

    def days_ago(self, days: float, hour: float = 19.0) -> datetime:
        """An instant some days back, at a time of day by the clock of `now`."""
        day = (self.now - timedelta(days=days)).replace(minute=0, second=0, microsecond=0)
        return day.replace(hour=int(hour), minute=int(60 * (hour % 1)))

    def at(self, instant: datetime, entering: Entering, device: str = "") -> None:
        """Plan an entry; one that lies ahead of now has not happened."""
        if instant <= self.now:
            device = device or self.season.phone
            self.pages.append((instant, len(self.pages), device, entering))

    def write(self) -> int:
        """Enter everything that is planned, in the order of time; gives the number of entries.

        What is planned while this goes on, at a later instant than what is being entered, is
        entered too.
        """
        from spawnwright.store.book.notebook import hashed

        written = 0
        while self.pages:
            self.pages.sort(key=lambda page: page[:2], reverse=True)
            instant, number, device, entering = self.pages.pop()
            step = hashed(
                f"season\x1f{self.season.seed}\x1f{instant.isoformat()}\x1f{number}\x1f{written}"
            )
            entering(Hand(self.season.grower, device, instant, step), instant)
            written += 1
        return written
