"""The shelf a page at a time: how its jars stand, which of them ask for somebody."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.forecast import JarForecast, Question, questions
from spawnwright.actions.book.standing import ASKING, READY, WHITE, Standing, standings
from spawnwright.errors import UnknownName
from spawnwright.records.book.form import ID

if TYPE_CHECKING:
    from sqlalchemy import Connection

Forecaster = Callable[["Connection", Sequence[Question]], Mapping[str, JarForecast]]
"""Gives the forecasts that are there, by key, and has the others worked out."""

PAGE = 100
MOST_LOOKED_THROUGH = 150
"""Jars that one page looks through for those that are asked for; the next page goes on."""
LENGTH_OF_INSTANT = 27
FILTERS = ("all", "asking", "ready")


@dataclass(frozen=True)
class Shelf:
    """A page of the shelf; `after` leads to the next one, none if there is none.

    `looked_through` counts the jars that were judged to find these; `waiting` those whose forecast
    is being worked out.
    """

    jars: tuple[Standing, ...]
    after: str | None
    looked_through: int
    waiting: int
    is_book_empty: bool


def shelf_page(
    connection: Connection,
    forecaster: Forecaster,
    now: datetime,
    *,
    which: str = "all",
    batch: str | None = None,
    after: str | None = None,
) -> Shelf:
    """A page of the active jars, last filled first.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    forecaster : callable
        Gives forecasts.
    now : datetime
        With an offset.
    which : str
        One of `FILTERS`: all; those that ask for somebody, the most urgent of the page first;
        those that are ready or white.
    batch : str, optional
        Only jars of this batch.
    after : str, optional
        Where the page before ended.
    """
    from spawnwright.store.book import shelf

    if batch is not None and not ID.fullmatch(batch):
        raise UnknownName("batch", batch[:70], ())
    most = PAGE if which == "all" else MOST_LOOKED_THROUGH
    found = shelf.bare_jars(connection, place(after), most + 1, batch)
    page = found[:most]
    judged = judge(connection, forecaster, page, now)
    wanted = [each for each in judged if _is_wanted(each, which)]
    last: Mapping[str, Any] | None = page[-1] if len(found) > most else None
    if len(wanted) > PAGE:
        last, wanted = wanted[PAGE - 1].jar, wanted[:PAGE]
    if which == "asking":
        wanted = sorted(wanted, key=_urgency)
    is_empty = not found and after is None and not shelf.is_any_jar(connection)
    return Shelf(
        tuple(wanted),
        None if last is None else f"{last['filled_at']} {last['code']}",
        len(page),
        sum(each.is_waiting for each in wanted),
        is_empty,
    )


def judge(
    connection: Connection,
    forecaster: Forecaster,
    jars: Sequence[Mapping[str, Any]],
    now: datetime,
) -> list[Standing]:
    """How some jars stand."""
    asked = questions(connection, jars)
    wanted = [each.question for each in asked.values() if each.question is not None]
    return standings(connection, jars, asked, forecaster(connection, wanted), now)


def _is_wanted(standing: Standing, which: str) -> bool:
    if which == "asking":
        return standing.asks
    return which != "ready" or standing.state in (READY, WHITE)


def _urgency(standing: Standing) -> int:
    """Bad signs first, then what is in doubt otherwise, late, or unseen."""
    return ASKING.index(standing.state) if standing.state in ASKING else len(ASKING)


def place(after: str | None) -> tuple[str, str] | None:
    """Where to page on from, as a page's address told it; none for what cannot be one."""
    filled_at, _, code = (after or "").partition(" ")
    is_good = len(filled_at) == LENGTH_OF_INSTANT and filled_at.isprintable() and code.isalnum()
    return (filled_at, code) if is_good else None


@dataclass(frozen=True)
class PastShelf:
    """A page of jars that have their outcome."""

    jars: tuple[dict[str, Any], ...]
    after: str | None


def past_shelf(
    connection: Connection, outcome: str | None = None, after: str | None = None
) -> PastShelf:
    """A page of jars that were used, given away, discarded or spoiled, last filled first."""
    from spawnwright.records.book.grown import OUTCOMES
    from spawnwright.store.book import shelf

    outcomes = [outcome] if outcome in OUTCOMES else list(OUTCOMES)
    found = shelf.past_jars(connection, outcomes, place(after), PAGE + 1)
    page = found[:PAGE]
    more = f"{page[-1]['filled_at']} {page[-1]['code']}" if len(found) > PAGE else None
    return PastShelf(tuple(page), more)


def batch_name(connection: Connection, batch: str) -> str | None:
    """The name of a batch; none if there is no such batch."""
    from spawnwright.store.book.origins import batches_named

    found = batches_named(connection, [batch]).get(batch) if ID.fullmatch(batch) else None
    return None if found is None else str(found["name"])


def batches_going_on(connection: Connection) -> list[dict[str, Any]]:
    """Id and name of the batches that go on, last started first; at most thirty."""
    from spawnwright.store.book.origins import batch_names

    return batch_names(connection, 30)
