"""Kit and settings as a form; the book out to files and files into the book."""

from __future__ import annotations

import io
import json
import zipfile

import pytest

from spawnwright.actions.book.jars import Hand, fill_jars
from spawnwright.actions.own_kit.kit import own_kit
from tests.web.conftest import NOW, step_of

STEP = "0123456789abcdef"


def test_the_kit_is_filled_in_and_shown_again(client):
    """A bare number means what the box says; a unit may be given."""
    form = {"step": STEP, "elevation": "450", "gauge": "15 lb weight", "shelf": "72 F",
            "dose": "2", "units": "us", "name": "Ada"}  # fmt: skip

    page = client.post("/kit", data=form).text

    kit = own_kit()
    assert (kit.elevation_m, kit.dose_ml, kit.units) == (450.0, pytest.approx(2.0), "us")
    assert kit.shelf_c == pytest.approx(22.2, abs=0.05)
    assert 'value="72 F"' in page
    assert "Kept in your kit" in page


def test_an_emptied_box_is_forgotten(client):
    """And only that one."""
    client.post("/kit", data={"step": STEP, "elevation": "450", "name": "Ada"})
    client.post("/kit", data={"step": STEP, "elevation": "", "name": "Ada"})

    assert (own_kit().elevation_m, own_kit().name) == (None, "Ada")


def test_boiling_water_and_elevation_are_held_against_each_other(client):
    """In the worker process; the sentence comes back from there, and nothing is kept."""
    form = {"step": STEP, "elevation": "450", "name": "Ada"}

    refused = client.post("/kit", data={**form, "boils_at": "93 C"})
    assert refused.status_code == 422
    assert "rolling boil" in refused.text
    assert own_kit().name is None

    client.post("/kit", data={**form, "boils_at": "98.1 C"})
    assert own_kit().boils_at_c == pytest.approx(98.1)


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ({"elevation": "high up"}, "high up"),
        ({"time_zone": "Mars/Olympus"}, "no time zone"),
        ({"units": "imperial"}, "metric or us"),
        ({"burner": "-5"}, ""),
    ],
)
def test_nonsense_in_the_kit_is_refused(client, form, said):
    """Nothing is changed, and what was typed stays in its box."""
    answer = client.post("/kit", data={"step": STEP, "name": "Ada"} | form)

    assert answer.status_code == 422
    assert said in answer.text
    assert own_kit().name is None


@pytest.fixture
def jars(desk):
    """Three jars in the book."""
    hand = Hand("Ada", "this computer", NOW)
    return fill_jars(desk.book, hand, 3, {"jar_kind": "quart", "fill": 0.7}, NOW)


def test_the_book_is_taken_out_whole(client, jars):
    """As JSON with every step, as CSV files in a zip."""
    whole = client.get("/export/book.json")
    tables = client.get("/export/book.zip")

    assert all(code in whole.text for code in jars)
    assert whole.headers["content-disposition"].startswith("attachment")
    with zipfile.ZipFile(io.BytesIO(tables.content)) as packed:
        assert any("jar" in name for name in packed.namelist())


def test_a_file_is_shown_first_and_then_taken_in(client, jars, desk):
    """A notebook of two looks: nothing is in the book before the second tap."""
    code = next(iter(jars))
    notes = f"jar,date,note\n{code},2026-11-20,half white\n{code},2026-11-22,nearly all\n"
    handed = {"file": ("notes.csv", notes.encode(), "text/csv")}

    shown = client.post("/import", data={"step": STEP}, files=handed)
    before = json.loads(client.get("/export/book.json").text)
    taken = client.post(str(shown.url), data={"step": step_of(shown.text)})
    after = json.loads(client.get("/export/book.json").text)

    assert "It would add" in shown.text
    assert "taken into the book" in taken.text
    assert len(after["steps"]) > len(before["steps"])


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("notes.exe", b"MZ", "is not taken"),
        ("notes.csv", b"", "is empty"),
        ("book.json", b"{", ""),
    ],
)
def test_a_file_that_is_none_of_ours_is_refused(client, name, content, said):
    """By its name, its emptiness, or what the import says of it."""
    answer = client.post("/import", data={"step": STEP}, files={"file": (name, content)})

    assert answer.status_code == 422
    assert said in answer.text


def test_no_file_outside_the_folder_is_reached(client):
    """A name that climbs is no name of a file that was handed in."""
    for kept in ("..%2F..%2Frecord-book.db", "0123456789abcdef.csv", "x.csv"):
        assert client.get(f"/import/{kept}?shown=1").status_code in (404, 422)


def test_a_backup_is_made_and_listed(client, jars, desk):
    """With path and size."""
    page = client.post("/backup", data={"step": STEP}).text

    assert "A checked copy was made" in page
    assert ".db" in page
