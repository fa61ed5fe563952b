"""Pictures and forecasts: what stands outside the history."""

from __future__ import annotations

import json
import sqlite3
import zipfile
from contextlib import closing
from datetime import timedelta

import pytest

from spawnwright.errors import Unusable
from spawnwright.records.book.form import LONGEST_DOCUMENT, LONGEST_TEXT
from spawnwright.records.book.steps import Entry
from spawnwright.store.book import doctor
from spawnwright.store.book.backup import make_backup
from spawnwright.store.book.export_csv import write_zip
from spawnwright.store.book.forecasts import (
    drop_forecasts,
    get_forecast,
    get_forecasts,
    put_forecast,
)
from spawnwright.store.book.history import current
from spawnwright.store.book.journal import keep
from spawnwright.store.book.pictures import Picture, add_pictures, contents, picture
from tests.store.book.entering import START, at, enter, fresh, jar, step

SEEN = Picture("image/jpeg", bytes(range(256)) * 40)


def test_a_picture_is_kept_once_under_the_hash_of_its_bytes(book):
    """Whoever sends it, however often."""
    with book.write() as connection:
        add_pictures(connection, [SEEN, SEEN])
        add_pictures(connection, [SEEN])

    with book.read() as connection:
        assert contents(connection) == [SEEN.content]
        assert picture(connection, SEEN.content) == SEEN
        assert picture(connection, "0" * 64) is None
    assert len(SEEN.content) == 64


def test_a_photo_needs_its_picture_and_comes_with_it_or_not_at_all(book):
    """A step that is refused leaves no picture behind either."""
    of = {"jar": jar(book), "taken_at": at(), "content": SEEN.content}
    with pytest.raises(Unusable, match=f"no picture {SEEN.content}"):
        keep(book, step(Entry(fresh("photo"), "photo", of)), START)
    with pytest.raises(Unusable, match="no SHA-256"):
        keep(book, step(Entry(fresh("photo"), "photo", of | {"content": "x.jpg"})), START, [SEEN])
    bad = {name: of[name] for name in ("jar", "content")}
    with pytest.raises(Unusable, match="needs taken_at"):
        keep(book, step(Entry(fresh("photo"), "photo", bad)), START, [SEEN])
    with book.read() as connection:
        assert contents(connection) == []

    made = fresh("photo")
    keep(book, step(Entry(made, "photo", of)), START, [SEEN])

    with book.read() as connection:
        assert picture(connection, current(connection, [made])[made]["content"]) == SEEN


def test_pictures_are_part_of_a_backup_and_of_the_zip(file_book, folder):
    """In the file itself, and beside the CSVs for other tools."""
    of = {"jar": jar(file_book), "taken_at": at(), "content": SEEN.content}
    keep(file_book, step(Entry(fresh("photo"), "photo", of)), START, [SEEN])

    copy = make_backup(file_book.path, "asked", START).path
    with file_book.read() as connection:
        write_zip(connection, folder / "all.zip")

    with closing(sqlite3.connect(copy)) as connection:
        assert connection.execute("SELECT data FROM pictures").fetchone() == (SEEN.data,)
    with zipfile.ZipFile(folder / "all.zip") as archive:
        assert archive.read(f"pictures/{SEEN.content}.jpeg") == SEEN.data


@pytest.mark.parametrize(
    ("what", "broken"),
    [
        ("pictures", "UPDATE pictures SET data = x'00'"),
        ("integrity", "DELETE FROM pictures"),
    ],
)
def test_doctor_sees_a_picture_that_is_damaged_or_gone(file_book, what, broken):
    of = {"jar": jar(file_book), "taken_at": at(), "content": SEEN.content}
    keep(file_book, step(Entry(fresh("photo"), "photo", of)), START, [SEEN])
    good = {each.what for each in doctor.examine(file_book.path, START) if each.is_problem}
    with closing(sqlite3.connect(file_book.path)) as other:
        other.execute(broken)
        other.commit()

    found = {each.what for each in doctor.examine(file_book.path, START) if each.is_problem}

    assert found - good == {what}


def test_a_document_is_longer_than_a_text_and_kept_whole(book):
    """The text of a wish and a plan; a note is still a note."""
    plan = json.dumps({"steps": ["x" * 100] * 500})
    made = enter(book, "batch", name="March", plan=plan, wish="a = 1\r\nb = 2\n")

    with book.read() as connection:
        row = current(connection, [made])[made]
    assert (row["plan"], row["wish"]) == (plan, "a = 1\nb = 2")
    assert len(plan) > LONGEST_TEXT
    with pytest.raises(Unusable, match="up to 4000 are kept"):
        enter(book, "batch", name="March", note=plan)
    with pytest.raises(Unusable, match="up to 1000000 are kept"):
        enter(book, "batch", name="March", plan="x" * (LONGEST_DOCUMENT + 1))


def test_what_a_batch_or_a_task_cannot_be_is_refused(book):
    batch = enter(book, "batch", name="March")
    with pytest.raises(Unusable, match="must rise from low to high"):
        enter(book, "batch", name="May", ready_low="2026-05-02", ready_likely="2026-05-01")
    said = {"batch": batch, "key": "soak-1", "at": at(), "until": at(5), "title": "soak"}
    with pytest.raises(Unusable, match="either done or skipped"):
        enter(book, "task", **said, done_at=at(), skipped_at=at())
    with pytest.raises(Unusable, match="ends before it begins"):
        enter(book, "task", **(said | {"until": at(-5)}))


def test_a_forecast_is_found_by_its_key_and_replaced(book):
    """Made by another model it is as good as none; old ones can be forgotten."""
    with book.write() as connection:
        put_forecast(connection, "jar 1", "colonize 1", "{}", START)
        put_forecast(connection, "jar 1", "colonize 2", '{"days":12}', START + timedelta(days=2))
        put_forecast(connection, "jar 2", "colonize 1", "{}", START)

    with book.read() as connection:
        assert get_forecast(connection, "jar 1").answer == '{"days":12}'
        assert get_forecast(connection, "jar 1", "colonize 1") is None
        assert get_forecast(connection, "jar 3") is None
        assert set(get_forecasts(connection, ["jar 1", "jar 2", "jar 3"])) == {"jar 1", "jar 2"}
    with book.write() as connection:
        assert drop_forecasts(connection, START + timedelta(days=1)) == 1
        assert get_forecast(connection, "jar 2") is None
