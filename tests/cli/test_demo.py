"""The demo: an invented grower goes the same way as anybody's wish."""

from __future__ import annotations

import json
import shutil
import subprocess
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
from icalendar import Calendar
from pypdf import PdfReader

from spawnwright import cli
from spawnwright.store.demo_files import SCENARIO


def run(folder: Path, *arguments: str) -> tuple[int, dict]:
    """Run the demo in a folder: exit code and object."""
    out = StringIO()
    with pytest.raises(SystemExit) as end, redirect_stdout(out):
        cli.main(["demo", "--json", "--folder", str(folder), *arguments])
    return int(end.value.code or 0), json.loads(out.getvalue())


@pytest.fixture(scope="module")
def first(tmp_path_factory) -> tuple[Path, int, dict]:
    """The demo as shipped: its folder, exit code, object."""
    folder = tmp_path_factory.mktemp("demo") / "a folder"
    return folder, *run(folder)


@pytest.fixture
def copy(first, tmp_path) -> Path:
    """The scenario in a folder of its own, to be changed; no sheet yet."""
    return Path(
        shutil.copytree(first[0], tmp_path / "copy", ignore=shutil.ignore_patterns("*.pdf"))
    )


def test_it_goes_through_the_whole_job_and_shows_where_the_files_are(first):
    """Grain, canner, shelf, plan, log; every file that it names is there and can be opened."""
    _, code, found = first

    assert code == 0
    assert found["plan"]["feasible"] is True
    assert found["plan"]["jars_to_make"] >= 6
    assert found["hydrate"]["dry_kg"] == pytest.approx(found["plan"]["dry_grain_kg"], rel=1e-6)
    assert found["sterilize"]["coldest_f0_total_min"]["low"] > 0
    assert found["colonize"]["ready_day"]["likely"] > found["colonize"]["shake_day"]["likely"]
    assert found["lethality"]["lethality_min"] > 30
    files = {name: Path(path) for name, path in found["files"].items()}
    assert files.keys() == {"wish", "log", "notes", "batch_sheet", "calendar"}
    assert len(PdfReader(files["batch_sheet"]).pages) == 1
    events = Calendar.from_ical(files["calendar"].read_bytes()).events
    assert len(events) == found["plan"]["steps"]


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm (poppler) is not installed")
def test_the_sheet_looks_like_a_page_of_print(first):
    """Drawn by another program: no complaint, ink on it, and none within 5 mm of the edge."""
    sheet = first[2]["files"]["batch_sheet"]
    drawn = subprocess.run(["pdftoppm", "-r", "50", "-gray", sheet], capture_output=True)

    head, sizes, _, pixels = drawn.stdout.split(b"\n", 3)
    width, height = map(int, sizes.split())
    page = np.frombuffer(pixels, dtype=np.uint8).reshape(height, width)
    edge = page.copy()
    edge[10:-10, 10:-10] = 255
    assert (drawn.returncode, drawn.stderr, head) == (0, b"", b"P5")
    assert 0.02 < (page < 128).mean() < 0.3
    assert edge.min() == 255


def test_the_scenario_says_that_it_is_invented(first):
    """Nobody is to take it for a measurement."""
    folder, _, found = first

    for name in ("wish", "log", "notes"):
        assert "invented" in Path(found["files"][name]).read_text(encoding="utf-8").lower()
    assert sorted(each.name for each in folder.iterdir()) == sorted(
        [*SCENARIO, "batch-sheet.pdf", "calendar.ics"]
    )


@pytest.mark.parametrize(
    ("line", "instead", "changes"),
    [
        ("jars = 6\n", "jars = 3\n", ("plan", "dry_grain_kg")),
        ('fill = "70%"', 'fill = "60%"', ("hydrate", "jar_grain_kg")),
        ('elevation = "450 m"', 'elevation = "1500 m"', ("sterilize", "coldest_f0_total_min")),
        ('shelf_temperature = "22 C"', 'shelf_temperature = "17 C"', ("colonize", "ready_day")),
    ],
)
def test_changing_a_line_of_the_scenario_changes_its_numbers(first, copy, line, instead, changes):
    """The changed file is kept, said to be changed, and answered."""
    part, key = changes
    wish = copy / "wish.toml"
    text = wish.read_text(encoding="utf-8")
    wish.write_text(text.replace(line, instead), encoding="utf-8")

    _, after = run(copy)

    before = first[2]
    assert line in text
    assert (before["changed"], after["changed"]) == ([], ["wish.toml"])
    assert wish.read_text(encoding="utf-8") == text.replace(line, instead)
    assert after[part][key] != before[part][key]


def test_changing_the_logged_run_changes_what_it_was_worth(first, copy):
    """A run that stayed ten degrees cooler is worth a tenth."""
    log = copy / "canner-run.csv"
    lines = log.read_text(encoding="utf-8").splitlines()
    cooler = [
        ",".join([*line.split(",")[:2], f"{float(line.split(',')[2]) - 10:.1f}"])
        for line in lines[2:]
    ]
    log.write_text("\n".join([*lines[:2], *cooler]), encoding="utf-8")

    _, after = run(copy)

    tenth = first[2]["lethality"]["lethality_min"] / 10
    assert after["lethality"]["lethality_min"] == pytest.approx(tenth, rel=1e-6)


def test_a_scenario_that_cannot_be_used_is_refused_with_its_line(copy, capsys):
    """And nothing is made of it."""
    wish = copy / "wish.toml"
    text = wish.read_text(encoding="utf-8")
    wish.write_text(text.replace('"15 psi"', '"15"'), encoding="utf-8")

    with pytest.raises(SystemExit) as end:
        cli.main(["demo", "--folder", str(copy)])

    line = text[: text.index('"15 psi"')].count("\n") + 1
    assert end.value.code == 2
    assert f"line {line}" in capsys.readouterr().err
    assert not (copy / "batch-sheet.pdf").exists()


def test_a_wish_that_cannot_be_met_says_what_would_free_it(copy):
    """Exit code 1, the object all the same, no sheet."""
    wish = copy / "wish.toml"
    text = wish.read_text(encoding="utf-8")
    wish.write_text(text.replace("jars_free = 16", "jars_free = 3"), encoding="utf-8")

    code, found = run(copy)

    assert code == 1
    assert found["plan"]["binding"][0]["limit"]
    assert found["hydrate"] is None
    assert not (copy / "batch-sheet.pdf").exists()


def test_a_folder_that_cannot_be_made_is_refused(tmp_path, capsys):
    """A file of that name, for instance."""
    taken = tmp_path / "taken"
    taken.write_text("mine")

    with pytest.raises(SystemExit) as end:
        cli.main(["demo", "--folder", str(taken)])

    assert end.value.code == 2
    assert "taken" in capsys.readouterr().err
    assert taken.read_text() == "mine"


def test_its_text_names_the_files_and_what_to_type_next(monkeypatch, tmp_path, capsys):
    """For people; the folder lies where they are."""
    monkeypatch.chdir(tmp_path)

    with pytest.raises(SystemExit):
        cli.main(["demo"])

    out = capsys.readouterr().out
    assert "./run plan spawnwright-demo/wish.toml" in out
    assert "spawnwright-demo/batch-sheet.pdf" in out
    assert (tmp_path / "spawnwright-demo" / "batch-sheet.pdf").is_file()
