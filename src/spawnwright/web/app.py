"""All pages as one ASGI application around an open book."""

from __future__ import annotations

import logging
import secrets
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from spawnwright import __version__
from spawnwright.errors import SpawnwrightError, UnknownName
from spawnwright.web.desk import Desk
from spawnwright.web.forms import brief
from spawnwright.web.guard import App, Guard, TooLarge, TooSlow
from spawnwright.web.pages import routes
from spawnwright.web.show import show

LOG = logging.getLogger("spawnwright.serve")
STATIC = Path(__file__).parent / "static"


class LastingFiles(StaticFiles):
    """Files whose address carries the version, so that a browser may keep them."""

    def file_response(self, *given: Any, **named: Any) -> Response:
        """The file, to be kept for a year."""
        answer = super().file_response(*given, **named)
        answer.headers["cache-control"] = "public, max-age=31536000, immutable"
        return answer


def health(request: Request) -> Response:
    """That the server is there; a page asks this before it sends what was waiting."""
    return JSONResponse({"spawnwright": __version__})


def make_app(desk: Desk) -> App:
    """The pages, the guard around them.

    Parameters
    ----------
    desk : Desk
        The open book and what goes with it.
    """
    return Guard(GZipMiddleware(make_pages(desk), minimum_size=600, compresslevel=4), desk)


def make_pages(desk: Desk) -> Starlette:
    """The pages without a guard, for what asks from within; never to be listened for."""
    app = Starlette(
        routes=[
            *routes(),
            Route("/health", health),
            Mount(f"/static/{__version__}", LastingFiles(directory=STATIC), name="static"),
        ],
        exception_handlers={
            HTTPException: _http_problem,
            SpawnwrightError: _our_problem,
            TooLarge: _too_large,
            TooSlow: _too_slow,
            Exception: _mistake,
        },
    )
    app.state.desk = desk
    return app


def _asks_json(request: Request) -> bool:
    return "x-outbox" in request.headers


def _problem(request: Request, status: int, problem: str, title: str = "") -> Response:
    if _asks_json(request):
        return JSONResponse({"problem": problem}, status)
    try:
        return show(
            request, "problem.html", status=status, shown=problem, back="/",
            title=title or "That did not work",
        )  # fmt: skip
    except Exception:
        # The book or the kit itself may be what is broken; then the sentence stands alone.
        LOG.exception("the page for a problem could not be drawn")
        return PlainTextResponse(f"{problem}\n", status)


def _our_problem(request: Request, problem: Exception) -> Response:
    status = 404 if isinstance(problem, UnknownName) else 422
    return _problem(request, status, brief(str(problem)))


def _http_problem(request: Request, problem: Exception) -> Response:
    assert isinstance(problem, HTTPException)
    said = {
        404: "There is no such page. Whatever it was, nothing is lost: look under More.",
        405: "That address takes forms only, or pages only.",
    }
    return _problem(request, problem.status_code, said.get(problem.status_code, problem.detail))


def _too_large(request: Request, problem: Exception) -> Response:
    return _problem(request, 413, "That is larger than what is taken; nothing was kept.")


def _too_slow(request: Request, problem: Exception) -> Response:
    return _problem(request, 408, "That took too long to arrive; nothing was kept. Send it again.")


def _mistake(request: Request, problem: Exception) -> Response:
    """A mistake of the program: a code to quote, and no word of its inside."""
    code = secrets.token_hex(3)
    LOG.error("mistake %s at %s %s", code, request.method, request.url.path, exc_info=problem)
    return _problem(
        request, 500,
        f"Spawnwright made a mistake (code {code}). What was kept before is still there; what you "
        f"just sent was not kept. The log in the folder of your own files says more under that "
        "code.",
    )  # fmt: skip
