"""Where there is no room: each thing is refused with a sentence, and what was there is as it was.

A full disk is played in two ways: SQLite is allowed no more pages, which it reports as a full disk
does; or the system lets this process write no file beyond a size, which reaches every writer.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text

from spawnwright.errors import BadFile
from spawnwright.records.book.steps import Entry
from spawnwright.store.book import backup
from spawnwright.store.book.backup import backups_of, make_backup, problems_of
from spawnwright.store.book.engine import open_book
from spawnwright.store.book.export_json import lines
from spawnwright.store.book.import_json import merge
from spawnwright.store.book.journal import keep
from spawnwright.store.book.migrate import form_of
from spawnwright.store.book.pictures import Picture, contents
from tests.store.book.entering import START, at, enter, fresh, jar, step
from tests.store.book.test_faults import ENVIRONMENT
from tests.store.book.test_migrate import OLD_FORMS


def no_more_pages(book) -> None:
    """As if the disk were full from now on."""
    with book.write() as connection:
        pages = connection.execute(text("PRAGMA page_count")).scalar()
        connection.execute(text(f"PRAGMA max_page_count={pages}"))


def count(path: Path, table: str) -> int:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0]


def test_a_photo_that_finds_no_room_leaves_neither_picture_nor_photo(file_book):
    """They come together or not at all."""
    record = jar(file_book)
    no_more_pages(file_book)
    picture = Picture("image/jpeg", os.urandom(500_000))
    fields = {"jar": record, "taken_at": at(), "content": picture.content}
    photo = step(Entry(fresh("photo"), "photo", fields))

    with pytest.raises(BadFile, match="the disk is full"):
        keep(file_book, photo, START, [picture])

    with file_book.read() as connection:
        assert contents(connection) == []
    assert count(file_book.path, "steps") == 1
    with file_book.write() as connection:
        connection.execute(text("PRAGMA max_page_count=1000000"))
    assert not keep(file_book, photo, START, [picture]).was_there


def test_an_import_that_finds_no_room_takes_nothing(file_book, folder):
    """One transaction: none of its forty steps."""
    with open_book(folder / "other.db") as other:
        for number in range(40):
            enter(other, "strain", name=f"{number}", species="b", note="x" * 4000)
        with other.read() as connection:
            (folder / "out.json").write_text("".join(lines(connection)))
    jar(file_book)
    no_more_pages(file_book)

    with pytest.raises(BadFile, match="the disk is full"):
        merge(file_book, folder / "out.json")

    assert count(file_book.path, "steps") == 1
    assert count(file_book.path, "strains") == 0


@pytest.mark.parametrize("released", OLD_FORMS, ids=lambda path: path.stem)
def test_without_room_for_a_backup_an_old_book_is_not_brought_up_to_date(
    released, folder, monkeypatch
):
    """It stays as it was, for the program that wrote it."""
    path = folder / "old.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(released.read_text(encoding="utf-8"))
    usage = type("Usage", (), {"free": 1000})
    monkeypatch.setattr(backup.shutil, "disk_usage", lambda _: usage)

    with pytest.raises(BadFile, match="0 MB free; a copy of the record book needs"):
        open_book(path)

    with closing(sqlite3.connect(path)) as connection:
        (form,) = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    assert form == released.stem
    assert backups_of(path) == []
    monkeypatch.undo()
    with open_book(path) as book, book.read() as connection:
        assert form_of(connection) > released.stem


LIMITED = """
import resource, sys
from datetime import UTC, datetime
from pathlib import Path
from spawnwright.actions.book import files as book_files
from spawnwright.errors import SpawnwrightError
from spawnwright.store.book.engine import open_book
path, target, what = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3]
now = datetime(2026, 2, 1, tzinfo=UTC)
open_book(path).close()
most = 600_000 if what == "enter" else 100_000
resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
try:
    if what == "backup":
        book_files.backup_book(str(path), None, now)
    elif what == "backup to":
        book_files.backup_book(str(path), target.with_suffix(".db"), now)
    elif what == "export":
        book_files.export_book(str(path), target.with_suffix(".json"), None, False)
    elif what == "zip":
        book_files.export_book(str(path), target.with_suffix(".zip"), None, False)
    elif what == "restore":
        done = book_files.restore_book(str(path), Path(sys.argv[4]), now)
        print(done.problem)
    elif what == "enter":
        from tests.store.book.entering import enter
        with open_book(path) as book:
            for number in range(40):
                enter(book, "strain", name="x", species="y", note="z" * 3000)
                print("kept")
except SpawnwrightError as reason:
    print(reason)
"""


@pytest.fixture
def large(folder):
    """A book larger than a limited process can write, with a backup; its path."""
    with open_book(folder / "book.db") as book:
        for number in range(60):
            enter(book, "strain", name=f"{number}", species="b", note=os.urandom(1900).hex())
        make_backup(folder / "book.db", "asked", START)
    return folder / "book.db"


def limited(path: Path, target: Path, what: str, *more: str) -> list[str]:
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(path), str(target), what, *more],
        env=ENVIRONMENT, capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


@pytest.mark.parametrize("what", ["backup", "backup to", "export", "zip", "restore"])
def test_a_file_that_cannot_be_written_whole_is_not_written(large, folder, what):
    """No half copy, no half export; an older file of that name, the backups and the book stay."""
    copies = [each.path for each in backups_of(large)]
    for end in (".json", ".zip"):
        (folder / f"target{end}").write_text("an older one")

    (said,) = limited(large, folder / "target", what, str(copies[0]))

    assert "cannot be written" in said or "could not be copied" in said
    assert len(said) < 600
    assert [each.path for each in backups_of(large)] == copies
    left = {file.name for file in folder.rglob("*") if not file.name.endswith(("-wal", "-shm"))}
    assert left == {"book.db", "book.db.lock", "backups", copies[0].name, "target.json",
                    "target.zip"}  # fmt: skip
    assert (folder / "target.json").read_text() == "an older one"
    assert problems_of(large) == problems_of(copies[0]) == []
    assert count(large, "strains") == 60


def test_what_was_acknowledged_before_the_disk_failed_is_there(folder):
    """The system refuses to let the log grow; all that was said to be kept is."""
    path = folder / "book.db"
    open_book(path).close()

    *kept, said = limited(path, folder / "x", "enter")

    assert "What was kept before is still there" in said
    assert set(kept) == {"kept"}
    with open_book(path) as book:
        jar(book)
    assert count(path, "strains") == len(kept) > 3
    assert problems_of(path) == []
