"""A real server on this machine and a real browser, at the size of a phone or a laptop."""

from __future__ import annotations

import os
import shutil
import socket
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
import uvicorn

from spawnwright.store.book.engine import open_book
from spawnwright.web.app import make_app
from spawnwright.web.desk import Address, Desk
from spawnwright.web.server import Server
from tests.store.book.conftest import MEMORY

PHONE, LAPTOP = (390, 844), (1280, 800)
WAITS_MS = 30_000
"""How long to wait for what must come; a machine with other work is several times slower."""
_NAMES = ("chromium", "chromium-browser", "google-chrome",
          "/Applications/Chromium.app/Contents/MacOS/Chromium")  # fmt: skip
_QUIET = ["--disable-background-networking", "--disable-sync", "--disable-component-update",
          "--no-first-run", "--disable-quic", "--disable-gpu",
          "--host-resolver-rules=MAP *.local 127.0.0.1"]  # fmt: skip
"""By a .local name this machine is asked as a phone on the network asks it."""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Served:
    """A running server: `home`, the desk behind it, and stopping and starting it again."""

    def __init__(self, folder: Path, clock: Callable[[], datetime]) -> None:
        self.folder, self.clock, self.port = folder, clock, free_port()
        self.home = f"http://127.0.0.1:{self.port}"
        self.start()

    def start(self) -> None:
        self.desk = Desk(
            open_book(self.folder / "record-book.db"), Address(self.port), clock=self.clock
        )
        config = uvicorn.Config(
            make_app(self.desk), host="127.0.0.1", port=self.port, log_level="error",
            lifespan="off", proxy_headers=False, timeout_graceful_shutdown=1,
        )  # fmt: skip
        self.server = Server(config, self.desk)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        for _ in range(200):
            if self.server.started:
                return
            time.sleep(0.02)
        raise AssertionError("the server did not start")

    def stop(self) -> None:
        self.desk.closing.set()
        self.server.should_exit = True
        self.thread.join(5)
        self.desk.close()


@pytest.fixture
def clock():
    """The server's clock; a test may set `now`."""

    class Clock:
        now = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)

        def __call__(self) -> datetime:
            return self.now

    return Clock()


@pytest.fixture
def served(monkeypatch, clock):
    """A server with an empty book of its own."""
    with tempfile.TemporaryDirectory(prefix="spawnwright-browser-", dir=MEMORY) as name:
        monkeypatch.setenv("SPAWNWRIGHT_HOME", name)
        monkeypatch.setenv("TZ", "UTC")
        made = Served(Path(name), clock)
        yield made
        made.stop()


@pytest.fixture(scope="package")
def browser():
    """The system's Chromium; skipped where there is none.

    Gone after the last test of this folder: while it is there, its loop runs in this thread, and
    no other test could run one of its own.
    """
    named = os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, _NAMES)), None)
    if not named:
        pytest.skip("no Chromium was found (package chromium)")
    from playwright.sync_api import sync_playwright

    flags = _QUIET + (["--no-sandbox"] if os.getuid() == 0 else [])
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=named, args=flags)
        yield made
        made.close()


@contextmanager
def opened(browser, size=PHONE, dark=False, scripts=True) -> Iterator:
    """A page in a window of its own; anything it logs as an error fails the test."""
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]}, has_touch=size == PHONE,
        color_scheme="dark" if dark else "light", java_script_enabled=scripts,
    )  # fmt: skip
    page = context.new_page()
    page.set_default_timeout(WAITS_MS)
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda said: errors.append(said.text)
            if said.type == "error" and "Content Security" in said.text else None)  # fmt: skip
    try:
        yield page
        assert not errors
    finally:
        context.close()


def faults(page) -> list[str]:
    """What axe finds against WCAG 2.2 AA, and whether the page scrolls sideways."""
    from axe_playwright_python.sync_playwright import Axe

    # A window as tall as the page: the places at its lower edge then cover nothing.
    height = page.evaluate("() => document.documentElement.scrollHeight")
    page.set_viewport_size({"width": page.viewport_size["width"], "height": height})
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": tags}})
    said = [
        f"{each['id']}: {node['target']} {node.get('failureSummary', '')}"
        for each in found.response["violations"]
        for node in each["nodes"]
    ]
    if page.evaluate("() => document.documentElement.scrollWidth > window.innerWidth + 1"):
        said.append("the page scrolls sideways")
    return said
