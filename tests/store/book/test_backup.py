"""Backups are whole and thinned out; restore never touches a book that somebody holds."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from spawnwright.errors import BadFile, Contradiction
from spawnwright.store.book import backup
from spawnwright.store.book.backup import Backup
from spawnwright.store.book.engine import open_book
from spawnwright.store.book.migrate import STEPS
from tests.store.book.entering import enter, jar

NOW = datetime(2026, 3, 15, 12, 0, tzinfo=UTC)


def jars_in(path):
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("SELECT count(*) FROM jars").fetchone()[0]


def test_a_backup_holds_all_that_was_acknowledged_also_what_is_only_in_the_log(file_book):
    """Copying the file alone would lose what SQLite has not moved over yet."""
    for _ in range(5):
        jar(file_book)

    made = backup.make_backup(file_book.path, "asked", NOW)

    assert made.path.name == "book-20260315T120000Z-asked.db"
    assert jars_in(made.path) == 5
    assert backup.problems_of(made.path) == []
    assert [file.name for file in made.path.parent.iterdir()] == [made.path.name]


def test_a_backup_made_while_others_write_is_whole(file_book):
    """Readers and writers go on; the copy is one moment of the book."""
    stop = threading.Event()

    def write() -> None:
        while not stop.is_set():
            jar(file_book)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        copies = [backup.make_backup(file_book.path, "asked", NOW) for _ in range(5)]
    finally:
        stop.set()
        writer.join()

    counts = [jars_in(copy.path) for copy in copies]
    assert counts == sorted(counts)
    assert len({copy.path for copy in copies}) == 5


def test_one_a_day_and_none_of_an_empty_book(file_book):
    """UTC days; a book that nothing is in needs no copy."""
    assert backup.daily_backup(file_book.path, NOW) is None
    jar(file_book)

    first = backup.daily_backup(file_book.path, NOW)
    again = backup.daily_backup(file_book.path, NOW + timedelta(hours=3))
    next_day = backup.daily_backup(file_book.path, NOW + timedelta(hours=13))

    assert first is not None
    assert again is None
    assert next_day is not None


def test_generations_seven_days_four_weeks_twelve_months():
    """Two copies a day for two years leave the last of each."""
    copies = [
        Backup(Path(f"{number}.db"), NOW - timedelta(hours=12 * number), "daily")
        for number in range(1460)
    ]

    gone = {each.path for each in backup.to_thin_out(copies)}
    left = [each.made for each in copies if each.path not in gone]

    days = {made.date() for made in left}
    assert {(NOW - timedelta(days=n)).date() for n in range(7)} <= days
    assert len({made.strftime("%G-%V") for made in left}) >= 4
    assert len({made.strftime("%Y-%m") for made in left}) == 12
    assert 17 < len(left) <= 1 + 7 + 4 + 12
    assert copies[0].path not in gone


def test_a_book_left_alone_keeps_its_old_copies():
    """Nothing is thinned out because time passes."""
    copies = [Backup(Path("a.db"), NOW - timedelta(days=900), "daily"),
              Backup(Path("b.db"), NOW - timedelta(days=901), "before-update")]  # fmt: skip

    assert backup.to_thin_out(copies) == []


def test_restore_swaps_the_book_and_keeps_the_old_one(folder):
    """With all that was entered since the copy, should it have been a mistake."""
    path = folder / "book.db"
    with open_book(path) as book:
        jar(book)
        copy = backup.make_backup(path, "asked", NOW)
        jar(book)

    old = backup.restore(path, copy.path)

    assert jars_in(path) == 1
    assert jars_in(old) == 2
    with open_book(path) as book:
        jar(book)
    assert jars_in(path) == 2


def test_restore_to_where_no_book_is(folder):
    path = folder / "book.db"
    with open_book(path) as book:
        jar(book)
    moved = folder / "copy.db"
    path.rename(moved)

    assert backup.restore(path, moved) is None
    assert jars_in(path) == jars_in(moved) == 1


HOLDER = """
import sys
from spawnwright.store.book.engine import open_book
with open_book(sys.argv[1]) as book:
    print("open", flush=True)
    sys.stdin.read()
"""
STRANGER = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1])
connection.execute("SELECT count(*) FROM jars").fetchone()
print("open", flush=True)
sys.stdin.read()
"""


@pytest.mark.parametrize("program", [HOLDER, STRANGER], ids=["this program", "another program"])
def test_restore_refuses_while_any_process_holds_the_book(folder, program):
    """Replacing a file under a live write-ahead log would damage both."""
    path = folder / "book.db"
    with open_book(path) as book:
        jar(book)
        copy = backup.make_backup(path, "asked", NOW)
        jar(book)
    environment = os.environ | {"PYTHONPATH": str(STEPS.parents[3])}
    with subprocess.Popen(
        [sys.executable, "-c", program, str(path)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment,
    ) as holder:  # fmt: skip
        assert holder.stdout.readline() == "open\n"
        with pytest.raises(Contradiction, match="Nothing was changed"):
            backup.restore(path, copy.path)
        assert jars_in(path) == 2
        holder.stdin.close()

    backup.restore(path, copy.path)
    assert jars_in(path) == 1


def test_restore_refuses_a_copy_that_is_not_whole(folder):
    """The book stays, and the damaged copy with it."""
    path = folder / "book.db"
    with open_book(path) as book:
        for _ in range(20):
            jar(book)
        copy = backup.make_backup(path, "asked", NOW).path
    content = bytearray(copy.read_bytes())
    content[len(content) // 2 : len(content) // 2 + 4096] = os.urandom(4096)
    damaged = folder / "damaged.db"
    damaged.write_bytes(content)

    for bad in (damaged, folder / "none.db", path):
        with pytest.raises(BadFile):
            backup.restore(path, bad)

    assert jars_in(path) == 20


def test_restore_replaces_a_damaged_book(folder):
    """That is what it is for."""
    path = folder / "book.db"
    with open_book(path) as book:
        jar(book)
        copy = backup.make_backup(path, "asked", NOW).path
    path.write_bytes(os.urandom(8192))

    old = backup.restore(path, copy)

    assert jars_in(path) == 1
    assert old.stat().st_size == 8192


def test_a_book_that_is_being_restored_is_not_opened(folder):
    """Both ways round: whoever comes second waits."""
    from spawnwright.store.book.place import Hold

    path = folder / "book.db"
    open_book(path).close()
    hold = Hold(path, alone=True)
    with pytest.raises(Contradiction, match="is being restored"):
        open_book(path)
    hold.release()
    open_book(path).close()


def test_no_copy_is_begun_where_it_cannot_fit(file_book, monkeypatch):
    """Said before anything is written."""
    jar(file_book)
    usage = type("Usage", (), {"free": 1000})
    monkeypatch.setattr(backup.shutil, "disk_usage", lambda _: usage)

    with pytest.raises(BadFile, match="0 MB free; a copy of the record book needs"):
        backup.make_backup(file_book.path, "asked", NOW)

    assert list(backup.backup_folder(file_book.path).iterdir()) == []


def test_a_damaged_book_is_not_backed_up_over_good_copies(folder):
    """A copy of damage is no backup."""
    path = folder / "book.db"
    with open_book(path) as book:
        for _ in range(50):
            enter(book, "strain", name="a", species="b", note="x" * 500)
    content = bytearray(path.read_bytes())
    content[40_000:60_000] = os.urandom(20_000)
    path.write_bytes(content)

    with pytest.raises(BadFile):
        backup.make_backup(path, "asked", NOW)

    assert backup.backups_of(path) == []
