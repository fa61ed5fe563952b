"""Run the pages: one process, stopped cleanly, refused where another one serves the same book."""

from __future__ import annotations

import asyncio
import gc
import logging
import signal
from collections.abc import Callable, Coroutine, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Any

import uvicorn

from spawnwright.errors import SpawnwrightError
from spawnwright.web.app import make_app
from spawnwright.web.desk import Desk
from spawnwright.web.guard import App

if TYPE_CHECKING:
    from spawnwright.web.keys import Keys

LOG = logging.getLogger("spawnwright.serve")
STOP_WITHIN_S = 3
RENEW_EVERY_S = 60.0
MOST_AT_ONCE = 200
"""Connections and requests; more are told to come again."""


class Server(uvicorn.Server):
    """A server that tells open streams, and servers beside it, to end before it waits for them."""

    def __init__(
        self, config: uvicorn.Config, desk: Desk, beside: Sequence[uvicorn.Server] = ()
    ) -> None:
        super().__init__(config)
        self._desk, self._beside = desk, beside

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Ask all streams to end, then stop; a second Ctrl-C does not wait for anybody."""
        self._desk.closing.set()
        for each in (self, *self._beside):
            each.force_exit = each.should_exit and sig == signal.SIGINT
            each.should_exit = True


class Beside(uvicorn.Server):
    """A server at a second address, ended by the first one."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Leave signals to the first one."""
        yield


def keep_log(folder: Path) -> None:
    """Write mistakes and refusals to `serve.log`, which never holds a code or token."""
    folder.mkdir(parents=True, exist_ok=True)
    handler = RotatingFileHandler(
        folder / "serve.log", maxBytes=500_000, backupCount=2, encoding="utf-8"
    )
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s %(message)s"))
    for name in ("spawnwright.serve", "uvicorn.error"):
        logging.getLogger(name).addHandler(handler)


@dataclass(frozen=True)
class Listener:
    """Where to listen; by https with keys, which `renew` makes fit anew and says whether it did."""

    bind: str
    port: int
    keys: Keys | None = None
    renew: Callable[[], bool] | None = None


def serve(desk: Desk, first: Listener, *others: Listener) -> None:
    """Serve until interrupted.

    Parameters
    ----------
    desk : Desk
        The open book; closed at the end.
    first, *others : Listener
        Where to listen; the first one takes the signals.
    """
    app = make_app(desk)
    beside = [Beside(_config(app, each)) for each in others]
    server = Server(_config(app, first), desk, beside)
    renewing = [_renew(each, made.config) for each, made in zip(others, beside, strict=True)]
    signal.signal(signal.SIGHUP, signal.SIG_DFL)
    gc.freeze()  # what was imported stays; looking through it again would hold up a page
    try:
        asyncio.run(_all(server, beside, renewing))
    finally:
        desk.close()


async def _all(
    server: Server, beside: list[Beside], renewing: list[Coroutine[Any, Any, None]]
) -> None:
    tasks = [asyncio.create_task(each) for each in renewing]
    try:
        await asyncio.gather(server.serve(), *(each.serve() for each in beside))
    finally:
        for each in tasks:
            each.cancel()


async def _renew(listener: Listener, config: uvicorn.Config) -> None:
    """Have the certificate fit the numbers of this machine, which a network may change."""
    while listener.keys is not None and listener.renew is not None:
        await asyncio.sleep(RENEW_EVERY_S)
        try:
            if await asyncio.to_thread(listener.renew) and config.ssl is not None:
                config.ssl.load_cert_chain(listener.keys.certificate, listener.keys.key)
        except SpawnwrightError as reason:
            LOG.warning("the certificate is not renewed: %s", reason)


def _config(app: App, listener: Listener) -> uvicorn.Config:
    keys = listener.keys
    return uvicorn.Config(
        app,
        host=listener.bind,
        port=listener.port,
        http="h11",  # which refuses a request with two names of the host, or none
        log_level="warning",
        access_log=False,
        proxy_headers=False,  # else anybody could claim to be this machine
        server_header=False,
        lifespan="off",
        limit_concurrency=MOST_AT_ONCE,
        timeout_keep_alive=15,
        timeout_graceful_shutdown=STOP_WITHIN_S,
        ssl_certfile=keys.certificate if keys else None,
        ssl_keyfile=keys.key if keys else None,
    )
