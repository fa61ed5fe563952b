"""From the command line to running pages."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from spawnwright.actions.book.files import open_named
from spawnwright.actions.book.opening import served
from spawnwright.actions.own_files import own_files
from spawnwright.web.desk import Address, Desk
from spawnwright.web.listening import listeners_of, own_keys
from spawnwright.web.network import Opening, opened_address, said_of
from spawnwright.web.phones import Phones
from spawnwright.web.upkeep import keep_up, open_browser

NOTHING = Opening()


def serve_book(
    named: str | None,
    port: int,
    say: Callable[[str], None],
    *,
    open_it: bool = False,
    opening: Opening = NOTHING,
) -> None:
    """Open a book and serve its pages until interrupted.

    Parameters
    ----------
    named : str, optional
        The book; without it, the grower's own.
    port : int
        Where to listen.
    say : callable
        Takes what the person at the terminal should know.
    open_it : bool
        Whether to show the first page in this machine's browser.
    opening : Opening
        What is open to the network.
    """
    from spawnwright.web.server import keep_log, serve

    address = opened_address(port, opening)
    listeners = listeners_of(address, opening)
    own = own_files()
    phones = Phones(own / "phones.json")
    keys = own_keys() if opening.is_secure else None
    desk = Desk(open_named(named, create=True), address, named, phones=phones, keys=keys)
    try:
        with served(desk.book, desk.address.home):
            keep_log(own)
            if desk.book.path is not None:
                say(f"The record book: {desk.book.path}")
            for said in said_of(address):
                say(said)
            keep_up(desk, say)
            if open_it:
                open_browser(desk)
            serve(desk, *listeners)
    finally:
        desk.close()


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
