"""What was entered, newest first, and undoing it."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.actions.book.batch_page import is_undone
from spawnwright.actions.book.jars import Hand, undo
from spawnwright.actions.book.past import recent_steps
from spawnwright.web.desk import Desk
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

PAGE = 50
LISTS = ("batches", "cultures", "blocks", "runs")
"""Pages of records of one kind, below which each record has its own."""


def history(request: Request) -> Response:
    """The last steps."""
    before = request.query_params.get("before", "")
    with desk_of(request).book.read() as connection:
        steps = recent_steps(connection, PAGE + 1, before or "~")
    following = steps[PAGE - 1].step.received if len(steps) > PAGE else ""
    return show(request, "history.html", steps=steps[:PAGE], following=following, before=before)


def keep_undo(request: Request, form: Form, hand: Hand) -> Done:
    """Undo a step, or bring an undone one back by undoing its undoing."""
    desk = desk_of(request)
    kept = undo(desk.book, hand, request.path_params["step"], desk.now())
    return Done(_where_to(desk, form.text("next") or "/history"), kept.step)


def _where_to(desk: Desk, page: str) -> str:
    """The page from which something was undone; the list of its kind if that is what is gone."""
    place, _, rest = page.strip("/").partition("/")
    with desk.book.read() as connection:
        is_gone = place in LISTS and is_undone(connection, rest.partition("/")[0])
    return f"/{place}" if is_gone else page


ROUTES = [Route("/history", history), entry("/undo/{step}", keep_undo)]
