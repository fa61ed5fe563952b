"""Where undoing leads: never to a page that says that something did not work."""

from __future__ import annotations

import re

import pytest

from spawnwright.actions.book.jars import Hand, fill_jars
from tests.web.conftest import NOW

FORMS = {
    "/cultures": ("/cultures/new", {"name": "LC 1", "form": "syringe", "species": "blue-oyster"}),
    "/blocks": ("/blocks/new", {"name": "Bucket", "container": "bucket", "jars": "{code}"}),
    "/runs": ("/runs/new", {"gauge": "15", "hold": "90", "jar": "{jar}"}),
    "/batches": ("/jars/new", {"count": "2", "jar": "quart", "species": "blue-oyster",
                               "filled": "2026-11-20"}),
}  # fmt: skip


@pytest.mark.parametrize("list_", FORMS)
def test_undoing_what_was_just_made_leads_to_the_list(client, desk, list_):
    """Its own page is gone with it; the list says that it is undone, and takes that back too."""
    made = fill_jars(desk.book, Hand("Ada", "phone", NOW), 1, {"jar_kind": "quart"}, NOW)
    (code, jar), = made.items()  # fmt: skip
    path, fields = FORMS[list_]
    form = {name: value.format(code=code, jar=jar) for name, value in fields.items()}
    page = client.post(path, data=form)
    assert page.status_code == 200
    step = re.search(r'action="/undo/([0-9a-f]+)"', page.text)[1]
    back = re.search(r'name="next" value="([^"]+)"', page.text)[1]

    answer = client.post(f"/undo/{step}", data={"next": back})
    assert answer.status_code == 200
    assert answer.url.path == list_
    assert "did not work" not in answer.text

    again = re.search(r'action="/undo/([0-9a-f]+)"', answer.text)[1]
    assert client.post(f"/undo/{again}", data={"next": list_}).status_code == 200
    assert client.get(back).status_code == 200


def test_undoing_something_about_a_record_leads_back_to_it(client):
    """A test of a culture that was wrong: its page, without the test."""
    culture = client.post("/cultures/new", data=FORMS["/cultures"][1]).url.path
    page = client.post(f"{culture}/test", data={"result": "clean"})
    step = re.search(r'action="/undo/([0-9a-f]+)"', page.text)[1]

    assert client.post(f"/undo/{step}", data={"next": culture}).url.path == culture
