"""Short ways for tests of the grower's actions."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from spawnwright.actions.book.jars import Hand, fill_jars, new_id
from spawnwright.store.book.history import current
from tests.store.book.entering import START

HAND = Hand("Ada", "phone", START)


def hand(hours: float = 0, **more) -> Hand:
    """Ada's hand, so many hours after the start of these tests' time."""
    return replace(HAND, at=START + timedelta(hours=hours), **more)


def sent(hours: float = 0, device: str = "phone") -> Hand:
    """A hand whose device made the step's id, so that it can send twice."""
    return hand(hours, step=new_id(), device=device)


def filled(book, count: int, **about) -> list[str]:
    """Jars that were filled at the start; gives their ids."""
    return list(fill_jars(book, HAND, count, {"jar_kind": "quart"} | about, START).values())


def row(book, record: str) -> dict:
    """A record as it is now."""
    with book.read() as connection:
        return current(connection, [record])[record]
