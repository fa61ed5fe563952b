"""What is in doubt, and what would have to be called back."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from spawnwright.actions.book import doubt as book_doubt
from spawnwright.actions.book.jars import Hand
from spawnwright.errors import SpawnwrightError
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show


def page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """The quarantines that stand; with a name, everything that came of it."""
    desk, named = desk_of(request), request.query_params.get("named", "").strip()
    found, trouble = None, ""
    with desk.book.read() as connection:
        doubts = book_doubt.in_doubt(connection, desk.zone())
        if named:
            try:
                found = book_doubt.mock_recall(connection, named, desk.zone())
            except SpawnwrightError as reason:
                trouble = str(reason)
    return show(
        request, "doubt.html", doubts=doubts, named=named, found=found, trouble=trouble,
        typed=typed or {}, problem=problem,
    )  # fmt: skip


def keep_quarantine(request: Request, form: Form, hand: Hand) -> Done:
    """Put a record in doubt."""
    desk = desk_of(request)
    record = form.needed("record", "What is in doubt")
    entered = book_doubt.quarantine(
        desk.book, hand, record, form.needed("why", "Why it is in doubt"), desk.now()
    )
    return Done("/doubt", entered.kept.step)


def keep_lift(request: Request, form: Form, hand: Hand) -> Done:
    """Lift a quarantine."""
    desk, named = desk_of(request), request.path_params["quarantine"]
    kept = book_doubt.lift(
        desk.book, hand, named, form.text("why"), desk.now(), form.seen() or None
    )
    return Done("/doubt", kept.step)


ROUTES = [
    entry("/doubt/quarantine", keep_quarantine),
    entry("/doubt/{quarantine}/lift", keep_lift),
    entry("/doubt", keep_quarantine, page),
]
