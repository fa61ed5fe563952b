"""Blocks and buckets: made from the spawn of jars, harvested, ended."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.actions.book import blocks as book_blocks
from spawnwright.actions.book import end as book_end
from spawnwright.actions.book.find import jar_of_typed
from spawnwright.actions.book.jars import Hand
from spawnwright.errors import Unusable
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

CONTAINERS = (("block", "block"), ("bucket", "bucket"))


def block_list(request: Request) -> Response:
    """The blocks and buckets that still give."""
    is_all = request.query_params.get("ended") == "1"
    with desk_of(request).book.read() as connection:
        lines = book_blocks.blocks(connection, ended=is_all)
    return show(request, "blocks.html", lines=lines, is_all=is_all)


def new_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """Use the spawn of jars."""
    with desk_of(request).book.read() as connection:
        open_blocks = [
            (each.row["id"], each.row["name"]) for each in book_blocks.blocks(connection)
        ]
    return show(
        request, "block_new.html", blocks=open_blocks, containers=CONTAINERS,
        jar=request.query_params.get("jar", ""), typed=typed or {}, problem=problem,
    )  # fmt: skip


def keep_new(request: Request, form: Form, hand: Hand) -> Done:
    """Put the spawn of jars into a block, a new one or one that is there."""
    desk = desk_of(request)
    codes = (form.text("jars") or "").replace(",", " ").split()
    if not codes:
        raise Unusable("Which jars? Give their codes, with spaces between.")
    spawn = form.quantity("spawn", "mass", "g")
    block = form.text("block") or _new_block(form)
    with desk.book.read() as connection:
        named = {jar_of_typed(connection, code) for code in codes}
    jars = dict.fromkeys(sorted(named), None if spawn is None else spawn / len(named))
    left = tuple(jars) if form.flag("is_left") else ()
    entered = book_end.use_jars(
        desk.book, hand, jars, block, desk.now(), not_empty=left, in_spite=form.flag("in_spite")
    )
    return Done(f"/blocks/{entered.record}", entered.kept.step)


def _new_block(form: Form) -> dict[str, Any]:
    mass = form.quantity("substrate_kg", "mass", "kg")
    about = {
        "name": form.needed("name", "The name of the new block"),
        "container": form.text("container") or "block",
        "substrate": form.text("substrate"),
        "substrate_kg": mass,
        "stored_where": form.text("where"),
    }
    return {name: value for name, value in about.items() if value is not None}


def block_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """One block: its spawn, its flushes."""
    with desk_of(request).book.read() as connection:
        story = book_blocks.block_story(connection, request.path_params["block"])
    return show(
        request, "block.html", story=story, row=story.row, typed=typed or {}, problem=problem
    )


def keep_harvest(request: Request, form: Form, hand: Hand) -> Done:
    """Mushrooms were picked."""
    desk, block = desk_of(request), request.path_params["block"]
    mass = form.quantity("mass", "mass", "g")
    if mass is None or mass <= 0:
        raise Unusable("How much was picked? Give a mass above 0.")
    entered = book_end.add_harvest(
        desk.book, hand, block, mass, desk.now(), form.count("flush", "The flush"),
        form.text("note"),
    )  # fmt: skip
    return Done(f"/blocks/{block}", entered.kept.step)


def keep_end(request: Request, form: Form, hand: Hand) -> Done:
    """It gives no more."""
    desk, block = desk_of(request), request.path_params["block"]
    kept = book_end.end_block(desk.book, hand, block, desk.now(), None, form.seen() or None)
    return Done("/blocks", kept.step)


ROUTES = [
    Route("/blocks", block_list),
    entry("/blocks/new", keep_new, new_page),
    entry("/blocks/{block}/harvest", keep_harvest),
    entry("/blocks/{block}/end", keep_end),
    Route("/blocks/{block}", block_page),
]
