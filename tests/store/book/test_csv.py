"""CSV out, safe in a spreadsheet; a notebook in, with what it would do shown first."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import UTC
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import select

from spawnwright.errors import BadFile, Unusable
from spawnwright.records.book.kinds import KINDS
from spawnwright.store.book.export_csv import guarded, rows_of, unguarded, write_csv, write_zip
from spawnwright.store.book.journal import keep
from spawnwright.store.book.notebook import plan_lines, read_notebook
from spawnwright.store.book.tables import JARS, LOOKS
from tests.store.book.entering import START, enter, jar, step


@given(st.text())
def test_the_guard_comes_off_again(text):
    """Whatever the text: what is exported is what is imported."""
    assert unguarded(guarded(text)) == text
    assert not guarded(text).startswith(("=", "+", "-", "@", "\t", "\r", "\0"))


def test_text_is_guarded_and_negative_numbers_are_not(book):
    """A note that begins with = is text; minus four bottles is a number."""
    enter(
        book, "stock change", changed_on="2026-01-01", what="jar", item="=HYPERLINK(1)",
        change=-4, reason="broken", note='said "no",\nthen yes',
    )  # fmt: skip
    file = io.StringIO(newline="")
    with book.read() as connection:
        assert write_csv(rows_of(connection, "stock change"), file) == 1

    (row,) = csv.DictReader(io.StringIO(file.getvalue(), newline=""))
    assert row["item"] == "'=HYPERLINK(1)"
    assert row["change"] == "-4"
    assert row["note"] == 'said "no",\nthen yes'
    assert row["undone"] == "no"
    assert file.getvalue().count("\r\n") == 2


def test_the_zip_has_a_file_for_every_kind_and_one_of_the_steps(book, folder):
    """With or without the mark that some spreadsheets need."""
    jar(book)
    with book.read() as connection:
        counts = write_zip(connection, folder / "all.zip", mark=True)

    assert (counts["jars"], counts["steps"], counts["pictures"]) == (1, 1, 0)
    with zipfile.ZipFile(folder / "all.zip") as archive:
        assert set(archive.namelist()) == {f"{k.TABLE}.csv" for k in KINDS.values()} | {"steps.csv"}
        assert archive.read("jars.csv").startswith(b"\xef\xbb\xbfid,code,")


NOTEBOOK = """jar,date,note
12,2026-01-12,first white
rye 3,2026-01-12,'=nothing yet
12,2026-01-20,"all over, shaken"
"""


def take(book, path, **how):
    """Take a notebook in as the action does, in one step; gives the plan."""
    lines = read_notebook(path, how.get("dates"))
    with book.read() as connection:
        plan = plan_lines(connection, lines, how.get("zone", UTC), how.get("jar_kind", "quart"))
    if plan.entries:
        keep(book, step(*plan.entries), START)
    return plan


def test_a_notebook_becomes_looks_at_jars(book, folder):
    """Jars that are not there are made under codes of their own and keep their names."""
    path = folder / "notes.csv"
    path.write_text(NOTEBOOK)

    plan = take(book, path, zone=ZoneInfo("Europe/Warsaw"))

    assert (plan.lines, plan.there, set(plan.new_jars)) == (3, 0, {"12", "rye 3"})
    with book.read() as connection:
        looks = connection.execute(
            select(JARS.c.name, LOOKS.c.at, LOOKS.c.note)
            .join(JARS, JARS.c.id == LOOKS.c.jar)
            .order_by(LOOKS.c.at, JARS.c.name)
        ).all()
    assert [tuple(look) for look in looks] == [
        ("12", "2026-01-12T11:00:00.000000Z", "first white"),
        ("rye 3", "2026-01-12T11:00:00.000000Z", "=nothing yet"),
        ("12", "2026-01-20T11:00:00.000000Z", "all over, shaken"),
    ]


def test_the_same_notebook_again_adds_only_what_is_new(book, folder):
    """She goes on writing in it and brings it back a month later."""
    path = folder / "notes.csv"
    path.write_text(NOTEBOOK)
    take(book, path)
    path.write_text(NOTEBOOK + "12,2026-02-01,used\n12,2026-02-01,used\n")

    plan = take(book, path)

    assert (plan.lines, plan.there, len(plan.entries), plan.new_jars) == (5, 3, 2, {})


def test_a_code_in_a_notebook_finds_its_jar(book, folder):
    record = jar(book, code="CT44")
    path = folder / "notes.csv"
    path.write_text("note;date;jar\nwhite;2026-01-12;ct-44\n")

    plan = take(book, path, jar_kind=None)

    assert plan.entries[0].fields["jar"] == record


@pytest.mark.parametrize(
    ("dates", "day"), [("day-first", "2026-02-03"), ("month-first", "2026-03-02")]
)
def test_the_order_of_day_and_month_is_asked_for_and_never_guessed(book, folder, dates, day):
    path = folder / "notes.csv"
    path.write_text("jar,date,note\n12,03.02.2026,white\n")

    with pytest.raises(BadFile, match=r"line 2: .* add --dates day-first"):
        read_notebook(path)
    assert read_notebook(path, dates)[0].day.isoformat() == day


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "line 1: the head line is jar,date,note"),
        (b"jar,date\n12,2026-01-01\n", "line 1: there is no column note"),
        (b"jar,date;note\n", "with one separator"),
        (b"jar,date,note\n12,2026-01-01\n", "line 2: 2 cells where the head has 3"),
        (b"jar,date,note\n12,2026-02-30,x\n", "line 2: '2026-02-30' is no date"),
        (b"jar,date,note\n12,soon,x\n", "line 2: 'soon' is no date"),
        (b"jar,date,note\n\n,2026-01-01,x\n", "line 3: a line names a jar"),
        (b'jar,date,note\n12,2026-01-01,"open\n', "line 2: unexpected end of data"),
        (b"jar,date,note\n12,2026-01-01," + b"x" * 140_000, "field larger than field limit"),
    ],
)
def test_a_notebook_that_cannot_be_read_names_the_line(folder, content, says):
    path = folder / "notes.csv"
    path.write_bytes(content)

    with pytest.raises(BadFile, match=says):
        read_notebook(path)


def test_a_notebook_in_latin_1_is_read(folder):
    """An older spreadsheet wrote it."""
    path = folder / "notes.csv"
    path.write_bytes("jar,date,note\n12,2026-01-01,größer\n".encode("latin-1"))

    assert read_notebook(path)[0].note == "größer"


def test_the_kind_of_new_jars_is_asked_for(book, folder):
    path = folder / "notes.csv"
    path.write_text(NOTEBOOK)

    with pytest.raises(Unusable, match="--jar quart"):
        take(book, path, jar_kind=None)
