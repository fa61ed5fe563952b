"""What goes wrong with disks and processes: a clear sentence, and nothing that was kept is lost."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text

from spawnwright.errors import BadFile, Contradiction
from spawnwright.records.book.steps import Entry
from spawnwright.store.book import doctor, history
from spawnwright.store.book.backup import make_backup, problems_of
from spawnwright.store.book.engine import open_book
from spawnwright.store.book.journal import keep
from spawnwright.store.book.migrate import STEPS
from spawnwright.store.book.place import ServeHold, book_path, warnings_about
from tests.store.book.entering import START, at, change, enter, fresh, jar, step

ENVIRONMENT = os.environ | {"PYTHONPATH": os.pathsep.join(map(str, (
    STEPS.parents[3], Path(__file__).parents[3],
)))}  # fmt: skip

WRITERS = Path(__file__).with_name("writers.py")


def test_no_acknowledged_entry_is_lost_to_a_kill(folder):
    """Kill -9 under four writers, twenty times on one book; the file stays whole."""
    path = folder / "book.db"
    open_book(path).close()

    done = subprocess.run(
        [sys.executable, str(WRITERS), str(path), "20"],
        env=ENVIRONMENT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    acknowledged = set(done.stdout.split())

    with open_book(path) as book, book.read() as connection:
        kept = set(connection.execute(text("SELECT id FROM strains")).scalars())
        assert connection.execute(text("PRAGMA integrity_check")).scalar() == "ok"
    assert len(acknowledged) >= 4 * 20
    assert acknowledged <= kept
    findings = doctor.examine(path, START, all_records=True)
    assert [each for each in findings if each.is_problem and each.what != "disk"] == []


def test_a_full_disk_is_said_and_nothing_that_was_kept_is_lost(file_book):
    """SQLite is given no more pages, as a full disk would."""
    record = jar(file_book)
    with file_book.write() as connection:
        pages = connection.execute(text("PRAGMA page_count")).scalar()
        connection.execute(text(f"PRAGMA max_page_count={pages}"))

    def fill_up() -> None:
        for _ in range(200):
            enter(file_book, "strain", name="x" * 1000, species="b")

    with pytest.raises(BadFile, match=r"cannot grow: the disk is full\. Free some space"):
        fill_up()

    with file_book.read() as connection:
        assert record in history.current(connection, [record])
    with file_book.write() as connection:
        connection.execute(text("PRAGMA max_page_count=1000000"))
    change(file_book, "jar", record, note="there is room again")
    assert problems_of(file_book.path) == []


def test_a_folder_that_cannot_be_written_to_is_said(tmp_path):
    """Where not even root can make a file."""
    nowhere = Path("/proc/self/book") if Path("/proc/self").exists() else tmp_path / "file" / "b"
    (tmp_path / "file").write_text("no folder")

    for path in (nowhere / "book.db", tmp_path / "file" / "book.db"):
        with pytest.raises(BadFile, match=r"cannot be (made|written)") as refusal:
            open_book(path)
        assert len(str(refusal.value)) < 600


READ_ONLY = """
import os, sys
from spawnwright.errors import BadFile, Contradiction
from spawnwright.store.book.engine import open_book
open_book(sys.argv[2]).close()  # all is loaded before it becomes nobody
if os.getuid() == 0:
    os.setgid(65534), os.setuid(65534)
try:
    open_book(sys.argv[1])
except BadFile as reason:
    print(reason)
