"""By https a phone opens the pages without the computer; proven with Chromium and our own keys."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
import uvicorn

from spawnwright.actions.book.jars import Hand, fill_jars
from spawnwright.web.app import make_app
from spawnwright.web.desk import LOOPBACK, Address
from spawnwright.web.keys import Keys
from spawnwright.web.phones import Phones
from spawnwright.web.server import Server
from tests.browser.conftest import _QUIET, free_port, opened
from tests.browser.outbox_form import steps, with_form
from tests.browser.test_outbox import DATABASE, enter, nothing_waits, pair, until, waits

KEPT_PAGES = (
    "async () => (await (await caches.open((await caches.keys()).find("
    "(name) => name.includes('pages')) ?? 'none')).keys()).length {}"
)
WORKS = "async () => (await navigator.serviceWorker.ready).active?.state"


@pytest.fixture
def secure(monkeypatch, request):
    """A server that phones reach by https, and the address that they use."""
    pytest.importorskip("cryptography", reason="the package cryptography is not installed")
    with_form(monkeypatch)
    served = request.getfixturevalue("served")
    keys = Keys(Path(served.folder) / "keys")
    keys.ready(("bench.local",), (), datetime.now(UTC))
    port = free_port()
    served.desk.address = Address(
        served.port, hosts=(*LOOPBACK, "bench.local"), is_lan=True, scheme="https", secure_port=port
    )
    served.desk.phones, served.desk.keys = Phones(Path(served.folder) / "phones.json"), keys
    config = uvicorn.Config(
        make_app(served.desk), host="127.0.0.1", port=port, log_level="critical", lifespan="off",
        proxy_headers=False, ssl_certfile=keys.certificate, ssl_keyfile=keys.key,
        timeout_graceful_shutdown=1,
    )  # fmt: skip
    server = Server(config, served.desk)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    for _ in range(200):
        if server.started:
            break
        time.sleep(0.02)
    served.secure, served.stop_secure = f"https://bench.local:{port}", lambda: (
        setattr(server, "should_exit", True), thread.join(5)
    )  # fmt: skip
    yield served
    served.stop_secure()


@pytest.fixture
def trusting(secure, browser, tmp_path):
    """A browser of its own that was told to trust our authority, as a phone is."""
    if not shutil.which("certutil"):
        pytest.skip("certutil, which tells Chromium what to trust, is missing (libnss3-tools)")
    store = tmp_path / ".pki" / "nssdb"
    store.mkdir(parents=True)
    place = f"sql:{store}"
    subprocess.run(["certutil", "-N", "-d", place, "--empty-password"], check=True)
    subprocess.run(
        ["certutil", "-A", "-d", place, "-n", "bench", "-t", "C,,", "-i",
         str(secure.desk.keys.folder / "authority.pem")],
        check=True,
    )  # fmt: skip
    named = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
    flags = _QUIET + (["--no-sandbox"] if os.getuid() == 0 else [])
    made = browser.browser_type.launch(
        executable_path=named, args=flags, env=os.environ | {"HOME": str(tmp_path)}
    )
    yield made
    made.close()


def test_a_phone_that_trusts_this_computer_opens_the_pages_offline(secure, trusting):
    """The worker is registered; with the computer gone the last pages open, and entries wait."""
    with opened(trusting) as page:
        pair(secure, page, secure.secure)
        assert "home screen" in page.get_by_role("main").inner_text()
        assert page.evaluate("() => [isSecureContext, document.cookie]") == [True, ""]
        assert page.evaluate(WORKS) in ("activating", "activated")
        page.goto(f"{secure.secure}/look")
        until(page, KEPT_PAGES.format("=== 1"))
        page.context.set_offline(True)

        page.goto(f"{secure.secure}/look?code=CT36")
        page.get_by_role("heading", name="Look at jars").wait_for()
        waits(page, "This page is as it was")
        page.goto(f"{secure.secure}/history")
        page.get_by_role("heading", name="Spawnwright does not answer").wait_for()


def test_looks_are_entered_while_the_computer_is_away(secure, trusting):
    """From the page that the worker keeps, opened anew for each jar: the id of a step in it is the
    same each time, yet each look arrives, and once.
    """
    filled = {"jar_kind": "quart", "fill": 0.65}
    hand = Hand("Ada", "this computer", secure.desk.now())
    jars = list(fill_jars(secure.desk.book, hand, 2, filled, secure.desk.now()))
    with opened(trusting) as page:
        pair(secure, page, secure.secure)
        assert page.evaluate(WORKS)
        page.goto(f"{secure.secure}/look")
        until(page, KEPT_PAGES.format("=== 1"))
        page.context.set_offline(True)
        ids = []
        for place, code in enumerate(jars, 1):
            page.goto(f"{secure.secure}/look")
            ids.append(page.locator("form.look [name=step]").get_attribute("value"))
            page.get_by_label("Code of the jar").fill(code)
            page.locator("#far-p25").check()
            page.get_by_role("button", name="Keep, then the next jar").click()
            waits(page, f"{place} entr")
        assert ids[0] == ids[1]
        page.context.set_offline(False)
        until(page, f"async () => await ({DATABASE})() === 0")
    assert steps(secure) == ["fill jars", *(f"look at {code}" for code in jars)]


def test_each_entry_of_a_page_that_stays_open_is_a_step_of_its_own(secure, trusting):
    """A page holds one id of a step, however long it stays; the script gives each entry another."""
    with opened(trusting) as page:
        pair(secure, page, secure.secure)
        page.goto(f"{secure.secure}/noted/look")
        page.context.set_offline(True)
        for place, name in enumerate("AB", 1):
            enter(page, name)
            waits(page, f"{place} entr")
        page.context.set_offline(False)
        nothing_waits(page)
    assert steps(secure) == ["block A", "block B"]


def test_a_phone_that_is_not_let_in_any_more_keeps_no_page(secure, trusting):
    """What it saw last is forgotten as soon as it asks."""
    with opened(trusting) as page:
        pair(secure, page, secure.secure)
        assert page.evaluate(WORKS)
        page.goto(f"{secure.secure}/look")
        until(page, KEPT_PAGES.format("=== 1"))
        secure.desk.phones.revoke_all()
        page.goto(f"{secure.secure}/look")
        assert page.url.endswith("/pair")
        until(page, KEPT_PAGES.format("=== 0"))


def test_a_browser_that_was_not_told_refuses(secure, browser):
    """No connection without the step at /ca/; and clicking the warning away gives no worker."""
    with opened(browser) as page, pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(f"{secure.secure}/pair")


def test_the_worker_keeps_to_this_version(served, browser):
    """The computer itself is a secure place too; files of older versions go away."""
    with opened(browser) as page:
        page.goto(f"{served.home}/find")
        assert page.evaluate(WORKS)
        page.evaluate("async () => { await caches.open('bench-files-0.0.1'); }")
        page.evaluate("async () => { for (const each of await navigator.serviceWorker."
                      "getRegistrations()) await each.unregister(); }")  # fmt: skip
        page.reload()
        assert page.evaluate(WORKS)
        until(page, "async () => !(await caches.has('bench-files-0.0.1'))")
        names = page.evaluate("async () => caches.keys()")
        assert all(re.fullmatch(r"bench-(files|pages)-0\.1\.0", each) for each in names)


def test_the_manifest_can_be_installed(served, browser):
    """Names, start, icons of the sizes that they say they have."""
    import io
    import json

    from PIL import Image

    with opened(browser) as page:
        page.goto(f"{served.home}/find")
        told = page.context.request.get(f"{served.home}/manifest.webmanifest")
        assert told.headers["content-type"] == "application/manifest+json"
        manifest = json.loads(told.text())
        assert (manifest["start_url"], manifest["display"]) == ("/", "standalone")
        for each in manifest["icons"][1:]:
            picture = page.context.request.get(f"{served.home}{each['src']}").body()
            size = Image.open(io.BytesIO(picture)).size
            assert "x".join(map(str, size)) == each["sizes"]
