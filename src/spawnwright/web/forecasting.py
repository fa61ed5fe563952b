"""Forecasts for pages: those that are kept at once, the others worked out beside the server."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.forecast import (
    JarForecast,
    Question,
    keep_forecast,
    kept_forecasts,
    work_out,
)
from spawnwright.actions.book.shelf import judge

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.actions.book.standing import Standing
    from spawnwright.web.desk import Desk

MOST_AT_ONCE = 40
"""Questions that one page sends to the worker; the next page sends more."""


@dataclass(frozen=True)
class Forecaster:
    """What a page hands to actions that need forecasts; it never waits for one."""

    desk: Desk

    def __call__(
        self, connection: Connection, questions: Sequence[Question]
    ) -> Mapping[str, JarForecast]:
        """The forecasts that are there, by key; the others are begun."""
        by_key = {each.key: each for each in questions}
        found = kept_forecasts(connection, by_key)
        lacking = [key for key in by_key if key not in found]
        came = self._take(lacking)
        for key in [each for each in lacking if each not in came][:MOST_AT_ONCE]:
            self.desk.compute.later(key, work_out, by_key[key])
        return {**found, **came}

    def _take(self, keys: Sequence[str]) -> dict[str, JarForecast]:
        """Those that the worker has finished; kept for the next time."""
        came = {}
        for key in keys:
            taken = self.desk.compute.taken(key)
            if taken is not None and taken[0]:
                came[key] = keep_forecast(self.desk.book, key, taken[1], self.desk.now())
        return came

    def judge(
        self, connection: Connection, jars: Sequence[Mapping[str, Any]], now: datetime
    ) -> list[Standing]:
        """How some jars stand."""
        return judge(connection, self, jars, now)

    def standing(
        self, connection: Connection, jar: Mapping[str, Any], at: datetime | None = None
    ) -> Standing:
        """How one jar stands now, or stood at an instant by what is known now."""
        return judge(connection, self, [jar], at or self.desk.now())[0]
