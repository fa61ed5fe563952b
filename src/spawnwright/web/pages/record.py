"""What was said of a record, and settling what two devices said differently."""

from __future__ import annotations

import json

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.actions.book import past as book_past
from spawnwright.actions.book import record as book_record
from spawnwright.actions.book.jars import Hand
from spawnwright.errors import Unusable
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show


def record_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """One record: as it is now, and every entry about it."""
    desk = desk_of(request)
    with desk.book.read() as connection:
        told = book_record.record_story(connection, request.path_params["record"], desk.zone())
    return show(request, "record.html", told=told, typed=typed or {}, problem=problem)


def settle_list(request: Request) -> Response:
    """All that is said differently and not settled."""
    desk = desk_of(request)
    with desk.book.read() as connection:
        open_ = book_past.disputes(connection, desk.zone())
    return show(request, "settle.html", disputes=open_)


def keep_settled(request: Request, form: Form, hand: Hand) -> Done:
    """Say which of two values holds."""
    desk, record = desk_of(request), request.path_params["record"]
    name = form.needed("field", "What is settled")
    try:
        value = json.loads(form.needed("value", "Which value holds"))
    except ValueError:
        raise Unusable("Choose one of the values that are shown.") from None
    kept = book_past.settle(desk.book, hand, record, {name: value}, desk.now(), form.seen() or None)
    return Done(f"/record/{record}", kept.step)


ROUTES = [
    Route("/settle", settle_list),
    entry("/record/{record}/settle", keep_settled),
    Route("/record/{record}", record_page),
]
