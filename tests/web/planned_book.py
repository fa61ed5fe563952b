"""A planned batch for tests of pages: an invented wish, planned once, and what came of it."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import cache
from zoneinfo import ZoneInfo

from spawnwright.actions.book.batches import batch_story, start_batch
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.planning.asked import planned
from spawnwright.actions.planning.form import first_typed, read_typed
from spawnwright.records.kit import Kit
from spawnwright.records.plan import Plan

UTC = ZoneInfo("UTC")
BEGUN = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)
"""When the batch is planned: five days before the clock of the tests."""
CHANGES = {"start": ["2026-11-24"], "ready_by": [""], "tested": ["2026-11-19"]}


@cache
def wish_and_plan(at: datetime = BEGUN) -> tuple[str, Plan]:
    """Five good jars of blue oyster from 24 November on; the text of the wish, and its plan."""
    typed = first_typed(Kit(), "metric", at) | CHANGES
    text, _ = read_typed(typed, "metric", at)
    return text, planned(text, at)


def started(book, name: str = "Oyster for the market") -> str:
    """A batch from that plan; gives its id."""
    text, plan = wish_and_plan()
    return start_batch(book, hand(BEGUN), name, text, plan, BEGUN)


def hand(at: datetime) -> Hand:
    """Somebody at the bench."""
    return Hand("Ada", "phone", at)


def tasks(book, batch: str, now: datetime) -> dict:
    """The tasks of a batch by their keys."""
    with book.read() as connection:
        return {each.key: each for each in batch_story(connection, batch, now).tasks}


def days(count: float) -> timedelta:
    """So many days."""
    return timedelta(days=count)
