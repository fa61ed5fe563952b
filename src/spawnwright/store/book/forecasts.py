"""Forecasts kept so that a page need not wait for the model; no part of the history.

A forecast is found by its key, which says all that it was made from. One made by another version
of a model is as good as none.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, insert, select

from spawnwright.records.book.form import instant_text
from spawnwright.store.book.tables import FORECASTS


@dataclass(frozen=True)
class Forecast:
    """An answer of a model, as JSON text; `made_at` is UTC text."""

    key: str
    model: str
    made_at: str
    answer: str


def get_forecast(connection: Connection, key: str, model: str | None = None) -> Forecast | None:
    """The forecast of a key, if there is one, and by that model if one is named."""
    query = select(FORECASTS).where(FORECASTS.c.key == key)
    if model is not None:
        query = query.where(FORECASTS.c.model == model)
    row = connection.execute(query).mappings().one_or_none()
    return None if row is None else Forecast(**row)


def get_forecasts(connection: Connection, keys: list[str]) -> dict[str, Forecast]:
    """The forecasts of some keys, as far as there are any."""
    query = select(FORECASTS).where(FORECASTS.c.key.in_(keys))
    return {row["key"]: Forecast(**row) for row in connection.execute(query).mappings()}


def put_forecast(connection: Connection, key: str, model: str, answer: str, now: datetime) -> None:
    """Keep a forecast, in the place of one of the same key."""
    connection.execute(delete(FORECASTS).where(FORECASTS.c.key == key))
    row = {"key": key, "model": model, "made_at": instant_text(now), "answer": answer}
    connection.execute(insert(FORECASTS), row)


def drop_forecasts(connection: Connection, before: datetime) -> int:
    """Forget the forecasts made before an instant; gives how many those were."""
    old = delete(FORECASTS).where(FORECASTS.c.made_at < instant_text(before))
    return connection.execute(old).rowcount
