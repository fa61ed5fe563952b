"""Batches: their list, one step by step, what is entered at a step, its end."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from spawnwright.actions.book import batch_page as book_batch_page
from spawnwright.actions.book import fill as book_fill
from spawnwright.actions.book import lots as book_lots
from spawnwright.actions.book.batch_deeds import deed_of
from spawnwright.actions.book.batches import BY_ITSELF, end_batch
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.book.shelf import judge
from spawnwright.actions.book.today import run_of_batch
from spawnwright.actions.book.wish import jars_wished, wish_of_batch
from spawnwright.errors import Unusable
from spawnwright.web.amounts import said_amounts
from spawnwright.web.desk import Desk
from spawnwright.web.forecasting import Forecaster
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

WEIGHED = "spawnwright.actions.grain.grain_weighed:weighed"
NEAR = 8
"""Steps to come that stand openly; those later unfold."""


def _now(desk: Desk) -> datetime:
    return desk.now().astimezone(desk.zone())


def batch_list(request: Request) -> Response:
    """The batches that go on, or the ended ones."""
    desk, ended = desk_of(request), "ended" in request.query_params
    after = request.query_params.get("after")
    with desk.book.read() as connection:
        page = book_batch_page.page_of_batches(connection, _now(desk), ended=ended, after=after)
    return show(request, "batches.html", page=page, ended=ended, after=after)


def batch_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """One batch, step by step."""
    desk, batch = desk_of(request), request.path_params["batch"]
    with desk.book.read() as connection:
        if book_batch_page.is_undone(connection, batch):
            return _to_the_list(request)
        view = book_batch_page.batch_view(connection, batch, _now(desk))
        jars = judge(connection, Forecaster(desk), view.jars, desk.now())
        run = run_of_batch(connection, batch, desk.now())
        sacks = book_lots.lot_choices(connection, "grain")
        lids = book_lots.lid_choices(connection)
    return show(
        request, "batch.html", view=view, batch=view.row, jars=jars,
        running=run, near=NEAR, by_itself=BY_ITSELF, deed_of=deed_of, amounts=said_amounts,
        textures=book_fill.TEXTURES, sacks=sacks, lids=lids,
        opened=request.query_params.get("open") or request.path_params.get("task", ""),
        typed=typed or {}, problem=problem, wished=jars_wished(view.row, desk.now()),
    )  # fmt: skip


def _to_the_list(request: Request) -> Response:
    """Where undoing the beginning of a batch leads; there the undoing can be undone."""
    kept = request.query_params.get("kept", "")
    return RedirectResponse(f"/batches?{urlencode({'kept': kept})}" if kept else "/batches", 303)


def keep_weight(request: Request, form: Form, hand: Hand) -> Done:
    """What the drained grain weighs, and its moisture by that."""
    desk, batch = desk_of(request), request.path_params["batch"]
    unit = "lb" if desk.kit().units == "us" else "kg"
    dry = form.quantity("dry", "mass", unit)
    drained = form.quantity("drained", "mass", unit)
    texture = form.text("texture")
    if drained is None and texture is None:
        raise Unusable("Give what the drained grain weighs, or how it feels, or both.")
    with desk.book.read() as connection:
        wish = wish_of_batch(connection, batch, _now(desk))
    about: dict[str, Any] = {"grain": wish["grain"]}
    about |= {"dry_kg": dry, "drained_kg": drained, "texture": texture, "lot": form.text("lot")}
    if dry and drained and wish["wish"]:
        by_scale = desk.compute.answer(WEIGHED, wish["wish"], wish["planned_at"], dry, drained)
        about |= {
            "moisture_low": by_scale["low"], "moisture_likely": by_scale["likely"],
            "moisture_high": by_scale["high"], "grain": by_scale["grain"],
        }  # fmt: skip
    known = {name: value for name, value in about.items() if value is not None}
    task = request.path_params["task"]
    kept = book_fill.weigh_grain(desk.book, hand, task, known, desk.now())
    return Done(f"/batches/{batch}", kept.step)


def keep_filled(request: Request, form: Form, hand: Hand) -> Done:
    """The jars that were filled, each under a code of its own."""
    desk, batch = desk_of(request), request.path_params["batch"]
    count = form.count("jars", "The number of jars")
    if count is None:
        raise Unusable("How many jars were filled is missing; fill it in.")
    with desk.book.read() as connection:
        wish = wish_of_batch(connection, batch, _now(desk))
    unit = "oz" if desk.kit().units == "us" else "g"
    about = {
        "jar_kind": form.needed("jar", "The kind of jar"), "fill": wish["fill"],
        "grain_kg": form.quantity("each", "mass", unit), "grain": wish["grain"],
        "texture": form.text("texture"), "lid_batch": form.text("lid_batch"),
    }  # fmt: skip
    kept = book_fill.fill_batch(
        desk.book, hand, request.path_params["task"], count, about, desk.now(),
        form.count("controls", "The number of control jars") or 0,
    )  # fmt: skip
    return Done(f"/batches/{batch}/codes", kept.step)


def codes(request: Request) -> Response:
    """The codes of the jars that were filled last, large."""
    batch = request.path_params["batch"]
    with desk_of(request).book.read() as connection:
        if book_batch_page.is_undone(connection, batch):
            return _to_the_list(request)
        row, jars = book_batch_page.codes_of_batch(connection, batch)
    return show(request, "codes.html", batch=row, jars=jars)


def keep_name(request: Request, form: Form, hand: Hand) -> Done:
    """Another name."""
    desk, batch = desk_of(request), request.path_params["batch"]
    name = form.needed("name", "The new name")
    kept = book_batch_page.rename_batch(
        desk.book, hand, batch, name, desk.now(), form.seen() or None
    )
    return Done(f"/batches/{batch}", kept.step)


def keep_end(request: Request, form: Form, hand: Hand) -> Done:
    """The end of a batch."""
    desk, batch = desk_of(request), request.path_params["batch"]
    kept = end_batch(desk.book, hand, batch, desk.now(), form.text("note"))
    return Done("/batches", kept.step)


def keep_going_on(request: Request, form: Form, hand: Hand) -> Done:
    """An ended batch goes on."""
    desk, batch = desk_of(request), request.path_params["batch"]
    kept = book_batch_page.reopen_batch(desk.book, hand, batch, desk.now())
    return Done(f"/batches/{batch}", kept.step)


ROUTES = [
    Route("/batches", batch_list),
    Route("/batches/{batch}/codes", codes),
    entry("/batches/{batch}/weigh/{task}", keep_weight, batch_page),
    entry("/batches/{batch}/fill/{task}", keep_filled, batch_page),
    entry("/batches/{batch}/name", keep_name, batch_page),
    entry("/batches/{batch}/end", keep_end, batch_page),
    entry("/batches/{batch}/go-on", keep_going_on, batch_page),
    Route("/batches/{batch}", batch_page),
]
