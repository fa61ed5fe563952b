"""A page with a form that is kept when the computer does not answer; for tests of the outbox."""

from __future__ import annotations

import time
from pathlib import Path

from jinja2 import ChoiceLoader, DictLoader

from spawnwright.actions.book.hand import made_id, with_step
from spawnwright.actions.book.jars import enter
from spawnwright.actions.book.past import recent_steps
from spawnwright.errors import Unusable
from spawnwright.records.book.steps import Entry
from spawnwright.web.desk import LOOPBACK, Address
from spawnwright.web.forms import Done, desk_of, entry
from spawnwright.web.phones import Phones
from spawnwright.web.show import environment, show

PAGE = """{% extends "base.html" %}{% from "parts.html" import carried, field %}
{% block title %}Blocks{% endblock %}{% block main %}<h1>Note a block</h1>
<form method="post" action="/noted/look" class="entry" enctype="multipart/form-data"
 data-keep data-said="Block">
{{ carried(typed) }}{{ field("name", "Name", typed, required=true) }}
{{ field("note", "Note", typed) }}
<div class="field"><label for="f-photo">Photo</label>
<input id="f-photo" type="file" name="photo"></div>
<button>Keep</button></form>{% endblock %}"""
TAKEN: list[tuple[str, int]] = []
"""Names and sizes of the files that came with forms."""


def page(request, typed=None, problem=""):
    """The form."""
    return show(request, "noted.html", typed=typed or {}, problem=problem)


def keep_note(request, form, hand):
    """One block a form; a name that ends with a question mark is refused."""
    name = form.needed("name", "The name")
    TAKEN.extend((each.filename, each.size) for each in form.files.get("photo", []))
    if name.endswith("?"):
        raise Unusable("A name is no question.")
    if name == "slow":
        time.sleep(0.2)
    if name == "mistake":
        raise ZeroDivisionError
    desk, hand = desk_of(request), with_step(hand)
    about = {"name": name, "container": "block", "made_at": hand.at}
    if form.text("note"):
        about["note"] = form.text("note")
    made = (Entry(made_id(hand, "block"), "block", about),)
    kept = enter(desk.book, hand, f"block {name}", made, desk.now())
    return Done("/noted/look", kept.step, "Noted.")


ROUTE = entry("/noted/look", keep_note, page)


def with_form(monkeypatch) -> None:
    """Add the form to the pages of the next server."""
    from spawnwright.web import app, pages

    own = DictLoader({"noted.html": PAGE})
    monkeypatch.setattr(environment(), "loader", ChoiceLoader([own, environment().loader]))
    monkeypatch.setattr(app, "routes", lambda: [ROUTE, *pages.routes()])
    TAKEN.clear()


def open_to_phones(served) -> str:
    """Let phones pair; gives the address that they use."""
    served.desk.address = Address(served.port, hosts=(*LOOPBACK, "bench.local"), is_lan=True)
    served.desk.phones = Phones(Path(served.folder) / "phones.json")
    return f"http://bench.local:{served.port}"


def steps(served) -> list[str]:
    """Titles of what is in the book, oldest first."""
    with served.desk.book.read() as connection:
        return [each.step.title for each in reversed(recent_steps(connection, 50))]
