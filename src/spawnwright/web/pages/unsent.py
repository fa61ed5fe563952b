"""Entries that a phone saved to a file, taken in on the computer."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.actions.book.unsent import there_already, unsent_of
from spawnwright.errors import SpawnwrightError, Unusable
from spawnwright.web.forms import Form, desk_of, read_form
from spawnwright.web.show import show
from spawnwright.web.unsent import Outcome, send_unsent


def page(request: Request, found: list[Outcome] | None = None, problem: str = "") -> Response:
    """The box for the file; below it what became of the entries of the last one."""
    return show(
        request, "unsent.html", found=found, problem=problem, status=422 if problem else 200
    )


async def unsent(request: Request) -> Response:
    """Draw the page, or take a file in; a file that comes twice adds nothing the second time."""
    if request.method != "POST":
        return await run_in_threadpool(page, request)
    try:
        form = await read_form(request)
        return await run_in_threadpool(_taken, request, form)
    except SpawnwrightError as reason:
        return await run_in_threadpool(page, request, None, str(reason))
    finally:
        await request.close()


def _taken(request: Request, form: Form) -> Response:
    sent = form.files.get("file", [])
    if not sent:
        raise Unusable("No file was chosen.")
    name = (sent[0].filename or "The file")[:100]
    told = unsent_of(sent[0].file.read().decode("utf-8", "replace"), name)
    there = there_already(desk_of(request).book, told.entries)
    return page(request, send_unsent(request.app, told, there))


ROUTES = [Route("/unsent", unsent, methods=["GET", "POST"])]
