"""`plan` from the outside: keys, exit codes, files written whole or not at all, a page to read."""

import json
import os
import re
import shutil
from datetime import date, datetime, timedelta

import pytest
import tomli_w

from spawnwright import cli
from spawnwright.cli import plan_page
from tests.actions.wishes import wish_table

NOW = "2026-11-25T18:00"
KEYS = {
    "feasible", "binding", "jars_to_make", "dry_grain_kg", "water_l", "sterilizer_runs", "steps",
    "ready", "chance_of_meeting", "choices",
}  # fmt: skip


@pytest.fixture
def run(capsys, tmp_path, monkeypatch):
    """`run(changes, *arguments)` plans the wish of the tests with changes, in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def go(changes, *arguments):
        (tmp_path / "wish.toml").write_text(tomli_w.dumps(wish_table(**changes)), encoding="utf-8")
        with pytest.raises(SystemExit) as end:
            cli.main(["plan", "wish.toml", "--now", NOW, *arguments])
        written = capsys.readouterr()
        return int(end.value.code or 0), written.out, written.err

    return go


def test_the_promised_keys_and_times_with_offset(run):
    code, out, err = run({}, "--json")
    answer = json.loads(out)

    assert (code, err) == (0, "")
    assert answer.keys() >= KEYS
    assert answer["sterilizer_runs"][0].keys() >= {"at", "jars", "hold_min"}
    assert answer["steps"][0].keys() >= {"at", "until", "title", "detail", "cautions"}
    assert answer["ready"].keys() == {"low", "likely", "high"}
    instants = [each[end] for each in answer["steps"] for end in ("at", "until")]
    assert all(datetime.fromisoformat(each).utcoffset() for each in instants)


def test_a_wish_that_cannot_be_met_leaves_with_one_and_the_whole_object(run, tmp_path):
    code, out, err = run({"kit": {"jars_free": 3}}, "--json", "--pdf", "a.pdf")
    answer = json.loads(out)

    assert code == 1
    assert answer.keys() >= KEYS
    assert answer["feasible"] is False
    assert answer["binding"][0].keys() == {"limit", "would_free"}
    assert "Nothing was written" in err
    assert [each.name for each in tmp_path.iterdir()] == ["wish.toml"]


def test_sheet_and_calendar_are_written_and_written_again(run, tmp_path):
    (tmp_path / "batch.pdf").write_bytes(b"an older plan")
    code, out, err = run({}, "--pdf", "batch.pdf", "--calendar", "batch.ics")

    assert code == 0
    assert (tmp_path / "batch.pdf").read_bytes().startswith(b"%PDF-")
    assert (tmp_path / "batch.ics").read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
    assert err.count("Written:") == 2
    assert "Written" not in out


@pytest.mark.parametrize(
    ("changes", "arguments", "said"),
    [
        ({"wish": {"ready_by": date(2026, 11, 24)}}, (), "line 4.*is past"),
        ({"wish": {"ready_by": date(2026, 11, 27)}}, (), "too near"),
        ({"wish": {"species": "blue oister"}}, (), "Did you mean blue-oyster"),
        ({"kit": {"gauge": "25 psi"}}, (), "above 15 psi"),
        ({"kit": {"fill": "130%"}}, (), "between 0% and 100%"),
        ({"kit": {"jar": "half-gallon"}}, (), "do not fit"),
        ({"kit": {"tray": 3}}, (), "did you mean 'trays'"),
        ({}, ("--pdf", "."), "is a folder"),
        ({}, ("--pdf", "wish.toml"), "the file that the answer is made from"),
        ({}, ("--calendar", "nowhere/a.ics"), "no folder"),
        ({}, ("--pdf", "same", "--calendar", "same"), "name two files"),
        ({}, ("--now", "yesterday"), "no instant"),
    ],
    ids=str,
)
def test_unusable_input_is_one_sentence_and_nothing_is_written(
    run, tmp_path, changes, arguments, said
):
    before = {"wish.toml"}
    code, out, err = run(changes, "--json", "--calendar", "kept.ics", *arguments)

    assert (code, out) == (2, "")
    assert re.search(said, err), err
    assert len(err.strip().splitlines()) == 1
    assert len(err) < 600
    assert {each.name for each in tmp_path.iterdir()} == before


def test_no_wish_at_all_says_how_to_get_one(capsys):
    with pytest.raises(SystemExit) as end:
        cli.main(["plan"])

    assert end.value.code == 2
    assert "--example" in capsys.readouterr().err


def test_the_example_is_a_wish_that_can_be_planned(capsys, tmp_path, monkeypatch):
    with pytest.raises(SystemExit):
        cli.main(["plan", "--example"])
    (tmp_path / "wish.toml").write_text(capsys.readouterr().out, encoding="utf-8")

    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit) as end:
        cli.main(["plan", "wish.toml", "--now", NOW, "--json"])
    assert not end.value.code
    assert json.loads(capsys.readouterr().out)["feasible"]


def test_a_later_now_moves_the_plan(run):
    _, first, _ = run({"wish": {"ready_by": None, "start": date(2026, 11, 24)}}, "--json")
    _, second, _ = run({"wish": {"ready_by": None, "start": date(2026, 11, 24)}}, "--json",
                       "--now", "2026-12-01T18:00")  # fmt: skip

    begun = [
        min(datetime.fromisoformat(step["at"]) for step in json.loads(each)["steps"])
        for each in (first, second)
    ]
    assert begun[1] - begun[0] >= timedelta(days=5)


@pytest.mark.parametrize("columns", [40, 60, 96, 200])
def test_the_page_fits_the_terminal_and_says_what_is_to_be_made(run, monkeypatch, columns):
    monkeypatch.setattr(shutil, "get_terminal_size", lambda *_: os.terminal_size((columns, 24)))
    code, out, _ = run({})
    lines = out.splitlines()

    assert code == 0
    assert max(map(len, lines)) <= min(columns, 96)
    assert lines[0].startswith("4 good jars of blue oyster")
    assert any(line.startswith("make") and "7 jars" in line for line in lines)
    order = ["Soak", "Rinse", "Simmer", "Fill", "Load", "Vent", "Hold", "Inoculate", "Ready"]
    places = [
        next(place for place, line in enumerate(lines) if f" {word}" in line[:40]) for word in order
    ]
    assert places == sorted(places)
    assert plan_page.width() == max(40, min(columns, 96))
