"""A shared book on PostgreSQL is backed up by its export, and brought back by import."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy import text

from spawnwright.actions.book.files import (
    backup_book,
    backup_if_due,
    examine_book,
    export_book,
    restore_book,
)
from spawnwright.actions.book.importing import NotebookChoices, import_file
from spawnwright.actions.book.looks import add_photo
from spawnwright.actions.book.opening import reading, served
from spawnwright.errors import Contradiction, Unusable
from spawnwright.store.book.backup import backups_of
from spawnwright.store.book.engine import open_book
from spawnwright.store.book.tables import METADATA
from tests.actions.book.entering import HAND, filled
from tests.actions.book.test_looks import jpeg
from tests.store.book.entering import START, jar
from tests.store.book.test_export_json import everything

CHOICES = NotebookChoices("Ada", "laptop")


def emptied(url: str) -> None:
    with open_book(url) as book, book.write() as connection:
        names = ", ".join(f'"{table.name}"' for table in METADATA.sorted_tables)
        connection.execute(text(f"TRUNCATE {names} RESTART IDENTITY"))


def test_a_shared_book_is_backed_up_by_its_export_and_brought_back_by_import(database, folder):
    """Photos too; the book that comes back is the same, to the byte of its next export."""
    emptied(database)
    with open_book(database) as book:
        (record,) = filled(book, 1)
        add_photo(book, HAND, record, None, jpeg(40, 30), START)
        before = everything(book)
    export_book(database, folder / "all.json", None, False)
    emptied(database)

    done = import_file(database, folder / "all.json", CHOICES, START, do=True)

    assert (done.is_done, done.new_steps, done.new_pictures, done.backup) == (True, 2, 1, None)
    with open_book(database) as book:
        assert everything(book) == before
    export_book(database, folder / "again.json", None, False)
    assert (folder / "again.json").read_bytes() == (folder / "all.json").read_bytes()


def test_what_is_for_files_says_what_to_do_with_a_shared_book(database, folder):
    for refused in (
        lambda: backup_book(database, None, START),
        lambda: restore_book(database, folder / "x.json", START),
        lambda: examine_book(database, START, False),
    ):
        with pytest.raises(Unusable, match="PostgreSQL"):
            refused()
    with open_book(database) as book:
        jar(book)
        assert backup_if_due(book, START).path is None
        with served(book, "http://127.0.0.1:8377/"), served(book, "http://127.0.0.1:8377/"):
            pass


def test_todays_backup_is_made_once_and_none_of_an_empty_book(file_book):
    now = datetime(2026, 3, 1, 12, tzinfo=UTC)
    assert backup_if_due(file_book, now).path is None
    jar(file_book)

    made = backup_if_due(file_book, now)

    assert made.problem == ""
    assert backup_if_due(file_book, now).path is None
    assert [each.path for each in backups_of(file_book.path)] == [made.path]
    assert backup_if_due(file_book, datetime(2026, 3, 2, tzinfo=UTC)).path is not None


def test_a_file_is_served_once(file_book):
    with (
        served(file_book, "http://127.0.0.1:8377/"),
        pytest.raises(Contradiction, match="served already"),
        served(file_book, "http://127.0.0.1:9999/"),
    ):
        pass
    with served(file_book, ""):
        pass


def test_an_export_can_be_asked_as_if_it_were_a_book(file_book, folder):
    """It stays as it is, and leaves no book behind."""
    jar(file_book)
    export_book(str(file_book.path), folder / "all.json", None, False)
    before = (folder / "all.json").read_bytes()

    with reading(str(folder / "all.json")) as book:
        assert len(everything(book)["jars"]) == 1
        place = book.path

    assert not place.exists()
    assert (folder / "all.json").read_bytes() == before
