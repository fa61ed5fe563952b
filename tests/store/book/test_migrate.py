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
from sqlalchemy.exc import IntegrityError

from spawnwright.errors import BadFile
from spawnwright.store.book import doctor, history, migrate, tables
from spawnwright.store.book.backup import backups_of
from spawnwright.store.book.engine import Book, _file_engines, open_book
from spawnwright.store.book.place import APPLICATION_ID
from tests.store.book.entering import START, change, enter, jar

RELEASED = sorted((Path(__file__).parent / "released").glob("*.sql"))

FURTHER = '''
"""A step that a test takes."""
import sqlalchemy as sa
from alembic import op

revision = "0999"
down_revision = "{head}"


def upgrade():
    op.add_column("jars", sa.Column("color", sa.Text()))
    op.execute("INSERT INTO links VALUES (1, 2, 3)")
    {then}
'''


def steps_with(folder: Path, then: str) -> Path:
    """The shipped steps, and one more."""
    copy = folder / "migrations"
    shutil.copytree(migrate.STEPS, copy, ignore=shutil.ignore_patterns("__pycache__"))
    more = FURTHER.format(then=then, head=migrate.HEAD)
    (copy / "versions" / "0999_more.py").write_text(more, encoding="utf-8")
    return copy


def test_the_steps_lead_to_the_tables_that_the_program_knows(book):
    """Nothing is described twice and differently."""
    with book.write() as connection:
        context = MigrationContext.configure(connection)
        differences = compare_metadata(context, tables.METADATA)

    assert not without_unread_options(differences)


def without_unread_options(differences):
    """All but links that are there as wanted; of a column added later, SQLite's reader does not
    tell that it is checked at the commit. The next test tries that.
    """
    ends = {}
    for what, key in (each for each in differences if each[0] in ("add_fk", "remove_fk")):
        (element,) = key.elements
        end = (key.parent.name, element.parent.name, element.target_fullname)
        ends.setdefault(what, set()).add(end)
    others = [each for each in differences if each[0] not in ("add_fk", "remove_fk")]
    return others + sorted(ends.get("add_fk", set()) ^ ends.get("remove_fk", set()))


@pytest.mark.parametrize("table", ["jars", "runs"])
def test_a_link_of_a_column_added_later_is_checked_at_the_commit(book, table):
    """Not before, since the order within a step is free; and it is checked."""
    record = jar(book)
    if table == "runs":
        record = enter(book, "sterilizer run", started_at=START, purpose="sterilize")
    at_the_end = []

    def lead_nowhere() -> None:
        with book.write() as connection:
            connection.execute(
                text(f"UPDATE {table} SET batch = 'no-such-batch' WHERE id = :id"), {"id": record}
            )
            at_the_end.append("reached")

    with pytest.raises(IntegrityError):
        lead_nowhere()
    assert at_the_end == ["reached"]


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


OLD_FORMS = [path for path in RELEASED if path.stem != migrate.HEAD]


@pytest.mark.parametrize("released", OLD_FORMS, ids=lambda path: path.stem)
def test_a_released_book_is_backed_up_before_and_is_whole_after(released, folder):
    """The copy has the old form, the book the new one, and both have all that was in it."""
    path = folder / "old.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(released.read_text(encoding="utf-8"))

    with open_book(path) as book:
        record = jar(book)
        change(book, "jar", record, batch=enter(book, "batch", name="March"), shelf_c=21)

    (copy,) = backups_of(path)
    with closing(sqlite3.connect(copy.path)) as connection:
        (form,) = connection.execute("SELECT version_num FROM alembic_version").fetchone()
        assert connection.execute("SELECT count(*) FROM jars").fetchone() == (1,)
    assert (copy.why, form) == ("before-update", released.stem)
    found = doctor.examine(path, START, all_records=True)
    assert [each for each in found if each.is_problem and each.what != "disk"] == []


@pytest.mark.parametrize("released", OLD_FORMS, ids=lambda path: path.stem)
def test_a_shipped_step_that_fails_at_its_end_leaves_the_old_form(released, folder):
    """Tables that it had made by then are gone again, and the book opens with the good program."""
    path = folder / "old.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(released.read_text(encoding="utf-8"))
        before = list(connection.iterdump())
    steps = folder / "migrations"
    shutil.copytree(migrate.STEPS, steps, ignore=shutil.ignore_patterns("__pycache__"))
    last = max((steps / "versions").glob("*.py"))
    broken = last.read_text(encoding="utf-8") + (
        "\nwhole = upgrade\n\n\ndef upgrade():\n    whole()\n    raise OSError('power cut')\n"
    )
    last.write_text(broken, encoding="utf-8")

    writer, reader = _file_engines(path)
    with (
        Book(writer, reader, str(path), None) as book,
        pytest.raises(BadFile, match=r"power cut\. It is as it was"),
    ):
        migrate.bring_up_to_date(book, steps)

    with closing(sqlite3.connect(path)) as connection:
        assert list(connection.iterdump()) == before
    open_book(path).close()


def test_a_new_file_says_what_it_is(file_book):
    """So that no other program's database is taken for a book."""
    file_book.close()
    head = file_book.path.read_bytes()[:100]

    assert int.from_bytes(head[68:72], "big") == APPLICATION_ID


def test_a_step_that_fails_half_way_leaves_the_book_as_it_was(book, folder):
    """On both databases; on a file, a backup was made before."""
    record = jar(book)
    steps = steps_with(folder, "raise RuntimeError('the disk went away')")

    says = rf"from form {migrate.HEAD} to 0999: the disk went away\. It is as it"
    with pytest.raises(BadFile, match=says):
        migrate.bring_up_to_date(book, steps, "0999")

    with book.read() as connection:
        assert migrate.form_of(connection) == migrate.HEAD
        assert "color" not in {each["name"] for each in inspect(connection).get_columns("jars")}
        assert connection.execute(select(tables.LINKS)).all() == []
        assert record in history.current(connection, [record])
    if book.is_sqlite:
        assert [each.why for each in backups_of(book.path)] == ["before-update"]


def test_a_step_that_works_is_taken_after_a_backup(file_book, folder):
    jar(file_book)
    migrate.bring_up_to_date(file_book, steps_with(folder, "pass"), "0999")

    with file_book.read() as connection:
        assert migrate.form_of(connection) == "0999"
    (backup,) = backups_of(file_book.path)
    with closing(sqlite3.connect(backup.path)) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == (
            migrate.HEAD,
        )


def test_a_book_of_a_newer_version_is_refused_untouched(folder):
    """Its form is unknown here, and guessing would damage it."""
    path = folder / "book.db"
    with open_book(path) as book, book.write() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0999'"))
    before = path.read_bytes()

    with pytest.raises(BadFile, match=r"newer version .*form 0999; this one knows up to 0002"):
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
