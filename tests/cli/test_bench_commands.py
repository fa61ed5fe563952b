"""The commands that enter one thing, and those that ask the book for one thing."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from spawnwright.store.book.backup import backups_of
from tests.cli.test_book_commands import EXAMPLE, ROOT, answered, files_here, home, season
from tests.cli.test_shell import main

__all__ = ["home", "season"]


@pytest.fixture
def earlier(season):
    """As if today's backup, which restoring made, were of another day."""
    for each in backups_of(season):
        each.path.unlink()
    return season


def test_the_shelf_lists_jars_without_an_outcome(season, capsys):
    """Last filled first; a control jar and a jar in doubt say so."""
    code, told = answered(capsys, "shelf")

    assert (code, told["is_more"]) == (0, False)
    jars = {each["code"]: each for each in told["jars"]}
    assert set(jars) == {"2222", "CT36", "RK46", "5C56"}
    assert (jars["CT36"]["percent"], jars["CT36"]["sign"]) == (30.0, "white")
    assert jars["5C56"]["is_control"]
    assert jars["CT36"]["inoculated_at"] == "2026-01-11T18:00:00.000000Z"
    assert not any(each["is_in_doubt"] for each in told["jars"])
    assert [each["code"] for each in answered(capsys, "shelf", "--most", "2")[1]["jars"]] == [
        "RK46", "CT36",
    ]  # fmt: skip
    assert "--most 4 lists more" in main(capsys, "shelf", "--most", "2")[1]


def test_a_look_in_one_line_is_on_the_shelf(season, capsys):
    """Small letters and a hyphen do as well; nothing else is changed."""
    code, told = answered(capsys, "look", "ct-36", "--percent", "55%", "--sign", "drops",
                          "--where", "at the top", "--who", "Grace")  # fmt: skip

    assert code == 0
    step = answered(capsys, "export")[1]["steps"][-1]
    assert (step["id"], step["who"]) == (told["step"], "Grace")
    assert step["entries"][0]["fields"]["percent"] == 55
    jar = next(j for j in answered(capsys, "shelf")[1]["jars"] if j["code"] == "CT36")
    assert (jar["percent"], jar["sign"]) == (55.0, "drops")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["look", "CT37", "--percent", "5%"], "one sign is wrong, or two are swapped"),
        (["look", "RT62", "--percent", "5%"], "RT62"),
        (["look", "CT36"], "A look says something"),
        (["look", "CT36", "--percent", "30"], "--percent"),
        (["look", "CT36", "--sign", "purple"], "purple"),
        (["look", "CT36", "--sign", "green", "--smell", "musty"], "do not smell at it"),
        (["look", "CT36", "--note", "x", "--file", "none.db"], "There is no record book none.db"),
        (["look", "CT36", "--note", "x", "--file", "a.json"], "is an export; nothing is entered"),
        (["recall", "LC 9"], "Did you mean LC 1"),
        (["recall", "LC 1", "--file", "none.json"], "There is no file none.json"),
        (["quarantine", "LC 1"], "--why is missing"),
        (["quarantine", "--lift"], "NAME is missing"),
        (["quarantine", "LC 1", "--lift"], "there is none to lift"),
        (["shelf", "--batch", "January"], "There is no batch called"),
        (["undo", "no-such-step"], "There is no step called"),
    ],
)
def test_what_cannot_be_entered_is_said_and_nothing_is_kept(season, capsys, arguments, says):
    """Exit code 2 and one sentence."""
    before = answered(capsys, "export")[1]["steps"]
    files = files_here()

    code, out, err = main(capsys, *arguments)

    assert (code, out) == (2, "")
    assert says in err
    assert answered(capsys, "export")[1]["steps"] == before
    assert files_here() == files


def test_a_mock_recall_on_an_export_in_one_step(home, capsys):
    """No book is needed, and none is made."""
    code, told = answered(capsys, "recall", "rye, 5 kg sack", "--file", str(EXAMPLE))

    assert (code, told["kind"]) == (0, "lot")
    assert set(told["still_here"]) == {"2222", "CT36", "RK46", "5C56"}
    assert told["descendants"] == {"grain batch": 1, "jar": 4}
    assert files_here() == []


def test_quarantine_marks_what_descends_and_is_lifted(season, capsys):
    _, told = answered(capsys, "quarantine", "last run", "--why", "pressure lost")
    assert (told["name"], told["is_in_quarantine"]) == ("run of 2026-01-10", True)
    assert len(told["still_here"]) == 4

    (listed,) = answered(capsys, "quarantine")[1]["quarantines"]
    assert (listed["why"], listed["jars"]) == ("pressure lost", 4)
    assert all(each["is_in_doubt"] for each in answered(capsys, "shelf")[1]["jars"])
    assert "IN DOUBT" in main(capsys, "shelf")[1]

    assert not answered(capsys, "quarantine", "last run", "--lift")[1]["is_in_quarantine"]
    assert main(capsys, "quarantine")[1] == "Nothing is in quarantine.\n"


def test_a_step_is_taken_back_and_brought_back(season, capsys):
    """The list says what can be undone, and why not."""
    _, look = answered(capsys, "look", "CT36", "--percent", "55%")
    steps = answered(capsys, "undo")[1]["steps"]
    assert (steps[0]["title"], steps[0]["can_be_undone"]) == ("look at CT36", True)
    filling = next(each for each in steps if each["title"] == "four jars filled")
    assert not filling["can_be_undone"]
    assert "later steps rest on it" in filling["why_not"]

    _, undone = answered(capsys, "undo", look["step"])
    assert answered(capsys, "undo")[1]["steps"][1]["is_undone"]
    answered(capsys, "undo", undone["step"])
    jar = next(j for j in answered(capsys, "shelf")[1]["jars"] if j["code"] == "CT36")
    assert jar["percent"] == 55.0
    code, _, err = main(capsys, "undo", filling["id"])
    assert code == 2
    assert "Undo those first" in err


def test_what_enters_something_makes_todays_backup_once(earlier, capsys):
    """Also a checked one; reading makes none."""
    main(capsys, "shelf")
    assert backups_of(earlier) == []

    _, _, err = main(capsys, "look", "CT36", "--percent", "40%")
    main(capsys, "look", "CT36", "--percent", "45%")

    (made,) = backups_of(earlier)
    assert made.why == "daily"
    assert str(made.path) in err


def test_an_entry_is_kept_also_if_todays_backup_cannot_be_made(earlier, capsys, monkeypatch):
    """That is said, and the exit code is that of the entry."""
    monkeypatch.setattr("shutil.disk_usage", lambda _: type("U", (), {"free": 1000}))

    code, out, err = main(capsys, "look", "CT36", "--percent", "40%")

    assert code == 0
    assert out.startswith("Kept.")
    assert "No backup was made today. The disk of" in err


LOADED = """
import sys
from spawnwright import cli
try:
    cli.main(["shelf"])
except SystemExit as end:
    assert not end.code
heavy = ("numpy", "scipy", "alembic", "pint", "starlette", "reportlab", "PIL")
print([name for name in heavy if name in sys.modules])
"""


def test_the_shelf_loads_only_what_it_needs(season):
    """A command that asks the book is to answer within 400 ms."""
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run(
        [sys.executable, "-c", LOADED], env=environment, capture_output=True, text=True, check=True
    )

    assert done.stdout.splitlines()[-1] == "[]"
    assert Path(season).exists()
