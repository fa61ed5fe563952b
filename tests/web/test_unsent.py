"""What a phone saved to a file arrives as if the phone had sent it, and once."""

from __future__ import annotations

import json

import pytest

from spawnwright.actions.book.unsent import unsent_of
from spawnwright.cli import main
from spawnwright.web.app import make_app, make_pages
from spawnwright.web.unsent import send_unsent
from tests.browser.outbox_form import TAKEN, steps, with_form


def entry(name: str, step: str, address: str = "/noted/look", files=()) -> dict:
    fields = [["step", step], ["at_device", "2026-11-25T08:00:00+01:00"], ["name", name]]
    return {
        "step": step, "address": address, "title": f"Block {name}", "files": list(files),
        "made_at": "2026-11-25T08:00:00+01:00", "fields": fields,
    }  # fmt: skip


def text_of(*entries: dict) -> str:
    return json.dumps({
        "format": "spawnwright unsent entries", "version": 1, "device": "kitchen phone",
        "saved_at": "2026-11-25T08:30:00+01:00", "from": "http://bench.local:8377",
        "entries": list(entries),
    })  # fmt: skip


PHOTO = {"field": "photo", "name": 'j"a\nr.jpg', "kind": "image/jpeg", "base64": "/9g="}


@pytest.fixture
def form(monkeypatch):
    """The form of the tests."""
    with_form(monkeypatch)


class Here:
    """What `steps` asks for."""

    def __init__(self, desk):
        self.desk = desk


def test_entries_of_a_file_arrive_once_and_in_order(form, client, desk):
    """The second time they are there already; the step tells the phone and its own time."""
    client.app.inside = make_app(desk).inside  # with the form
    text = text_of(entry("A", "aaaaaaaaaa", files=[PHOTO]), entry("B", "bbbbbbbbbb"))
    sent = {"file": ("bench.unsent.json", text)}

    first = client.post("/unsent", files=sent).text
    again = client.post("/unsent", files=sent).text

    assert "2 entries in the file: 2 kept, 0 there already, 0 refused" in first
    assert "2 entries in the file: 0 kept, 2 there already, 0 refused" in again
    assert steps(Here(desk)) == ["block A", "block B"]
    assert TAKEN == [("j%22a%0Ar.jpg", 2)]
    page = client.get("/history").text
    assert "kitchen phone, from a file" in page


def test_one_that_is_refused_keeps_no_other_out(form, client, desk):
    """It is named, with the reason."""
    client.app.inside = make_app(desk).inside
    text = text_of(
        entry("A?", "aaaaaaaaaa"), entry("mistake", "cccccccccc"), entry("B", "bbbbbbbbbb")
    )

    page = client.post("/unsent", files={"file": ("x.unsent.json", text)}).text

    assert "1 kept, 0 there already, 2 refused" in page
    assert "A name is no question." in page
    assert "mistake (code" in page
    assert steps(Here(desk)) == ["block B"]


NO_PAGES = [
    "/phones/revoke", "/PHONES/revoke", "/%70hones/revoke", "//phones/revoke", "/import",
    "/backup", "/keys/forget", "/unsent", "http://evil.example/noted/look", "noted/look", "",
    "/no-such-page", "/history", "/pair",
]  # fmt: skip


def test_a_file_reaches_nothing_but_pages_for_entries(form, desk):
    """Who hands a grower such a file must not be able to do more than enter something."""
    from pathlib import Path

    from spawnwright.web.phones import Phones

    desk.phones = Phones(Path(desk.book.path).with_name("phones.json"))
    desk.phones.pair(desk.phones.open_code(desk.now()).text, "shed", desk.now())
    app = make_pages(desk)
    for address in NO_PAGES:
        told = unsent_of(text_of(entry("A", "aaaaaaaaaa", address)), "x")

        [found] = send_unsent(app, told, frozenset())

        assert found.how == "refused", address
    assert steps(Here(desk)) == []
    assert len(desk.phones.all()) == 1


def test_another_file_is_refused_on_the_page(client):
    """With the reason, and nothing kept."""
    answer = client.post("/unsent", files={"file": ("x.unsent.json", "{}")})

    assert answer.status_code == 422
    assert "holds no unsent entries" in answer.text
    assert client.post("/unsent").status_code == 422


def test_the_command_shows_first_and_takes_in_once(form, tmp_path, monkeypatch, capsys):
    """As every import: after a backup, the second time nothing is new."""
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))
    source = tmp_path / "bench.unsent.json"
    source.write_text(text_of(entry("A", "aaaaaaaaaa"), entry("B", "bbbbbbbbbb")))

    def run(*more):
        with pytest.raises(SystemExit) as end:
            main(["import", str(source), "--json", *more])
        return end.value.code, json.loads(capsys.readouterr().out)

    shown, taken, again = run(), run("--yes"), run("--yes")

    assert (shown[0], shown[1]["done"], shown[1]["new_steps"]) == (0, False, 2)
    assert shown[1]["notes"][0].startswith("Block A, made 2026-11-25 08:00")
    assert (taken[0], taken[1]["done"], taken[1]["new_steps"]) == (0, True, 2)
    assert taken[1]["backup"]
    assert (again[0], again[1]["new_steps"], again[1]["backup"]) == (0, 0, None)
    source.write_text(text_of(entry("C?", "cccccccccc"), entry("D", "dddddddddd")))
    code, told = run("--yes")
    assert (code, told["new_steps"]) == (1, 1)
    assert "A name is no question." in told["problems"][0]
