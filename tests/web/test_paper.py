"""Sheets to print, and the calendar feed with its secret address."""

from __future__ import annotations

import shutil

import pytest
from icalendar import Calendar
from starlette.testclient import TestClient

from spawnwright.actions.demo.season import BOOK
from spawnwright.store.book.engine import open_book
from spawnwright.web.app import make_app
from spawnwright.web.desk import Address, Desk
from tests.web.conftest import HOME, NOW

STEP = "0123456789abcdef"


@pytest.fixture(scope="module")
def desk(season, tmp_path_factory):
    """A desk with a copy of the season's book, and a folder of its own."""
    folder = tmp_path_factory.mktemp("paper")
    shutil.copy(season / BOOK, folder / BOOK)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SPAWNWRIGHT_HOME", str(folder))
        made = Desk(open_book(folder / BOOK), Address(), clock=lambda: NOW)
        yield made
        made.close()


@pytest.fixture(scope="module")
def client(desk):
    """A browser on this machine."""
    with TestClient(
        make_app(desk), base_url=HOME, client=("127.0.0.1", 50000), headers={"Origin": HOME},
        raise_server_exceptions=False,
    ) as made:  # fmt: skip
        yield made


@pytest.mark.parametrize(
    "address",
    ["/paper/labels.pdf?which=active", "/paper/labels.pdf?which=codes&codes=CT36+2222&start_at=5",
     "/paper/labels.pdf?which=batch&batch=King+oyster,+pints&offset_x=-0.5",
     "/paper/alignment.pdf?offset_y=1", "/paper/shelf.pdf?paper=Letter", "/paper/shelf.pdf"],
)  # fmt: skip
def test_each_sheet_is_a_pdf(client, address):
    """Made in the worker, handed out without a file left behind."""
    answer = client.get(address)

    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("/paper/labels.pdf?which=codes", "Which jars?"),
        ("/paper/labels.pdf?which=codes&codes=CT37", "no code of a jar"),
        ("/paper/labels.pdf?which=batch&batch=Nobody", "no batch called"),
        ("/paper/labels.pdf?which=active&start_at=500", ""),
        ("/paper/labels.pdf?which=active&sheet=none", ""),
        ("/paper/labels.pdf?which=active&offset_x=much", "much"),
    ],
)
def test_what_cannot_be_printed_is_said(client, address, said):
    """A page with the sentence, no half sheet."""
    answer = client.get(address)

    assert answer.status_code in (404, 422)
    assert said in answer.text
    assert "pdf" not in answer.headers["content-type"]


def test_the_sheet_of_a_planned_batch_is_that_of_its_plan(client, desk):
    """Read back from what the batch keeps; one that was never planned has none."""
    from spawnwright.actions.book.batches import batches

    with desk.book.read() as connection:
        ids = {line.row["name"]: line.row["id"] for line in batches(connection, ended=True)}

    planned = client.get(f"/paper/batch/{ids['King oyster, pints']}.pdf")
    unplanned = client.get(f"/paper/batch/{ids['Blue from syringe 3']}.pdf")

    assert planned.content.startswith(b"%PDF")
    assert unplanned.status_code == 422


def test_a_run_with_a_logger_in_it_has_a_record(client, desk):
    """The trace in the book becomes the page with the curve; a run without has none."""
    from spawnwright.actions.book.run import past_runs, run_story

    with desk.book.read() as connection:
        runs = [run_story(connection, each["id"]) for each in past_runs(connection, 50)]
    (logged,) = [each["id"] for each in runs if each["probes"]]
    other = next(each["id"] for each in runs if not each["probes"])

    assert f"/paper/run/{logged}.pdf" in client.get(f"/runs/{logged}").text
    assert client.get(f"/paper/run/{logged}.pdf").content.startswith(b"%PDF")
    assert client.get(f"/paper/run/{other}.pdf").status_code == 422


def test_the_feed_has_a_secret_address_that_can_be_changed(client, desk):
    """All open tasks, for whoever has the address; the old one stops."""
    client.post("/paper/feed", data={"step": STEP})
    first = _feed(client)
    events = Calendar.from_ical(client.get(first).text).events
    client.post("/paper/feed", data={"step": "0123456789abcdea"})

    assert len(events) > 5
    assert client.get(first).status_code == 404
    assert client.get(_feed(client)).status_code == 200


def test_the_feed_answers_a_calendar_program_that_is_no_paired_phone(client, desk):
    """It cannot pair; anything else stays closed to it."""
    client.post("/paper/feed", data={"step": "0123456789abcdeb"})
    with TestClient(
        make_app(desk), base_url=HOME, client=("192.168.1.20", 50000), follow_redirects=False
    ) as stranger:
        assert stranger.get(_feed(client)).status_code == 200
        assert stranger.get("/feed/guess.ics").status_code == 404
        assert stranger.get("/paper").status_code == 303


def _feed(client):
    page = client.get("/paper").text
    return "/feed/" + page.split("/feed/")[1].split("<")[0]


def test_a_label_that_is_scanned_leads_to_the_page_of_its_jar(client, tmp_path):
    """From the printed QR code, read by another program, to the jar: what a phone's camera does."""
    import subprocess
    from urllib.parse import urlsplit

    import zxingcpp
    from PIL import Image

    if not shutil.which("pdftoppm"):
        pytest.skip("pdftoppm is not installed (package poppler-utils)")
    client.post("/kit", data={"step": "0123456789abcdec", "host": "bench.local"})
    sheet = client.get("/paper/labels.pdf?which=codes&codes=CT36+2222")
    (tmp_path / "sheet.pdf").write_bytes(sheet.content)
    subprocess.run(
        ["pdftoppm", "-r", "150", "-png", "sheet.pdf", "sheet"], cwd=tmp_path, check=True
    )
    (picture,) = tmp_path.glob("sheet*.png")

    scanned = sorted(each.text for each in zxingcpp.read_barcodes(Image.open(picture)))

    assert scanned == ["http://bench.local:8377/j/2222", "http://bench.local:8377/j/CT36"]
    for address in scanned:
        path = urlsplit(address).path
        assert f'Jar <span class="code">{path[-4:]}' in client.get(path).text
