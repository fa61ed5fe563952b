"""A phone that is not paired yet: the code that the computer shows, and a name for the phone."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from spawnwright.errors import Unusable
from spawnwright.web.forms import Form, desk_of, read_form
from spawnwright.web.guard import cookie_name
from spawnwright.web.phones import LASTS, TooManyTries
from spawnwright.web.show import show


def pair_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """The box for the code; to a phone that is paired, what to do next."""
    is_paired = request.state.device is not None and not request.state.is_here
    return show(
        request, "pair.html", typed=typed or {}, problem=problem, is_paired=is_paired,
        device=request.state.device, is_secure=request.url.scheme == "https",
    )  # fmt: skip


async def pair(request: Request) -> Response:
    """Draw the box, or take what was typed into it."""
    if request.method != "POST":
        return await run_in_threadpool(pair_page, request)
    form = Form()
    try:
        form = await read_form(request)
        return await run_in_threadpool(_paired, request, form)
    except Unusable as problem:
        status = 429 if isinstance(problem, TooManyTries) else 422
        if "x-outbox" in request.headers:
            return JSONResponse({"problem": str(problem)}, status)
        # The code itself is not written back into the page.
        typed = {name: said for name, said in form.values.items() if name == "name"}
        drawn = await run_in_threadpool(pair_page, request, typed, str(problem))
        drawn.status_code = status
        return drawn


def _paired(request: Request, form: Form) -> Response:
    desk = desk_of(request)
    if desk.phones is None:
        raise Unusable("No phone can be paired: only the computer itself may ask for pages.")
    code = form.needed("code", "The code")
    name = form.text("name") or "phone"
    _, token = desk.phones.pair(code, name, desk.now())
    answer = RedirectResponse("/pair", 303)
    scheme = request.url.scheme
    answer.set_cookie(
        cookie_name(scheme), token, max_age=int(LASTS.total_seconds()), path="/",
        secure=scheme == "https", httponly=True, samesite="lax",
    )  # fmt: skip
    return answer


ROUTES = [Route("/pair", pair, methods=["GET", "POST"])]
