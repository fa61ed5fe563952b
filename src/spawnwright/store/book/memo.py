"""Answers that hold until the next step: kept in memory, by the last step of the book."""

from __future__ import annotations

from typing import Any, Generic, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, func, select

from spawnwright.store.book.tables import STEPS

Answer = TypeVar("Answer")
MOST = 20_000
_LAST = select(func.max(STEPS.c.number))


class UntilNextStep(Generic[Answer]):
    """Answers by record, for each open book; forgotten as soon as a step is added.

    A reader sees the book as it was when it began; answers found there are kept under the last
    step that it sees, so a reader of an older view never gets a newer answer, nor the other way.
    """

    def __init__(self) -> None:
        self._kept: WeakKeyDictionary[Engine, tuple[Any, dict[str, Answer]]] = WeakKeyDictionary()

    def of(self, connection: Connection) -> dict[str, Answer]:
        """The answers that hold for this view of the book; what is put into it is kept."""
        last = connection.execute(_LAST).scalar()
        kept = self._kept.get(connection.engine)
        if kept is None or kept[0] != last or len(kept[1]) > MOST:
            kept = (last, {})
            self._kept[connection.engine] = kept
        return kept[1]
