"""Who may ask for what: names of the host, origin of a form, size, phones, headers.

A plain ASGI layer around all pages. A request is answered only under a name that this server goes
by; a form only if it comes from one of our own pages; a request from another machine only with
the token of a paired phone; what changes the book as a whole, only from this machine.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, MutableMapping
from contextlib import suppress
from ipaddress import ip_address
from typing import Any

from spawnwright.web.addresses import first_part, host_name, is_own_network, is_plain
from spawnwright.web.desk import LOOPBACK, Desk
from spawnwright.web.refusals import Refusal

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LARGEST_FORM = 1_000_000
LARGEST_UPLOAD = 20_000_000
UPLOADS = ("photos", "import", "traces", "unsent")
"""First parts of paths to which a file may be sent; `/look` at the end of one takes a photo."""
LARGEST_UNREAD = 3 * LARGEST_UPLOAD
"""What is refused is read up to this size before the answer; beyond it the answer comes at once."""
LONGEST_READ_S = 120.0
"""Within this time all of a form must have come."""
THIS_MACHINE_ONLY = ("phones", "restore", "import", "export", "keys", "backup", "unsent")
"""What the first part of a path must not begin with when another machine asks."""
FOR_ALL = ("/pair", "/health", "/ca", "/manifest.webmanifest", "/sw.js", "/offline")
"""Paths that an unpaired phone may ask for, besides what lies below `/static/`, `/ca/` and
`/feed/`, whose addresses are secrets of their own."""
METHODS = ("GET", "HEAD", "POST")
COOKIE = "bench"
ONCE = (b"host", b"origin", b"sec-fetch-site", b"sec-fetch-mode", b"content-length", b"x-outbox")
"""Headers that decide; two of one kind are refused, since two readers might read either."""
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


class TooSlow(Exception):
    """A form did not arrive in time."""


class Guard:
    """The layer; `inside` are the pages."""

    def __init__(self, inside: App, desk: Desk) -> None:
        self.inside, self.desk = inside, desk

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or pass on with what is known of the asker in `scope["state"]`."""
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})  # no page speaks that
            return
        if scope["type"] != "http":
            await self.inside(scope, receive, send)
            return
        headers = {name: value.decode("latin-1") for name, value in scope["headers"]}
        refusal = self._malformed(scope, headers) or self._refusal(scope, headers)
        limit = _limit(scope["path"])
        if refusal is None and _stated_length(headers) > limit:
            refusal = Refusal(413, f"That is more than {limit // 1_000_000} MB; it was not taken.")
        if refusal is not None:
            if 0 < _stated_length(headers) <= LARGEST_UNREAD:
                await _pour_away(receive)
            await _say(send, scope, headers, refusal)
            return
        await self.inside(scope, _counted(receive, limit), _with_headers(send))

    def _malformed(self, scope: Scope, headers: dict[bytes, str]) -> Refusal | None:
        names = [name for name, _ in scope["headers"]]
        if any(names.count(name) > 1 for name in ONCE):
            return Refusal(400, "A header came twice; nothing was done.")
        if scope["method"] not in METHODS:
            return Refusal(405, "Pages are asked for and forms are sent; nothing else is done.")
        raw = scope.get("raw_path") or scope["path"].encode()
        if not is_plain(scope["path"], raw.decode("latin-1").split("?", 1)[0]):
            return Refusal(404, "There is no such page.")
        return None

    def _refusal(self, scope: Scope, headers: dict[bytes, str]) -> Refusal | None:
        host = headers.get(b"host", "").lower()
        name = host_name(host)
        if name is None or not self._goes_by(name, scope):
            return Refusal(
                400, "This server does not go by that name. Use the address that it printed."
            )
        if not _comes_from_us(scope, headers, host):
            return Refusal(
                403, "This was not sent from one of Spawnwright's own pages; nothing was done."
            )
        state = scope.setdefault("state", {})
        state["is_here"] = _is_loopback(scope) and name in LOOPBACK
        state["device"] = "this computer" if state["is_here"] else None
        if state["is_here"]:
            return None
        return self._as_phone(scope, headers)

    def _goes_by(self, name: str, scope: Scope) -> bool:
        """Whether this is a name of ours.

        On the network that is also the number that the request reached, which the network may
        have changed since the start: no other site can make a browser send a bare number of ours.
        """
        address = self.desk.address
        if name in address.hosts:
            return True
        reached = scope.get("server")
        return bool(address.is_lan and reached and reached[0] == name and is_own_network(name))

    def _as_phone(self, scope: Scope, headers: dict[bytes, str]) -> Refusal | None:
        path, state = scope["path"], scope["state"]
        if first_part(path).startswith(THIS_MACHINE_ONLY):
            return Refusal(403, "This can be done only on the computer that Spawnwright runs on.")
        phones = self.desk.phones
        phone = phones and phones.phone_of(_token(scope), self.desk.now())
        if phone:
            state["device"], state["phone"] = phone.name, phone.id
            return None
        if path in FOR_ALL or path.startswith(("/static/", "/ca/", "/feed/")):
            return None
        if scope["method"] == "GET" and b"x-outbox" not in headers:
            return Refusal(303, "This phone is not paired.", "/pair")
        return Refusal(
            401, "This phone is not paired any more; what you entered stays on it. Pair again."
        )


