"""The phones that may use the pages, on this machine only: pair one, let one in no more."""

from __future__ import annotations

from io import BytesIO

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from spawnwright.actions.book.jars import Hand
from spawnwright.errors import UnknownName, Unusable
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.phones import Phones
from spawnwright.web.show import show


def phones_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """What is open to whom, the code if one is open, and the phones."""
    desk = desk_of(request)
    code = desk.phones.code(desk.now()) if desk.phones and desk.address.is_lan else None
    return show(
        request, "phones.html", typed=typed or {}, problem=problem, address=desk.address,
        code=code, phones=desk.phones.all() if desk.phones else [],
        seconds=int((code.until - desk.now()).total_seconds()) if code else 0,
    )  # fmt: skip


def state(request: Request) -> Response:
    """How many phones there are and whether the code is still open; the page asks while it is."""
    desk = desk_of(request)
    is_open = bool(desk.phones and desk.phones.code(desk.now()))
    return JSONResponse(
        {"is_open": is_open, "phones": len(desk.phones.all() if desk.phones else [])}
    )


def code_drawn(request: Request) -> Response:
    """The address with the open code as a QR code.

    The code stands behind the #, which a browser sends to no server.
    """
    import segno

    desk = desk_of(request)
    code = desk.phones.code(desk.now()) if desk.phones else None
    if code is None:
        raise UnknownName("code", "open", (), "Make one on the page of phones.")
    by_number = request.query_params.get("by") == "number"
    home = desk.address.by_number if by_number else None
    drawn = BytesIO()
    segno.make(f"{home or desk.address.for_phones}pair#{code.text}", error="m", micro=False).save(
        drawn, kind="svg", border=4, scale=6, dark="#000", light="#fff", xmldecl=False
    )
    return Response(drawn.getvalue(), media_type="image/svg+xml")


def keep_code(request: Request, form: Form, hand: Hand) -> Done:
    """Open a code for one phone, or take the open one back."""
    phones = _phones(request)
    if form.flag("close"):
        phones.close_code()
    else:
        phones.open_code(desk_of(request).now())
    return Done("/phones#code")


def keep_revoke(request: Request, form: Form, hand: Hand) -> Done:
    """Let one phone, or all, in no more."""
    phones = _phones(request)
    if form.flag("all"):
        phones.revoke_all()
    else:
        phones.revoke(form.needed("phone", "The phone"))
    return Done("/phones#paired")


def _phones(request: Request) -> Phones:
    phones = desk_of(request).phones
    if phones is None:
        raise Unusable("Only this computer can ask for pages; start with --lan to pair phones.")
    return phones


ROUTES = [
    Route("/phones", phones_page),
    Route("/phones/state", state),
    Route("/phones/code.svg", code_drawn),
    entry("/phones/code", keep_code, phones_page),
    entry("/phones/revoke", keep_revoke, phones_page),
]
