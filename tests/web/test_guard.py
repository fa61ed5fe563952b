"""Who may ask: names, origins, sizes, and the headers that every answer carries."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from spawnwright.web.app import make_app
from tests.web.conftest import HOME


def test_every_answer_forbids_what_is_not_ours(client):
    """No third-party request can come of any page, its problems included."""
    for path in ("/history", "/find", "/no-such-page", "/static/0.1.0/site.css"):
        headers = client.get(path).headers

        assert headers["content-security-policy"].startswith("default-src 'self';")
        assert headers["referrer-policy"] == "same-origin"
        assert headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example:8377", "", "127.0.0.2"])
def test_another_name_is_not_answered(client, host):
    """A site that resolves its own name to this machine must get nothing."""
    answer = client.get("/history", headers={"Host": host})

    assert answer.status_code == 400
    assert "What was entered" not in answer.text


@pytest.mark.parametrize(
    ("headers", "is_taken"),
    [
        ({"Origin": HOME}, True),
        ({"Origin": HOME, "Sec-Fetch-Site": "same-origin"}, True),
        ({"Origin": HOME, "Sec-Fetch-Site": "cross-site"}, False),
        ({"Origin": HOME, "Sec-Fetch-Site": "none"}, False),
        ({"Origin": "http://evil.example"}, False),
        ({"Origin": "null"}, False),
        ({"Origin": "http://127.0.0.1:9999"}, False),
        ({"Origin": "https://127.0.0.1:8377"}, False),
        ({"Origin": ""}, False),
    ],
)
def test_a_form_comes_from_our_own_pages(client, headers, is_taken):
    """Else any page open in the same browser could write into the book."""
    answer = client.post("/undo/no-such-step", data={"step": "0123456789"}, headers=headers)

    assert (answer.status_code != 403) == is_taken


def test_another_machine_is_sent_to_pairing(desk):
    """Without a paired phone only this machine may see anything."""
    with TestClient(
        make_app(desk), base_url=HOME, client=("192.168.1.20", 50000), follow_redirects=False
    ) as stranger:
        asked = stranger.get("/history")
        sent = stranger.post("/undo/x", headers={"Origin": HOME, "X-Outbox": "1"})

        assert (asked.status_code, asked.headers["location"]) == (303, "/pair")
        assert sent.status_code == 401
        assert stranger.get("/export").status_code == 403


def test_a_claim_to_be_this_machine_is_not_believed(desk):
    """Only the connection itself says where it comes from."""
    with TestClient(
        make_app(desk), base_url=HOME, client=("192.168.1.20", 50000), follow_redirects=False
    ) as stranger:
        claim = {"X-Forwarded-For": "127.0.0.1", "Forwarded": "for=127.0.0.1"}

        assert stranger.get("/export", headers=claim).status_code == 403


def test_a_large_form_is_refused_unread_or_while_reading(client):
    """By its stated length, and by counting where none is stated."""
    stated = client.post("/undo/x", content=b"a" * 2_000_000)

    def parts():
        for _ in range(40):
            yield b"step=" + b"a" * 50_000

    form = {"content-type": "application/x-www-form-urlencoded"}
    counted = client.post("/undo/x", content=parts(), headers=form)

    assert stated.status_code == 413
    assert counted.status_code in (413, 422)


def test_a_mistake_shows_a_code_and_nothing_else(client, desk, monkeypatch):
    """No path, no line of program, no name of a table reaches the browser."""
    monkeypatch.setattr("spawnwright.web.pages.history.last_steps", lambda *_: 1 / 0)

    answer = client.get("/history")

    assert answer.status_code == 500
    assert "code " in answer.text
    assert "ZeroDivision" not in answer.text
    assert "Traceback" not in answer.text
