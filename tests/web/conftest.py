"""A server's pages without a server: a book, a clock that stands still, a client."""

from __future__ import annotations

import re
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from spawnwright.store.book.engine import open_book
from spawnwright.web.app import make_app
from spawnwright.web.desk import Address, Desk
from tests.store.book.conftest import MEMORY

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
HOME = "http://127.0.0.1:8377"


@pytest.fixture
def desk(monkeypatch):
    """A desk with an empty book, at a fixed time, for a grower without a kit."""
    with tempfile.TemporaryDirectory(prefix="spawnwright-web-", dir=MEMORY) as name:
        monkeypatch.setenv("SPAWNWRIGHT_HOME", name)
        monkeypatch.setenv("TZ", "UTC")
        made = Desk(open_book(Path(name) / "record-book.db"), Address(), clock=lambda: NOW)
        yield made
        made.close()


@pytest.fixture
def client(desk):
    """A browser on this machine."""
    with TestClient(
        make_app(desk), base_url=HOME, client=("127.0.0.1", 50000), follow_redirects=True,
        headers={"Origin": HOME}, raise_server_exceptions=False,
    ) as made:  # fmt: skip
        yield made


def step_of(page: str) -> str:
    """The id that a page's form carries."""
    found = re.search(r'name="step" value="([0-9a-f]+)"', page)
    assert found, "the page has no form"
    return found[1]
