"""Draw a page from a template, with what every page shows."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from spawnwright import __version__
from spawnwright.actions.book.jars import new_id
from spawnwright.web import words

PLACES = (
    ("today", "/", "Today"),
    ("shelf", "/shelf", "Shelf"),
    ("look", "/look", "Look"),
    ("batches", "/batches", "Batches"),
    ("more", "/more", "More"),
)
"""The five places that every page leads to: key, path, name."""


@cache
def environment() -> Environment:
    """The templates; a name that a page does not give is a mistake, not an empty text."""
    made = Environment(
        loader=PackageLoader("spawnwright.web"),
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= words.FILTERS
    made.globals |= {"places": PLACES, "version": __version__, "new_step": new_id, "mark": _mark}
    return made


@cache
def _mark(name: str) -> Markup:
    """A small drawing from `static/marks`, inline so that it takes the color of its text."""
    text = files("spawnwright.web").joinpath("static", "marks", f"{name}.svg").read_text("utf-8")
    return Markup(text)


def show(request: Request, template: str, *, status: int = 200, **values: Any) -> Response:
    """A page.

    Parameters
    ----------
    request : Request
        What was asked.
    template : str
        The template's name.
    status : int
        The status of the answer.
    **values
        What the template needs. `typed` (what was typed, by field) and `problem` (a sentence) are
        empty if not given.
    """
    desk = request.app.state.desk
    kit = desk.kit()
    common = {
        "request": request,
        "path": request.url.path,
        "is_here": request.state.is_here,
        "zone": desk.zone(),
        "now": desk.now(),
        "units": kit.units,
        "kept": _kept_step(request),
        "typed": {},
        "problem": "",
    }
    with words.shown_at(desk.now(), desk.zone()):
        page = environment().get_template(template).render(common | values)
    return HTMLResponse(page, status)


def _kept_step(request: Request) -> dict[str, str] | None:
    """The step that has just been kept, which the page offers to undo."""
    from spawnwright.actions.book.past import step_named

    named = request.query_params.get("kept", "")
    if not named:
        return None
    with request.app.state.desk.book.read() as connection:
        return step_named(connection, named)
