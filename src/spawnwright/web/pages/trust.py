"""How a phone is told to trust this computer: the certificate of its authority, and the steps."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.errors import UnknownName
from spawnwright.web.forms import desk_of
from spawnwright.web.show import show


def steps(request: Request) -> Response:
    """The steps for each kind of phone; that there is nothing to trust, if phones ask by http."""
    desk = desk_of(request)
    return show(request, "trust.html", address=desk.address, keys=desk.keys)


def certificate(request: Request) -> Response:
    """The certificate of the authority, and nothing else that lies beside it."""
    keys = desk_of(request).keys
    content = keys.authority() if keys else None
    if content is None:
        raise UnknownName("certificate", "spawnwright.crt", (), "Phones ask by plain http here.")
    return Response(content, media_type="application/x-x509-ca-cert")


ROUTES = [Route("/ca/", steps), Route("/ca/spawnwright.crt", certificate)]
