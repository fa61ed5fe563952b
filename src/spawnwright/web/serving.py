"""From the command line to running pages."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Callable
from typing import Any

from spawnwright.actions.book_files import open_named
from spawnwright.errors import Contradiction
from spawnwright.web.desk import Address, Desk


def serve_book(named: str | None, port: int, say: Callable[[str], None]) -> None:
    """Open a book and serve its pages until interrupted.

    Parameters
    ----------
    named : str, optional
        The book; without it, the grower's own.
    port : int
        Where to listen.
    say : callable
        Takes what the person at the terminal should know.
    """
    from spawnwright.actions.own_files import own_files
    from spawnwright.web.server import keep_log, serve

    check_free(port)
    desk = Desk(open_named(named, create=True), Address(port), named)
    keep_log(own_files())
    say(f"Open {desk.address.home} in a browser on this machine. Ctrl-C stops.")
    serve(desk, "127.0.0.1")


def check_free(port: int) -> None:
    """Refuse a port that something else listens at."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError as reason:
            raise Contradiction(
                f"Something already listens at port {port}, perhaps Spawnwright in another "
                "window; use that one, or name another --port."
            ) from reason


def check_once(named: str | None, port: int) -> dict[str, Any]:
    """Open a book and draw the first page once, without listening."""
    from spawnwright.web.app import make_app

    desk = Desk(open_named(named, create=True), Address(port), named)
    try:
        status = asyncio.run(_status(make_app(desk), port))
    finally:
        desk.close()
    return {"address": desk.address.home, "status": status}


async def _status(app: Any, port: int) -> int:
    told: list[int] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        if message["type"] == "http.response.start":
            told.append(message["status"])

    scope = {
        "type": "http", "method": "GET", "path": "/", "raw_path": b"/", "query_string": b"",
        "headers": [(b"host", f"127.0.0.1:{port}".encode())], "client": ("127.0.0.1", 0),
        "server": ("127.0.0.1", port), "scheme": "http", "http_version": "1.1", "root_path": "",
    }  # fmt: skip
    await app(scope, receive, send)
    return told[0]
