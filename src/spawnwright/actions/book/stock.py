"""Jars and lids of the household: bought, broken, counted; and what all of it cost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import Entered, arrived, check_days, made_id, with_step
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.errors import Unusable
from spawnwright.records.book.steps import Entry

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book
    from spawnwright.store.book.shelf import Stock


@dataclass(frozen=True)
class Rack:
    """Jars by kind, and lids: how many there are and where they are; the last changes."""

    jars: list[Stock]
    lids: Stock
    changes: list[dict[str, Any]]


def rack(connection: Connection, count: int = 20) -> Rack:
    """What the household has; the last `count` changes."""
    from spawnwright.store.book.costs import last_rows
    from spawnwright.store.book.shelf import stock_of_jars, stock_of_lids

    changes = last_rows(connection, "stock change", "changed_on", count)
    return Rack(stock_of_jars(connection), stock_of_lids(connection), changes)


def change_stock(book: Book, hand: Hand, about: Mapping[str, Any], now: datetime) -> Entered:
    """Enter jars or lids that came or went; fillings and returns count by themselves.

    `about`: `what` (jar or lid), `item`, `change` (below zero for those that are gone), `reason`,
    `note`. With the reason "counted", `change` is how many there are in all.
    """
    hand = with_step(hand)
    made = made_id(hand, "stock change")
    kept = arrived(book, hand)
    if kept:
        return Entered(made, kept)
    fields: dict[str, Any] = {"changed_on": hand.at.date()} | dict(about)
    if fields["reason"] == "counted":
        fields["change"] -= _owned(book, fields["what"], fields["item"])
        if not fields["change"]:
            raise Unusable("That is as many as the book has; nothing needs to be changed.")
    elif fields["reason"] in ("broken", "given away"):
        owned, gone = _owned(book, fields["what"], fields["item"]), abs(fields["change"])
        if gone > owned:
            raise Unusable(
                f"The book has {owned} of these, so {gone} cannot be {fields['reason']}; enter "
                "first how many there are in all, as counted."
            )
        fields["change"] = -gone
    if not fields["change"]:
        raise Unusable("How many is 0; nothing would change.")
    title = f"{fields['reason']}: {abs(fields['change'])} {fields['item']}"[:200]
    return Entered(made, enter(book, hand, title, (Entry(made, "stock change", fields),), now))


def _owned(book: Book, what: str, item: str) -> int:
    from spawnwright.store.book.shelf import owned_of

    with book.read() as connection:
        return owned_of(connection, what).get(item, 0)


def add_cost(book: Book, hand: Hand, about: Mapping[str, Any], now: datetime) -> Entered:
    """Enter money or hours spent: `what`, `amount`, `unit` (EUR, or h for hours), `spent_on`."""
    hand = with_step(hand)
    made = made_id(hand, "cost")
    kept = arrived(book, hand)
    if not kept:
        fields = {"spent_on": hand.at.date()} | dict(about)
        check_days(fields, now, spent_on="The day")
        fields["unit"] = _unit(str(fields.get("unit", "")))
        if abs(fields["amount"]) > MOST_SPENT:
            raise Unusable(f"{fields['amount']:g} {fields['unit']} is more than anybody spends.")
        title = f"cost: {fields.get('what', '')}"[:200]
        kept = enter(book, hand, title, (Entry(made, "cost", fields),), now)
    return Entered(made, kept)


MOST_SPENT = 1e7


def _unit(typed: str) -> str:
    """A currency in three capitals, or h, so that one sum is not told as two."""
    if typed.strip().lower() in ("h", "hour", "hours"):
        return "h"
    unit = typed.strip().upper()
    if len(unit) != 3 or not (unit.isascii() and unit.isalpha()):
        raise Unusable(
            f"{typed[:20]!r} is no currency; give its three letters, such as EUR or USD, or h for "
            "hours."
        )
    return unit


@dataclass(frozen=True)
class Spent:
    """What was spent: sums by year and unit, and the last entries."""

    sums: list[tuple[str, str, float]]
    last: list[dict[str, Any]]


def spent(connection: Connection, count: int = 50) -> Spent:
    """Money and hours: sums of each year, last year first, and the last entries."""
    from spawnwright.store.book.costs import last_rows, sums_by_year

    return Spent(sums_by_year(connection), last_rows(connection, "cost", "spent_on", count))