"""


def test_a_read_only_folder_is_said(folder, tmp_path):
    """As somebody who may read the book but not write beside it."""
    path = folder / "book.db"
    with open_book(path) as book:
        jar(book)
    before = path.read_bytes()
    folder.chmod(0o555)
    command = [sys.executable, "-c", READ_ONLY, str(path), str(tmp_path / "book.db")]
    done = subprocess.run(command, env=ENVIRONMENT, capture_output=True, text=True)
    folder.chmod(0o755)

    assert "cannot be written" in done.stdout, done.stderr
    assert path.read_bytes() == before


def test_a_damaged_file_is_said_when_the_damage_is_met(folder):
    """Not guessed around; the last good backup is named by doctor."""
    path = folder / "book.db"
    with open_book(path) as book:
        for _ in range(60):
            enter(book, "strain", name="a", species="b", note="x" * 500)
        copy = make_backup(path, "asked", START).path
    content = bytearray(path.read_bytes())
    content[4096 * 3 :] = os.urandom(len(content) - 4096 * 3)
    path.write_bytes(content)

    with pytest.raises(BadFile, match="is damaged"), open_book(path) as book:
        enter(book, "strain", name="a", species="b")

    (problem,) = [
        each for each in doctor.examine(path, START) if each.is_problem and each.what != "disk"
    ]
    assert problem.what in ("integrity", "file")
    assert problems_of(copy) == []


SERVING = """
import sys
from pathlib import Path
from spawnwright.store.book.place import ServeHold
hold = ServeHold(Path(sys.argv[1]), "http://127.0.0.1:8377/")
print("held", flush=True)
sys.stdin.read()
"""


def test_the_pages_of_a_book_are_served_by_one_process(folder):
    """A second one is refused with where they are; commands go on; a kill lets go of it."""
    path = folder / "book.db"
    with subprocess.Popen(
        [sys.executable, "-c", SERVING, str(path)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=ENVIRONMENT,
    ) as serving:  # fmt: skip
        assert serving.stdout.readline() == "held\n"
        says = rf"served already at http://127.0.0.1:8377/ \(process {serving.pid}\)\. Use those"
        with pytest.raises(Contradiction, match=says):
            ServeHold(path)
        with open_book(path) as book:
            jar(book)
        ServeHold(folder / "other.db").release()
        serving.kill()
        serving.wait()

    hold = ServeHold(path, "http://127.0.0.1:9000/")
    with pytest.raises(Contradiction, match=r"at http://127\.0\.0\.1:9000/"):
        ServeHold(path)
    hold.release()
    ServeHold(path).release()


def test_a_folder_is_no_book(folder):
    with pytest.raises(BadFile, match="is a folder"):
        open_book(folder)


def test_a_name_that_is_not_there_is_not_made_when_it_should_be(folder):
    """A misspelled --file makes no empty book."""
    with pytest.raises(BadFile, match="There is no record book"):
        open_book(folder / "bok.db", create=False)

    assert list(folder.iterdir()) == []


MOUNTS = """\
/dev/sda1 / ext4 rw 0 0
server:/home /home/ada nfs4 rw 0 0
C:\\\\ /mnt/c 9p rw 0 0
//nas/my\\040files /media/nas cifs rw 0 0
"""


@pytest.mark.parametrize(
    ("path", "warned"),
    [
        ("/var/lib/spawn/book.db", ""),
        ("/home/ada/book.db", "network share"),
        ("/home/grace/book.db", ""),
        ("/mnt/c/Users/ada/book.db", "network share"),
        ("/media/nas/spawn/book.db", "network share"),
        ("/srv/My Cloud/spawn/book.db", "copied to other machines"),
        ("/srv/Synced files/book.db", "copied to other machines"),
        ("/srv/Mobile Documents/book.db", "copied to other machines"),
    ],
)
def test_a_bad_place_is_warned_of(path, warned):
    """A write-ahead log needs one machine and one disk."""
    said = " ".join(warnings_about(Path(path), MOUNTS))

    assert (warned in said) if warned else not said


def test_the_book_lies_with_the_growers_own_files_unless_another_is_named(monkeypatch, folder):
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(folder))

    assert book_path(None) == folder / "record-book.db"
    assert book_path(folder / "x.db") == folder / "x.db"


def findings(path, now=START, **how):
    found = doctor.examine(path, now, **how)
    return {each.what: each for each in found}, [each.what for each in found if each.is_problem]


def test_doctor_finds_nothing_wrong_with_a_good_book(file_book):
    """Also while it is open; and says how old the last good backup is."""
    jar(file_book)
    make_backup(file_book.path, "asked", START)

    found, problems = findings(file_book.path, START + timedelta(hours=5))

    assert problems == []
    assert found["backup"].says == "the last good one is 5 h old"
    assert found["records"].says == "1 from 1 steps"
    assert found["history"].says == "1 records are what their entries add up to"


def test_doctor_of_no_book_is_no_problem(folder):
    _, problems = findings(folder / "book.db")

    assert problems == []


BREAKING = [
    ("history", "UPDATE jars SET grain_kg = 9"),
    ("records", "INSERT INTO records (id, kind) VALUES ('stray-record', 'jar')"),
    ("integrity", "UPDATE looks SET jar = 'no-such-jar'"),
    ("links", "UPDATE jars SET undone = 1"),
    ("codes", "UPDATE jars SET code = '2222'"),
    ("form", "ALTER TABLE jars DROP COLUMN tare_kg"),
    ("form", "UPDATE alembic_version SET version_num = '0999'"),
]


@pytest.mark.parametrize(("what", "broken"), BREAKING)
def test_doctor_finds_what_was_broken(file_book, what, broken):
    """Each kind of damage by another program is seen, and said with what would do."""
    for _ in range(2):
        enter(file_book, "look", jar=jar(file_book), at=at(), percent=5)
    path = file_book.path
    file_book.close()
    with closing(sqlite3.connect(path)) as other:
        other.execute(broken)
        other.commit()

    found, problems = findings(path)

    assert what in problems
    assert "; " in found[what].says


def test_doctor_says_when_the_last_good_backup_is_too_old(file_book):
    """A copy that is damaged is no backup; one that holds all there is need not be new."""
    jar(file_book)
    copy = make_backup(file_book.path, "asked", START + timedelta(minutes=1))
    later = START + timedelta(days=30)
    assert findings(file_book.path, later)[1] == []

    entry = Entry(fresh("strain"), "strain", {"name": "a", "species": "b"})
    keep(file_book, step(entry), START + timedelta(days=1))
    found, problems = findings(file_book.path, later)
    assert problems == ["backup"]
    assert "30 days old; the book has grown since: run backup" in found["backup"].says

    shutil.copy(__file__, copy.path)
    assert findings(file_book.path, later)[1] == ["backup", "backup"]


def test_doctor_says_when_the_disk_is_nearly_full(file_book, monkeypatch):
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda _: type("U", (), {"free": 1_000_000}))

    assert findings(file_book.path)[1] == ["disk"]
