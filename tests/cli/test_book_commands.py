"""The commands of the record book, as somebody types them."""

from __future__ import annotations

import csv
import json
import os
import sqlite3
import subprocess
import sys
import zipfile
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.test_shell import main

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "docs" / "examples" / "record-book.json"
NOTEBOOK = ROOT / "docs" / "examples" / "notebook.csv"
EVENING = ROOT / "docs" / "examples" / "evening.jsonl"


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A folder of the grower's own with the example book in it."""
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def season(home, capsys):
    """The example book, restored."""
    assert main(capsys, "restore", str(EXAMPLE))[0] == 0
    return home / "record-book.db"


def files_here():
    """All files but what SQLite keeps beside a book that is or was open."""
    return sorted(
        each.name for each in Path().iterdir() if not each.name.endswith(("-wal", "-shm"))
    )


def answered(capsys, *arguments):
    code, out, _ = main(capsys, *arguments, "--json")
    return code, json.loads(out)


def test_an_export_restores_to_the_same_export(season, capsys):
    """Out, in, out: to the byte."""
    code, told = answered(capsys, "export", "out.json")
    assert (code, told["steps"], told["records"]["jar"]) == (0, 8, 4)
    assert Path("out.json").read_bytes() == EXAMPLE.read_bytes()

    assert main(capsys, "import", "out.json", "--yes", "--file", "other.db")[0] == 0
    assert main(capsys, "export", "again.json", "--file", "other.db")[0] == 0
    assert Path("again.json").read_bytes() == EXAMPLE.read_bytes()


def test_without_a_target_json_prints_the_whole_book(season, capsys):
    """For a pipe; the object is what `import` takes."""
    code, told = answered(capsys, "export")

    assert code == 0
    assert told["steps"] == json.loads(EXAMPLE.read_text())["steps"]
    assert told["records"]["look"] == 3


def test_csv_of_one_kind_and_a_zip_of_all(season, capsys):
    assert answered(capsys, "export", "jars.csv", "--kind", "jar")[1]["rows"] == 4
    assert main(capsys, "export", "all.zip", "--mark")[0] == 0

    with Path("jars.csv").open(newline="") as file:
        assert {row["jar_kind"] for row in csv.DictReader(file)} == {"quart"}
    with zipfile.ZipFile("all.zip") as archive:
        assert archive.read("looks.csv").decode("utf-8-sig").count("\r\n") == 4


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["export", "book.txt"], "ends with neither .json, .zip nor .csv"),
        (["export", "jars.csv"], "name it, as in --kind jar"),
        (["export", "x.json", "--kind", "jar"], "A .csv holds one kind"),
        (["export", "jars.csv", "--kind", "jaar"], "Did you mean jar?"),
        (["export", "no/where/x.json"], "There is no folder"),
        (["export", "--file", "none.db"], "There is no record book none.db"),
        (["import", "none.json"], "There is no file none.json"),
        (["import", "book.pdf"], "ends with neither .json"),
        (["restore", "none.db"], "There is no file none.db"),
        (["backup", "record-book.db"], "is there already"),
        (["doctor", "--file", "postgresql://x/y"], "a PostgreSQL server has tools of its own"),
        (["doctor", "--file", "reocrd-book.db"], "There is no record book reocrd-book.db"),
        (["backup", "--file", "postgresql://x/y"], "backed up whole by `export FILE.json`"),
        (["restore", str(EXAMPLE), "--file", "postgresql://x/y"], "is taken by `import FILE.json"),
        (["export", "--file", "postgresql://postgres@/y?host=/nowhere"], "does not answer"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_sentence(season, capsys, arguments, says):
    """Exit code 2, nothing on standard output, nothing written."""
    before = files_here()
    code, out, err = main(capsys, *arguments)

    assert (code, out) == (2, "")
    assert says in err
    assert files_here() == before


def test_an_import_is_shown_before_it_is_done(season, capsys):
    """The preview changes nothing; the deed makes a backup first."""
    arguments = ["import", str(NOTEBOOK), "--jar", "quart"]
    code, told = answered(capsys, *arguments)
    assert (code, told["done"], told["new_records"]) == (0, False, {"jar": 2, "look": 4})
    assert answered(capsys, "export")[1]["records"]["look"] == 3

    code, told = answered(capsys, *arguments, "--yes", "--who", "Grace")
    assert (code, told["done"]) == (0, True)
    with closing(sqlite3.connect(told["backup"])) as connection:
        assert connection.execute("SELECT count(*) FROM looks").fetchone() == (3,)
    whole = answered(capsys, "export")[1]
    assert whole["records"]["look"] == 7
    assert whole["steps"][-1]["who"] == "Grace"

    out = main(capsys, *arguments, "--yes")[1]
    assert "has all of it already" in out


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("torn.json", '{"format": "spawnwright record book", "vers', "torn.json cannot be read"),
        ("late.csv", "jar,date,note\nA1,2999-12-01,white\n", "2999-12-01 is yet to come"),
        ("order.csv", "jar,date,note\nA1,01/02/2026,white\n", "--dates month-first.\n"),
        ("none.csv", "jar,date,note\n", "no line below its head line"),
    ],
)
def test_an_import_that_cannot_be_used_makes_no_book(home, capsys, name, text, says):
    """Nothing is written: no empty book is left where there was none, and it is said once."""
    Path(name).write_text(text)

    code, out, err = main(capsys, "import", name, "--jar", "quart", "--yes")

    assert (code, out) == (2, "")
    assert says in err
    assert err.count(name) == 1
    assert files_here() == [name]


