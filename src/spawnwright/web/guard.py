"""Who may ask for what: names of the host, origin of a form, size, phones, headers.

A plain ASGI layer around all pages. A request is answered only under a name that this server goes
by; a form only if it comes from one of our own pages; a request from another machine only with
the token of a paired phone; what changes the book as a whole, only from this machine.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from ipaddress import ip_address
from typing import Any

from spawnwright.web.desk import LOOPBACK, Desk

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LARGEST_FORM = 1_000_000
LARGEST_UPLOAD = 20_000_000
UPLOADS = ("/photos", "/import", "/traces", "/unsent")
"""Paths below which a file may be sent."""
THIS_MACHINE_ONLY = ("/phones", "/restore", "/import", "/export", "/keys", "/backup")
FOR_ALL = ("/pair", "/static/", "/health", "/ca/")
"""Paths that an unpaired phone may ask for."""
COOKIE = "bench"
HEADERS = (
    (b"content-security-policy", b"default-src 'self'; base-uri 'none'; form-action 'self'; "
     b"frame-ancestors 'none'; object-src 'none'"),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"geolocation=(), microphone=(), payment=()"),
)  # fmt: skip
"""`same-origin`, not `no-referrer`: the latter makes browsers send forms with `Origin: null`."""


class TooLarge(Exception):
    """More was sent than is taken; found while reading, so that it is never held."""


class Guard:
    """The layer; `inside` are the pages."""

    def __init__(self, inside: App, desk: Desk) -> None:
        self.inside, self.desk = inside, desk

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or pass on with what is known of the asker in `scope["state"]`."""
        if scope["type"] != "http":
            await self.inside(scope, receive, send)
            return
        headers = {name: value.decode("latin-1") for name, value in scope["headers"]}
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await _say(send, *refusal)
            return
        limit = LARGEST_UPLOAD if scope["path"].startswith(UPLOADS) else LARGEST_FORM
        if _stated_length(headers) > limit:
            await _say(send, 413, f"That is more than {limit // 1_000_000} MB; it was not taken.")
            return
        await self.inside(scope, _counted(receive, limit), _with_headers(send, self.desk))

    def _refusal(self, scope: Scope, headers: dict[bytes, str]) -> tuple[Any, ...] | None:
        host = headers.get(b"host", "").lower()
        name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
        if name not in self.desk.address.hosts:
            return 400, "This server does not go by that name. Use the address that it printed."
        if scope["method"] not in ("GET", "HEAD") and not self._is_own(headers, host):
            return 403, "This was not sent from one of Spawnwright's own pages; nothing was done."
        state = scope.setdefault("state", {})
        state["is_here"] = _is_loopback(scope) and name in LOOPBACK
        state["device"] = "this computer" if state["is_here"] else None
        if state["is_here"]:
            return None
        path = scope["path"]
        if path.startswith(THIS_MACHINE_ONLY):
            return 403, "This can be done only on the computer that Spawnwright runs on."
        phone = self.desk.phones and self.desk.phones.phone_of(_token(headers), self.desk.now())
        if phone:
            state["device"], state["phone"] = phone.name, phone.id
            return None
        if path.startswith(FOR_ALL):
            return None
        if scope["method"] == "GET" and b"x-outbox" not in headers:
            return 303, "This phone is not paired.", "/pair"
        return 401, "This phone is not paired any more; what you entered stays on it. Pair again."

    def _is_own(self, headers: dict[bytes, str], host: str) -> bool:
        """Whether a form comes from one of our own pages.

        Browsers leave Sec-Fetch-Site out when a page comes by plain http from another machine;
        then Origin must name just this server.
        """
        site = headers.get(b"sec-fetch-site")
        if site is not None:
            return site == "same-origin"
        return headers.get(b"origin", "").lower() == f"{self.desk.address.scheme}://{host}"


def _is_loopback(scope: Scope) -> bool:
    client = scope.get("client")
    try:
        return client is not None and ip_address(client[0]).is_loopback
    except ValueError:
        return False


def _token(headers: dict[bytes, str]) -> str:
    try:
        cookies = SimpleCookie(headers.get(b"cookie", ""))
    except CookieError:
        return ""
    for name in (f"__Host-{COOKIE}", COOKIE):
        if name in cookies:
            return cookies[name].value
    return ""


def _stated_length(headers: dict[bytes, str]) -> int:
    stated = headers.get(b"content-length", "0")
    return int(stated) if stated.isascii() and stated.isdigit() else 0


def _counted(receive: Receive, limit: int) -> Receive:
    taken = 0

    async def counting() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > limit:
            raise TooLarge
        return message

    return counting


def _with_headers(send: Send, desk: Desk) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            there = {name.lower() for name, _ in message["headers"]}
            own = [each for each in HEADERS if each[0] not in there]
            if b"cache-control" not in there:
                own.append((b"cache-control", b"no-store"))
            message["headers"] = [*message["headers"], *own]
        await send(message)

    return sending


async def _say(send: Send, status: int, text: str, location: str = "") -> None:
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"cache-control", b"no-store")]
    if location:
        headers.append((b"location", location.encode()))
    start = {"type": "http.response.start", "status": status, "headers": [*headers, *HEADERS]}
    await send(start)
    await send({"type": "http.response.body", "body": f"{text}\n".encode()})
