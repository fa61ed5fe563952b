"""Jars and lids of the household, and what everything cost."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from spawnwright.actions.book import stock as book_stock
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.choices import jar_choices
from spawnwright.errors import Unusable
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

REASONS = (("bought", "bought"), ("counted", "counted: so many in all"), ("broken", "broken"),
           ("given away", "given away"))  # fmt: skip


def stock_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """What there is, and where it is."""
    with desk_of(request).book.read() as connection:
        rack = book_stock.rack(connection)
    return show(
        request, "stock.html", rack=rack, jars=jar_choices(), reasons=REASONS,
        typed=typed or {}, problem=problem,
    )  # fmt: skip


def keep_stock(request: Request, form: Form, hand: Hand) -> Done:
    """Jars or lids came or went."""
    desk = desk_of(request)
    item = form.needed("item", "Which jars, or lids,")
    count = form.count("count", "How many")
    if count is None or count < 0:
        raise Unusable("How many? Give a whole number, 0 or more.")
    about: dict[str, Any] = {
        "what": "lid" if item == "lid" else "jar",
        "item": item,
        "change": count,
        "reason": form.needed("reason", "Why the number changes"),
    }
    if form.text("note"):
        about["note"] = form.text("note")
    entered = book_stock.change_stock(desk.book, hand, about, desk.now())
    return Done("/stock", entered.kept.step)


def costs_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """What was spent."""
    with desk_of(request).book.read() as connection:
        spent = book_stock.spent(connection)
    unit = next((each["unit"] for each in spent.last if each["unit"] != "h"), "EUR")
    return show(request, "costs.html", spent=spent, unit=unit, typed=typed or {}, problem=problem)


def keep_cost(request: Request, form: Form, hand: Hand) -> Done:
    """Money or hours were spent."""
    desk = desk_of(request)
    amount = form.number("amount", "How much")
    if amount is None:
        raise Unusable("How much is missing; fill it in.")
    about: dict[str, Any] = {
        "what": form.needed("what", "What it was for"),
        "amount": amount,
        "unit": form.needed("unit", "The currency, or h for hours,"),
        "spent_on": form.text("spent_on"),
        "note": form.text("note"),
    }
    known = {name: value for name, value in about.items() if value is not None}
    entered = book_stock.add_cost(desk.book, hand, known, desk.now())
    return Done("/costs", entered.kept.step)


ROUTES = [entry("/stock", keep_stock, stock_page), entry("/costs", keep_cost, costs_page)]