def test_an_import_that_is_only_shown_makes_no_book(home, capsys):
    """Without --yes it is only shown."""
    code, told = answered(capsys, "import", str(EXAMPLE))

    assert (code, told["done"]) == (0, False)
    assert told["new_steps"] == 8
    assert files_here() == []


def test_a_notebook_needs_the_kind_of_its_jars(season, capsys):
    code, out, err = main(capsys, "import", str(NOTEBOOK))

    assert (code, out) == (2, "")
    assert "--jar quart" in err


def test_an_import_that_contradicts_the_book_is_a_problem(season, capsys):
    """Exit code 1, the object is printed, and nothing was taken."""
    Path("forged.json").write_text(EXAMPLE.read_text().replace('"Ada"', '"Eve"'))

    code, told = answered(capsys, "import", "forged.json", "--yes")

    assert (code, told["done"]) == (1, False)
    assert told["problems"] == ["8 steps have the id of a step in the book and say something else."]
    assert answered(capsys, "export")[1]["steps"][0]["who"] == "Ada"


def test_backup_restore_and_what_was_entered_since_is_kept(season, capsys):
    code, told = answered(capsys, "backup")
    assert code == 0
    main(capsys, "import", str(NOTEBOOK), "--jar", "quart", "--yes")

    code, done = answered(capsys, "restore", told["file"])

    assert (code, done["restored"], done["problem"]) == (0, True, None)
    assert answered(capsys, "export")[1]["records"]["look"] == 3
    assert answered(capsys, "export", "--file", done["old_book"])[1]["records"]["look"] == 7


def test_restore_of_a_damaged_copy_or_an_open_book_is_a_problem(season, capsys):
    """Exit code 1, and the book is as it was."""
    Path("bad.db").write_bytes(b"SQLite format 3\0" + os.urandom(5000))
    code, told = answered(capsys, "restore", "bad.db")
    assert (code, told["restored"]) == (1, False)

    copy = answered(capsys, "backup")[1]["file"]
    with closing(sqlite3.connect(season)) as other:
        other.execute("SELECT * FROM jars").fetchone()
        code, told = answered(capsys, "restore", copy)
    assert code == 1
    assert "is open in another program" in told["problem"]
    assert answered(capsys, "export")[1]["records"]["jar"] == 4


def test_doctor_is_content_with_a_good_book_and_not_with_a_broken_one(season, capsys):
    code, told = answered(capsys, "doctor")
    assert (code, told["problems"]) == (0, [])
    assert {"integrity", "history", "backup", "disk"} <= {e["what"] for e in told["findings"]}

    with closing(sqlite3.connect(season)) as other:
        other.execute("UPDATE jars SET fill = 0.9 WHERE code = 'CT36'")
        other.commit()
    code, told = answered(capsys, "doctor", "--all-records")
    assert code == 1
    assert [each["what"] for each in told["problems"]] == ["history"]
    assert "PROBLEM" in main(capsys, "doctor")[1]


def test_doctor_misses_a_book_that_was_there(season, capsys):
    """A book that is gone, its backups beside where it was, is not nothing wrong."""
    main(capsys, "backup")
    season.unlink()

    code, told = answered(capsys, "doctor")

    assert code == 1
    assert "is gone; restore its last backup" in told["problems"][0]["says"]


