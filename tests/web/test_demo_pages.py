"""Every page on a book with a season in it: nothing is missing, nothing breaks."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from datetime import UTC, datetime
from urllib.parse import urlsplit

import pytest
from starlette.testclient import TestClient

from spawnwright.actions.demo.season import BOOK
from spawnwright.store.book.engine import open_book
from spawnwright.web.app import make_app
from spawnwright.web.desk import Address, Desk
from tests.web.conftest import HOME

NOW = datetime(2026, 11, 25, 10, 30, tzinfo=UTC)
MOST = 250


@pytest.fixture(scope="module")
def busy(season, tmp_path_factory):
    """A browser on this machine, with a copy of the season's book."""
    folder = tmp_path_factory.mktemp("busy")
    shutil.copy(season / BOOK, folder / BOOK)
    desk = Desk(open_book(folder / BOOK), Address(), clock=lambda: NOW)
    with TestClient(
        make_app(desk), base_url=HOME, client=("127.0.0.1", 50000), headers={"Origin": HOME},
        raise_server_exceptions=False,
    ) as client:  # fmt: skip
        yield client
    desk.close()


def links(page: str) -> set[str]:
    """The addresses on a page that lead to another page of ours."""
    found = {each.replace("&amp;", "&") for each in re.findall(r'href="(/[^"#]*)', page)}
    return {each for each in found if not each.startswith(("/static", "/export"))}


def shape(address: str) -> str:
    """An address without ids and codes: pages of one shape are tried a few times only."""
    path = urlsplit(address).path
    if path.count("/") > 1:
        path = re.sub(r"/[0-9A-Za-z_-]{4,}(?=/|$)", "/*", path)
    names = "&".join(sorted(part.split("=")[0] for part in urlsplit(address).query.split("&")))
    return f"{path}?{names}"


def test_every_link_of_every_page_leads_somewhere(busy):
    """From the first page on; three of each shape."""
    waiting, seen, shapes, broken = ["/"], {"/"}, {}, {}
    while waiting and len(seen) < MOST:
        address = waiting.pop(0)
        answer = busy.get(address)
        if answer.status_code != 200:
            broken[address] = answer.status_code
        if "text/html" not in answer.headers.get("content-type", ""):
            continue
        for each in sorted(links(answer.text) - seen):
            kind = shape(each)
            shapes[kind] = shapes.get(kind, 0) + 1
            if shapes[kind] <= 3:
                seen.add(each)
                waiting.append(each)

    assert not broken
    assert len(seen) > 60


def test_no_page_lets_a_name_of_the_program_through(busy):
    """No None, no column with an underscore, no Python value, where people read."""
    for address in ("/", "/shelf", "/batches", "/runs", "/cultures", "/blocks", "/doubt", "/stock",
                    "/costs", "/history", "/calendar", "/settle"):  # fmt: skip
        text = re.sub(r"<[^>]*>", " ", busy.get(address).text)

        assert not re.search(r"\bNone\b|\bdict\b|datetime|\bnan\b|\binf\b", text), address


def test_the_server_never_imports_the_models(season, tmp_path):
    """They would cost memory and a second at each start."""
    shutil.copy(season / BOOK, tmp_path / BOOK)
    code = f"""
import sys
from starlette.testclient import TestClient
from spawnwright.store.book.engine import open_book
from spawnwright.web.app import make_app
from spawnwright.web.desk import Desk
if __name__ == "__main__":
    desk = Desk(open_book({str(tmp_path / BOOK)!r}))
    with TestClient(make_app(desk), base_url={HOME!r}, client=("127.0.0.1", 1)) as client:
        for page in ("/", "/shelf", "/batches", "/runs", "/cultures", "/look", "/calendar", "/kit",
                     "/plan", "/more"):
            assert client.get(page).status_code == 200, page
    desk.close()
    print([name for name in ("numpy", "scipy", "pint", "reportlab") if name in sys.modules])
"""
    file = tmp_path / "pages.py"
    file.write_text(code, encoding="utf-8")

    done = subprocess.run(
        [sys.executable, str(file)], capture_output=True, text=True, check=False,
        env={"PYTHONPATH": "src", "SPAWNWRIGHT_HOME": str(tmp_path), "PATH": "/usr/bin:/bin"},
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "[]"
