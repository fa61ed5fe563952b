"""Sacks of grain, boxes of lids, lids made together: what may have been bad together."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from spawnwright.actions.book import lots as book_lots
from spawnwright.actions.book.jars import Hand
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

WHAT = (("grain", "grain"), ("lids", "lids"), ("jars", "jars"), ("culture", "culture"),
        ("gypsum", "gypsum"), ("substrate", "substrate"), ("other", "something else"))  # fmt: skip


def page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """All lots and batches of lids, with forms for new ones."""
    with desk_of(request).book.read() as connection:
        lots = book_lots.lots(connection)
        lids = book_lots.lid_batches(connection)
        boxes = book_lots.lot_choices(connection, "lids")
    return show(
        request, "lots.html", lots=lots, lids=lids, boxes=boxes, what=WHAT, typed=typed or {},
        problem=problem,
    )  # fmt: skip


def keep(request: Request, form: Form, hand: Hand) -> Done:
    """A new lot, or lids made together."""
    desk = desk_of(request)
    if form.text("kind") == "lids made":
        about = {
            "name": form.needed("name", "What the lids are called"),
            "lot": form.text("lot"), "made_on": form.text("made_on"),
            "lids": form.count("lids", "The number of lids"), "port": form.text("port"),
            "filter": form.text("filter"), "cured_on": form.text("cured_on"),
            "uses": form.count("uses", "How often they were used"),
        }  # fmt: skip
        known = {name: value for name, value in about.items() if value is not None}
        entered = book_lots.new_lid_batch(desk.book, hand, known, desk.now())
        return Done("/lots", entered.kept.step)
    about = {
        "name": form.needed("name", "What the lot is called"),
        "what": form.needed("what", "What was bought"),
        "from_whom": form.text("from_whom"), "bought_on": form.text("bought_on"),
        "note": form.text("note"),
    }  # fmt: skip
    known = {name: value for name, value in about.items() if value is not None}
    entered = book_lots.new_lot(desk.book, hand, known, desk.now())
    return Done("/lots", entered.kept.step)


ROUTES = [entry("/lots", keep, page)]
