"""Forms of the book: every released one comes up to date, a newer one is refused, none is half."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, select, text

from spawnwright.errors import BadFile
from spawnwright.store.book import history, migrate, tables
from spawnwright.store.book.backup import backups_of
from spawnwright.store.book.engine import open_book
from spawnwright.store.book.place import APPLICATION_ID
from tests.store.book.entering import jar

RELEASED = sorted((Path(__file__).parent / "released").glob("*.sql"))

FURTHER = '''
"""A step that a test takes."""
import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade():
    op.add_column("jars", sa.Column("color", sa.Text()))
    op.execute("INSERT INTO links VALUES (1, 2, 3)")
    {then}
'''


def steps_with(folder: Path, then: str) -> Path:
    """The shipped steps, and one more."""
    copy = folder / "migrations"
    shutil.copytree(migrate.STEPS, copy, ignore=shutil.ignore_patterns("__pycache__"))
    (copy / "versions" / "0002_more.py").write_text(FURTHER.format(then=then), encoding="utf-8")
    return copy


def test_the_steps_lead_to_the_tables_that_the_program_knows(book):
    """Nothing is described twice and differently."""
    with book.write() as connection:
        context = MigrationContext.configure(connection)
        differences = compare_metadata(context, tables.METADATA)

    assert not differences


def test_the_newest_form_is_the_last_step():
    assert ScriptDirectory(str(migrate.STEPS)).get_current_head() == migrate.HEAD


def test_every_form_has_a_released_book_to_try():
    """A book as it was written with that form, kept as test data."""
    forms = {revision.revision for revision in ScriptDirectory(str(migrate.STEPS)).walk_revisions()}

    assert {path.stem for path in RELEASED} == forms


@pytest.mark.parametrize("released", RELEASED, ids=lambda path: path.stem)
def test_every_released_book_comes_up_to_date(released, folder):
    """With all that was in it."""
    path = folder / "old.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(released.read_text(encoding="utf-8"))

    with open_book(path) as book, book.read() as connection:
        assert migrate.form_of(connection) == migrate.HEAD
        (record,) = connection.execute(select(tables.JARS.c.id)).scalars()
        steps = history.history_of(connection, record)

    assert [each.title for each in steps] == ["fill", "weigh again"]
    assert steps[0].entries[0].fields["grain_kg"] == 0.6


def test_a_new_file_says_what_it_is(file_book):
    """So that no other program's database is taken for a book."""
    file_book.close()
    head = file_book.path.read_bytes()[:100]

    assert int.from_bytes(head[68:72], "big") == APPLICATION_ID


def test_a_step_that_fails_half_way_leaves_the_book_as_it_was(book, folder):
    """On both databases; on a file, a backup was made before."""
    record = jar(book)
    steps = steps_with(folder, "raise RuntimeError('the disk went away')")

    with pytest.raises(BadFile, match=r"from form 0001 to 0002: the disk went away\. It is as it"):
        migrate.bring_up_to_date(book, steps, "0002")

    with book.read() as connection:
        assert migrate.form_of(connection) == "0001"
        assert "color" not in {each["name"] for each in inspect(connection).get_columns("jars")}
        assert connection.execute(select(tables.LINKS)).all() == []
        assert record in history.current(connection, [record])
    if book.is_sqlite:
        assert [each.why for each in backups_of(book.path)] == ["before-update"]


def test_a_step_that_works_is_taken_after_a_backup(file_book, folder):
    jar(file_book)
    migrate.bring_up_to_date(file_book, steps_with(folder, "pass"), "0002")

    with file_book.read() as connection:
        assert migrate.form_of(connection) == "0002"
    (backup,) = backups_of(file_book.path)
    with closing(sqlite3.connect(backup.path)) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)


def test_a_book_of_a_newer_version_is_refused_untouched(folder):
    """Its form is unknown here, and guessing would damage it."""
    path = folder / "book.db"
    with open_book(path) as book, book.write() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0999'"))
    before = path.read_bytes()

    with pytest.raises(BadFile, match=r"newer version .*form 0999; this one knows up to 0001"):
        open_book(path)

    assert path.read_bytes() == before
    assert backups_of(path) == []


def test_another_programs_database_is_refused(folder):
    path = folder / "other.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE things (id INTEGER)")
    with pytest.raises(BadFile, match="a database of something else"):
        open_book(path)

    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA application_id=77")
    with pytest.raises(BadFile, match="belongs to another program"):
        open_book(path)


@pytest.mark.parametrize("content", [b"jar,date\n1,2\n", b"SQLite format 3\0" + b"\xff" * 4000])
def test_a_file_that_is_no_book_is_refused_untouched(folder, content):
    """Damaged at its beginning, or never one."""
    path = folder / "book.db"
    path.write_bytes(content)

    with pytest.raises(BadFile, match=re.escape(str(path))) as refusal:
        open_book(path)

    assert path.read_bytes() == content
    assert len(str(refusal.value)) < 600


def test_alembic_is_not_loaded_for_a_book_that_is_up_to_date(file_book):
    """It costs a tenth of a second."""
    program = (
        "import sys; from spawnwright.store.book.engine import open_book; "
        f"open_book({str(file_book.path)!r}).close(); print('alembic' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        env=os.environ | {"PYTHONPATH": str(migrate.STEPS.parents[3])},
        capture_output=True,
        text=True,
        check=True,
    )

    assert done.stdout == "False\n"
