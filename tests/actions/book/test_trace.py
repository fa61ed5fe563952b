"""A logger's file into the book: traces of a run, and the lethality it delivered."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from spawnwright.actions.book.importing import NotebookChoices, import_file
from spawnwright.actions.book.trace import TraceChoices, entries_of_log, is_notebook
from spawnwright.errors import BadFile, Contradiction, UnknownName
from spawnwright.store.book.history import history_of
from spawnwright.store.book.journal import keep
from tests.actions.book.entering import filled, row
from tests.store.book.entering import START, enter, step

CHANNELS = Path(__file__).parents[3] / "docs" / "examples" / "channels.csv"


@pytest.fixture
def book(file_book):
    """A file alone: what a logger's file says does not depend on the database."""
    return file_book


def run_of(book, jars: int = 2, **more) -> str:
    grain = enter(book, "grain batch", made_at=START, grain="rye", texture="pours")
    run = enter(book, "sterilizer run", started_at=START, purpose="sterilize", **more)
    for jar in filled(book, jars, fill=0.7, grain_batch=grain) if jars else ():
        enter(book, "load", run=run, jar=jar)
    return run


def taken(book, source: Path = CHANNELS, **choices):
    with book.read() as connection:
        return entries_of_log(connection, source, TraceChoices(**({"run": "last"} | choices)))


def take(book, source: Path = CHANNELS, **choices):
    found = taken(book, source, **choices)
    if found.entries:
        keep(book, step(*found.entries), START)
    return found


def vessel_alone(folder: Path) -> Path:
    path = folder / "vessel.csv"
    lines = CHANNELS.read_text().splitlines()[1:]
    path.write_text("\n".join(f"{line.split(',')[0]},{line.split(',')[2]}" for line in lines))
    return path


def test_a_measured_core_stands_on_the_run_and_every_sensor_as_a_trace(book):
    """What the sensor gathered has no band; the same file again adds nothing."""
    run = run_of(book, elevation_m=450.0)

    found = take(book)

    kept = row(book, run)
    assert kept["f0_low_min"] == kept["f0_likely_min"] == kept["f0_high_min"]
    assert kept["f0_likely_min"] == pytest.approx(found.record.core_f0_min.likely)
    traces = {each.fields["probe"]: each for each in found.entries if each.kind == "trace"}
    assert set(traces) == {"core_c", "vessel_c"}
    with book.read() as connection:
        (first,) = history_of(connection, traces["core_c"].record)
    fields = first.entries[0].fields
    assert fields["began_at"] == "2026-01-10T18:00:00.000000Z"
    assert len(fields["time_s"]) == len(fields["temperature_c"]) == 219
    assert fields["file"] == "channels.csv"
    assert taken(book).entries == ()


def test_from_the_steam_alone_the_band_follows_from_the_jars_that_the_book_knows(file_book, folder):
    """Kind, fill, grain and elevation are in the book and not asked for again."""
    run = run_of(file_book, elevation_m=450.0)

    found = take(file_book, vessel_alone(folder))

    kept = row(file_book, run)
    assert 0 < kept["f0_low_min"] < kept["f0_likely_min"] < kept["f0_high_min"]
    assert found.record.by_model.jar == "quart"
    assert found.record.by_model.grain_state == "pours"


@pytest.mark.parametrize(
    ("about", "lacks"),
    [({"jars": 0, "elevation_m": 450.0}, "which jars stood in the run"), ({}, "the elevation")],
)
def test_what_the_book_lacks_for_an_estimate_is_said(book, folder, about, lacks):
    """The trace is taken all the same, and no number is made up."""
    run = run_of(book, **about)

    found = take(book, vessel_alone(folder))

    assert lacks in found.notes[1]
    assert [each.kind for each in found.entries] == ["trace"]
    assert row(book, run)["f0_likely_min"] is None


def test_an_estimate_does_not_take_the_place_of_a_measurement(file_book, folder):
    """The other way round it does."""
    run = run_of(file_book, elevation_m=450.0)
    take(file_book, vessel_alone(folder))
    take(file_book)
    measured = row(file_book, run)["f0_likely_min"]
    assert row(file_book, run)["f0_low_min"] == measured

    other = folder / "again.csv"
    other.write_text(vessel_alone(folder).read_text() + "\n221,70.0\n")
    found = take(file_book, other)

    assert "does not replace it" in " ".join(found.notes)
    assert row(file_book, run)["f0_likely_min"] == measured


def test_the_logger_may_have_begun_before_the_heat_was_on(book):
    run_of(book)
    began = datetime(2026, 1, 10, 17, 30, tzinfo=UTC)

    found = taken(book, began_at=began)

    assert {each.fields["began_at"] for each in found.entries if each.kind == "trace"} == {began}


def test_a_run_that_is_not_there_and_what_is_no_run_are_refused(book):
    with pytest.raises(UnknownName):
        taken(book)
    enter(book, "culture", name="LC 1", form="syringe")
    run_of(book)
    with pytest.raises(Contradiction, match="is a culture, not a run"):
        taken(book, run="LC 1")


@pytest.mark.parametrize(
    ("head", "is_one"),
    [
        ("jar,date,note\n", True), ('"Date";"Note";"Jar"\n', True),
        ("\ufeffnote\tjar\tdate\n", True), ("time_min,core_c\n", False), ("# x\n", False),
        ("", False),
    ],
)  # fmt: skip
def test_a_notebook_is_known_by_its_head_line(folder, head, is_one):
    path = folder / "a.csv"
    path.write_text(head, encoding="utf-8")

    assert is_notebook(path) == is_one


def test_a_table_of_neither_sort_says_what_to_do(folder):
    path = folder / "book.db"
    choices = NotebookChoices("Ada", "laptop")

    with pytest.raises(BadFile, match="no notebook"):
        import_file(str(path), CHANNELS, choices, START, do=False)
