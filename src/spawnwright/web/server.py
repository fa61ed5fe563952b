"""Run the pages: one process, stopped cleanly, refused where another one serves the same book."""

from __future__ import annotations

import logging
import signal
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import FrameType
from typing import Any

import uvicorn

from spawnwright.web.app import make_app
from spawnwright.web.desk import Desk

STOP_WITHIN_S = 3


class Server(uvicorn.Server):
    """A server that tells open streams to end before it waits for them."""

    def __init__(self, config: uvicorn.Config, desk: Desk) -> None:
        super().__init__(config)
        self._desk = desk

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Ask all streams to end, then stop as usual."""
        self._desk.closing.set()
        super().handle_exit(sig, frame)


def keep_log(folder: Path) -> None:
    """Write mistakes and refusals to `serve.log`, which never holds a code or token."""
    folder.mkdir(parents=True, exist_ok=True)
    handler = RotatingFileHandler(
        folder / "serve.log", maxBytes=500_000, backupCount=2, encoding="utf-8"
    )
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s %(message)s"))
    for name in ("spawnwright.serve", "uvicorn.error"):
        logging.getLogger(name).addHandler(handler)


def serve(desk: Desk, bind: str, **tls: Any) -> None:
    """Serve until interrupted.

    Parameters
    ----------
    desk : Desk
        The open book; closed at the end.
    bind : str
        The address to listen at: 127.0.0.1, or 0.0.0.0 for the network.
    **tls
        `ssl_keyfile` and `ssl_certfile`, if by https.
    """
    config = uvicorn.Config(
        make_app(desk),
        host=bind,
        port=desk.address.port,
        log_level="warning",
        access_log=False,
        proxy_headers=False,  # else anybody could claim to be this machine
        server_header=False,
        lifespan="off",
        timeout_graceful_shutdown=STOP_WITHIN_S,
        **tls,
    )
    signal.signal(signal.SIGHUP, signal.SIG_DFL)
    try:
        Server(config, desk).run()
    finally:
        desk.close()