def test_a_synced_folder_is_warned_of_on_standard_error(home, capsys):
    folder = home / "My Cloud"
    folder.mkdir()

    code, out, err = main(capsys, "import", str(EXAMPLE), "--yes", "--file", str(folder / "b.db"))

    assert code == 0
    assert "copied to other machines" in err
    assert "copied to other machines" not in out


LOADED = """
import sys
from spawnwright import cli
try:
    cli.main(["backup"])
except SystemExit as end:
    assert not end.code
heavy = ("numpy", "scipy", "alembic", "pint", "starlette", "reportlab")
print([name for name in heavy if name in sys.modules])
"""


def test_a_database_command_loads_only_what_it_needs(season):
    """It is to answer within 400 ms."""
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run(
        [sys.executable, "-c", LOADED], env=environment, capture_output=True, text=True, check=True
    )

    assert done.stdout.splitlines()[-1] == "[]"


def test_a_watched_run_is_taken_in_and_later_what_was_added_to_it(season, capsys):
    """The file grows during the evening; the book gets each event once."""
    lines = EVENING.read_text().splitlines(keepends=True)
    Path("run.jsonl").write_text("".join(lines[:5]))
    code, told = answered(capsys, "import", "run.jsonl", "--yes")
    assert (code, told["new_records"]) == (0, {"sterilizer run": 1, "event": 4})

    off = '{"event": "heat off", "at": "2027-01-03T20:20:00+00:00"}\n'
    Path("run.jsonl").write_text("".join(lines) + off)
    assert answered(capsys, "import", "run.jsonl", "--yes")[1]["new_records"] == {"event": 3}
    assert "has all of it already" in main(capsys, "import", "run.jsonl", "--yes")[1]

    with closing(sqlite3.connect(season)) as other:
        query = "SELECT started_at, at_pressure_at, off_at, hold_min, gauge_pa FROM runs"
        run = other.execute(f"{query} ORDER BY started_at DESC").fetchone()
        events = other.execute("SELECT what, gauge_pa FROM events ORDER BY at").fetchall()
    assert run == (
        "2027-01-03T18:02:00.000000Z", "2027-01-03T18:42:00.000000Z",
        "2027-01-03T20:20:00.000000Z", 90.0, pytest.approx(103421.36),
    )  # fmt: skip
    assert [what for what, _ in events][-3:] == ["pressure lost", "back at pressure", "heat off"]
    assert events[4][1] == pytest.approx(55158.06)


def test_a_watched_run_that_has_not_begun_is_refused(season, capsys):
    Path("run.jsonl").write_text(EVENING.read_text().splitlines()[0] + "\n")

    code, out, err = main(capsys, "import", "run.jsonl")

    assert (code, out) == (2, "")
    assert "nothing yet that happened at the canner" in err


CHANNELS = ROOT / "docs" / "examples" / "channels.csv"


def test_a_loggers_file_becomes_the_traces_of_a_run(season, capsys):
    """Shown first; then with the lethality on the run, after a backup; and only once."""
    arguments = ["import", str(CHANNELS), "--run", "last"]
    code, told = answered(capsys, *arguments)
    assert (code, told["done"], told["new_records"]) == (0, False, {"trace": 2})
    with closing(sqlite3.connect(season)) as other:
        assert other.execute("SELECT count(*) FROM traces").fetchone() == (0,)

    code, told = answered(capsys, *arguments, "--yes")
    assert (code, told["done"], told["source"]) == (0, True, "logger file")
    assert Path(told["backup"]).is_file()
    with closing(sqlite3.connect(season)) as other:
        (low, high) = other.execute("SELECT f0_low_min, f0_high_min FROM runs").fetchone()
        assert low == high == pytest.approx(told["core_f0_min"]["likely"])
        assert other.execute("SELECT probe FROM traces ORDER BY probe").fetchall() == [
            ("core_c",), ("vessel_c",),
        ]  # fmt: skip
    assert "has all of it already" in main(capsys, *arguments, "--yes")[1]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "say which: --run last"),
        (["--run", "2026-05-05"], "called '2026-05-05'"),
        (["--run", "CT36"], "is a jar, not a run"),
        (["--run", "last", "--core", "none"], "none"),
        (["--unit", "F"], "say --run as well"),
    ],
)
def test_a_loggers_file_of_no_run_is_refused(season, capsys, arguments, says):
    code, out, err = main(capsys, "import", str(CHANNELS), *arguments)

    assert (code, out) == (2, "")
    assert says in err