def is_for_this_machine(path: str) -> bool:
    """Whether a path is refused to every other machine."""
    return first_part(path).startswith(THIS_MACHINE_ONLY)


def cookie_name(scheme: str) -> str:
    """The name of the cookie with a phone's token; by https one that no other name can set."""
    return f"__Host-{COOKIE}" if scheme == "https" else COOKIE


def _comes_from_us(scope: Scope, headers: dict[bytes, str], host: str) -> bool:
    """Whether what is asked for may be asked for from where it comes.

    Browsers leave Sec-Fetch-Site out when a page comes by plain http from another machine; then
    the Origin of a form must name just this server. A page may be led to from anywhere, but no
    other site may load it as a part of itself.
    """
    site = headers.get(b"sec-fetch-site")
    if scope["method"] in ("GET", "HEAD"):
        is_led_to = headers.get(b"sec-fetch-mode") == "navigate"
        return site in (None, "same-origin", "none") or is_led_to
    if site is not None:
        return site == "same-origin"
    return headers.get(b"origin", "").lower() == f"{scope['scheme']}://{host}"


def _is_loopback(scope: Scope) -> bool:
    client = scope.get("client")
    try:
        return client is not None and ip_address(client[0]).is_loopback
    except ValueError:
        return False


def _token(scope: Scope) -> str:
    """The token that a phone sends; other programs at the same address may set cookies too."""
    wanted = cookie_name(scope["scheme"])
    for name, value in scope["headers"]:
        if name == b"cookie":
            for each in value.decode("latin-1").split(";"):
                key, _, token = each.strip().partition("=")
                if key == wanted:
                    return str(token)
    return ""


def _limit(path: str) -> int:
    takes_file = first_part(path).startswith(UPLOADS) or path.endswith(("/look", "/photos"))
    return LARGEST_UPLOAD if takes_file else LARGEST_FORM


def _stated_length(headers: dict[bytes, str]) -> int:
    stated = headers.get(b"content-length", "0")
    return int(stated[:20]) if stated.isascii() and stated.isdigit() else 0


def _counted(receive: Receive, limit: int) -> Receive:
    """What is sent, stopped when it is too much or takes too long; later messages are free."""
    taken, is_whole = 0, False
    until: float | None = None

    async def counting() -> Message:
        nonlocal taken, is_whole, until
        if is_whole:
            return await receive()
        until = until or asyncio.get_running_loop().time() + LONGEST_READ_S
        try:
            async with asyncio.timeout_at(until):
                message = await receive()
        except TimeoutError:
            raise TooSlow from None
        taken += len(message.get("body", b""))
        is_whole = not message.get("more_body", False)
        if taken > limit:
            raise TooLarge
        return message

    return counting


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            there = {name.lower() for name, _ in message["headers"]}
            own = [each for each in HEADERS if each[0] not in there]
            if b"cache-control" not in there:
                own.append((b"cache-control", b"no-store"))
            message["headers"] = [*message["headers"], *own]
        await send(message)

    return sending


async def _pour_away(receive: Receive) -> None:
    """Read what is refused and keep none of it: a browser that is cut off hears no answer."""
    reading = _counted(receive, LARGEST_UNREAD)
    with suppress(TooLarge, TooSlow):
        while True:
            message = await reading()
            if message["type"] != "http.request" or not message.get("more_body", False):
                return


async def _say(send: Send, scope: Scope, headers: dict[bytes, str], refusal: Refusal) -> None:
    is_page = scope["method"] == "GET" and "text/html" in headers.get(b"accept", "")
    kind, body = refusal.body(b"x-outbox" in headers, is_page)
    told = [(b"content-type", kind.encode()), (b"cache-control", b"no-store")]
    if refusal.location:
        told.append((b"location", refusal.location.encode()))
    # What the asker may still be sending is not taken: the connection ends with the answer.
    told.append((b"connection", b"close"))
    start = {"type": "http.response.start", "status": refusal.status, "headers": [*told, *HEADERS]}
    await send(start)
    await send({"type": "http.response.body", "body": body})
