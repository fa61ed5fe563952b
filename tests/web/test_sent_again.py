"""A form that comes twice: the same is one entry, a changed one is never passed over."""

from __future__ import annotations

import re
from urllib.parse import urlencode

from tests.web.conftest import step_of


def _cost(client, step, what, amount, **headers):
    said = urlencode({"step": step, "what": what, "amount": amount, "unit": "EUR"})
    kind = {"content-type": "application/x-www-form-urlencoded"}
    return client.post("/costs", content=said, headers=kind | headers)


def test_the_same_form_sent_twice_is_one_entry(client):
    """A lost answer, a double tap."""
    step = step_of(client.get("/costs").text)
    for _ in range(2):
        assert _cost(client, step, "rye", "31").status_code == 200

    assert client.get("/costs").text.count("<strong>31.00 EUR</strong>") == 1


def test_a_form_that_was_gone_back_to_and_changed_is_not_lost(client):
    """The browser's Back shows the old form with its step; what is typed there is another entry."""
    step = step_of(client.get("/costs").text)
    _cost(client, step, "rye", "31")
    answer = _cost(client, step, "lids", "12")

    assert answer.status_code == 422
    assert "send it again" in answer.text
    assert 'value="lids"' in answer.text
    again = re.findall(r'name="step" value="([0-9a-f]+)"', answer.text)
    assert step not in again
    _cost(client, again[-1], "lids", "12")
    page = client.get("/costs").text
    assert "<strong>31.00 EUR</strong>" in page
    assert "<strong>12.00 EUR</strong>" in page


def test_a_device_that_sends_another_entry_under_one_step_is_told(client):
    """By script too: a sentence, not a "kept" for what was not."""
    _cost(client, "0123456789abcdef", "rye", "31")
    answer = _cost(client, "0123456789abcdef", "rye", "3.10", **{"x-outbox": "1"})

    assert answer.status_code == 422
    assert "kept already" in answer.json()["problem"]


def test_the_kit_may_be_sent_again_from_the_same_page(client):
    """It is no entry of the book; the last one holds."""
    step = step_of(client.get("/kit").text)
    for name in ("Ines", "Ida"):
        assert client.post("/kit", data={"step": step, "name": name}).status_code == 200

    assert 'value="Ida"' in client.get("/kit").text
