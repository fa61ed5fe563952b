"""What is printed: labels, the shelf list, a batch's sheet; and the calendar feed."""

from __future__ import annotations

import hmac
import secrets
from datetime import datetime
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright import units
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.own_files import own_files
from spawnwright.actions.printing import paper_choices
from spawnwright.actions.printing.labels import Wanted
from spawnwright.errors import Unusable
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.private_files import write_private
from spawnwright.web.show import show

_PRINTED = "spawnwright.actions.printing.printed"
FEED_KEY = "feed-key"


def page(request: Request, problem: str = "") -> Response:
    """What can be printed, and the address of the feed."""
    desk = desk_of(request)
    with desk.book.read() as connection:
        batches = paper_choices.batches_with_jars(connection)
    key = _feed_key()
    return show(
        request, "paper.html", batches=batches, sheets=paper_choices.sheet_choices(),
        batch=request.query_params.get("batch", ""), host=desk.kit().host, problem=problem,
        feed=f"{desk.address.for_phones}feed/{key}.ics" if key else "",
        asked={name: [value] for name, value in request.query_params.items()},
    )  # fmt: skip


def labels(request: Request) -> Response:
    """Labels as a PDF."""
    desk, asked = desk_of(request), _asked(request)
    which = asked.text("which") or "active"
    codes = tuple((asked.text("codes") or "").replace(",", " ").split())
    if which == "codes" and not codes:
        raise Unusable("Which jars? Give their codes, with spaces between.")
    wanted = Wanted(
        codes=codes if which == "codes" else (),
        all_active=which == "active",
        batch=asked.needed("batch", "Which batch") if which == "batch" else None,
        start_at=asked.count("start_at", "The first label") or 1,
        offset_x_m=_offset(asked, "offset_x"),
        offset_y_m=_offset(asked, "offset_y"),
    )
    made = desk.compute.answer(
        f"{_PRINTED}:labels_sheet", desk.book_named, wanted, asked.text("sheet")
    )
    return _pdf(made, "labels.pdf")


def alignment(request: Request) -> Response:
    """The alignment page of a sheet."""
    desk, asked = desk_of(request), _asked(request)
    made = desk.compute.answer(
        f"{_PRINTED}:alignment_sheet", asked.text("sheet"), _offset(asked, "offset_x"),
        _offset(asked, "offset_y"),
    )  # fmt: skip
    return _pdf(made, "alignment.pdf")


def shelf(request: Request) -> Response:
    """The shelf list."""
    desk, asked = desk_of(request), _asked(request)
    made = desk.compute.answer(
        f"{_PRINTED}:shelf_sheet", desk.book_named, desk.now(), asked.text("paper"),
        asked.text("batch"),
    )  # fmt: skip
    return _pdf(made, "shelf.pdf")


def batch_sheet(request: Request) -> Response:
    """A batch's page for the wall."""
    desk = desk_of(request)
    with desk.book.read() as connection:
        row = paper_choices.batch_row(connection, request.path_params["batch"])
    if not row["plan"] or not row["wish"]:
        raise Unusable("This batch was not planned, so there is no sheet of it.")
    planned = datetime.fromisoformat(row["planned_at"]).astimezone(desk.zone())
    made = desk.compute.answer(f"{_PRINTED}:batch_sheet", row["wish"], row["plan"], planned)
    return _pdf(made, "batch.pdf")


def run_sheet(request: Request) -> Response:
    """The record of a run that a logger was in."""
    desk, run = desk_of(request), request.path_params["run"]
    return _pdf(desk.compute.answer(f"{_PRINTED}:run_sheet", desk.book_named, run), "run.pdf")


def feed(request: Request) -> Response:
    """All open tasks as a calendar, for whoever has its secret address."""
    desk, key = desk_of(request), _feed_key()
    if not key or not hmac.compare_digest(request.path_params["key"], key):
        return Response("There is no such calendar.\n", 404, media_type="text/plain")
    with desk.book.read() as connection:
        content = paper_choices.feed(connection, desk.zone(), desk.now())
    return Response(content, media_type="text/calendar; charset=utf-8")


def keep_feed(request: Request, form: Form, hand: Hand) -> Done:
    """Make the feed's address, or a new one; the old one stops to answer."""
    write_private(own_files() / FEED_KEY, secrets.token_urlsafe(24).encode())
    return Done("/paper#feed")


def _feed_key() -> str:
    path: Path = own_files() / FEED_KEY
    return path.read_text(encoding="ascii").strip() if path.is_file() else ""


def _asked(request: Request) -> Form:
    return Form({name: [value] for name, value in request.query_params.items()})


def _offset(asked: Form, name: str) -> float:
    text = asked.text(name)
    if text is None:
        return 0.0
    sign, bare = (-1, text[1:]) if text[0] in "-−" else (1, text.lstrip("+"))
    has_unit = any(letter.isalpha() for letter in bare)
    return sign * units.parse(bare if has_unit else f"{bare} mm", "length")


def _pdf(content: bytes, name: str) -> Response:
    headers = {"content-disposition": f'inline; filename="{name}"'}
    return Response(content, media_type="application/pdf", headers=headers)


ROUTES = [
    Route("/paper", page),
    Route("/paper/labels.pdf", labels),
    Route("/paper/alignment.pdf", alignment),
    Route("/paper/shelf.pdf", shelf),
    Route("/paper/batch/{batch}.pdf", batch_sheet),
    Route("/paper/run/{run}.pdf", run_sheet),
    Route("/feed/{key}.ics", feed),
    entry("/paper/feed", keep_feed),
]
