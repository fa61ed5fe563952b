"""A jar by its code, typed or scanned."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from spawnwright.actions.book.find import code_of_typed
from spawnwright.errors import SpawnwrightError
from spawnwright.web.show import show


def find(request: Request) -> Response:
    """Go to the jar whose code was typed, or say what is wrong with the code."""
    typed = request.query_params.get("code", "").strip()
    if not typed:
        return show(request, "find.html", problem="", code="")
    try:
        with request.app.state.desk.book.read() as connection:
            code = code_of_typed(connection, typed)
    except SpawnwrightError as problem:
        return show(request, "find.html", status=404, problem=str(problem), code=typed)
    return RedirectResponse(f"/j/{code}", 303)


ROUTES = [Route("/find", find)]
