"""The demo's season: every kind of record, whole, and another one if the scenario is changed."""

from __future__ import annotations

import shutil
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import select

from spawnwright.actions.book.doubt import in_doubt, mock_recall
from spawnwright.actions.book.files import examine_book, export_book
from spawnwright.actions.demo.season import BOOK, fill_season
from spawnwright.errors import BadFile
from spawnwright.records.book.grown import OUTCOMES
from spawnwright.records.book.kinds import KINDS
from spawnwright.store.book.engine import open_book
from spawnwright.store.book.history import disputes
from spawnwright.store.book.import_json import merge
from spawnwright.store.book.tables import JARS, OF_KIND, STEPS
from spawnwright.store.demo_files import lay_out

NOW = datetime(2026, 11, 25, 10, 30, tzinfo=ZoneInfo("Europe/Lisbon"))


@pytest.fixture
def book(season):
    """The season's book, open."""
    with open_book(season / BOOK) as opened:
        yield opened


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_record_is_there(book, kind):
    """Else some page could not be seen full."""
    table = OF_KIND[kind]
    with book.read() as connection:
        found = connection.execute(select(table.c.id).where(~table.c.undone)).first()

    assert found is not None


def test_trouble_is_in_it(book):
    """All outcomes, a quarantine that stands, a dispute, an undone step, doubt that was lifted."""
    quarantines = OF_KIND["quarantine"]
    with book.read() as connection:
        outcomes = set(connection.execute(select(JARS.c.outcome)).scalars())
        undone = connection.execute(select(STEPS.c.id).where(STEPS.c.undone)).all()
        lifted = connection.execute(select(quarantines.c.lifted_at)).scalars().all()
        stands = in_doubt(connection)
        differing = disputes(connection)

    assert outcomes == {*OUTCOMES, None}
    assert len(undone) == 1
    assert None in lifted
    assert any(lifted)
    assert [each.name for each in stands] == ["Blue syringe 3"]
    assert [kind for kind, *_ in differing] == ["jar"]


def test_a_recall_finds_the_jars_of_a_bad_syringe_in_one_step(book):
    """Seven came from it, four are spoiled, three are still here."""
    with book.read() as connection:
        found = mock_recall(connection, "blue syringe 3")

    assert len(found.jars) == 7
    assert sum(jar["outcome"] == "spoiled" for jar in found.jars) == 4
    assert len(found.recall.still_here) == 3


def test_nothing_is_wrong_with_it_but_that_it_has_no_backup(season):
    """The doctor compares every record with its history."""
    _, found = examine_book(str(season / BOOK), NOW, all_records=True)

    assert [each.what for each in found if each.is_problem] == ["backup"]


def test_it_comes_back_from_its_export_to_the_byte(season, tmp_path):
    """Everything, the photos too."""
    first, again = tmp_path / "first.json", tmp_path / "again.json"
    export_book(str(season / BOOK), first, None, False)
    with open_book(tmp_path / "other.db") as other:
        assert merge(other, first).problems == []
    export_book(str(tmp_path / "other.db"), again, None, False)

    assert first.read_bytes() == again.read_bytes()


@pytest.fixture
def folder(tmp_path):
    """The scenario with two small batches, so that filling it again is quick."""
    lay_out(tmp_path)
    scenario = tmp_path / "season.toml"
    head, *batches = scenario.read_text(encoding="utf-8").split("[[batch]]")
    syringe = next(each for each in batches if 'key = "syringe"' in each)
    scenario.write_text(f"{head}[[batch]]{syringe}", encoding="utf-8")
    return tmp_path


def test_another_scenario_is_another_season(folder):
    """One spoiled jar instead of four; the book is made anew, not added to."""
    filled = fill_season(folder, NOW, print)
    scenario = folder / "season.toml"
    text = scenario.read_text(encoding="utf-8")
    scenario.write_text(text.replace("spoiled = 4", "spoiled = 1"), encoding="utf-8")
    before = _spoiled(folder)

    again = fill_season(folder, NOW, print)

    assert (before, _spoiled(folder)) == (4, 1)
    assert again.records["jar"] == filled.records["jar"] == 7


def test_the_same_scenario_at_the_same_time_is_the_same_season(folder, tmp_path):
    """Ids and all: what a page shows can be talked about."""
    fill_season(folder, NOW, print)
    shutil.copy(folder / BOOK, tmp_path / "first.db")
    fill_season(folder, NOW, print)
    exports = []
    for file in (tmp_path / "first.db", folder / BOOK):
        export_book(str(file), tmp_path / "x.json", None, False)
        exports.append((tmp_path / "x.json").read_bytes())

    assert exports[0] == exports[1]


def _spoiled(folder):
    with open_book(folder / BOOK) as book, book.read() as connection:
        query = select(JARS.c.id).where(JARS.c.outcome == "spoiled")
        return len(connection.execute(query).all())


@pytest.mark.parametrize(
    ("line", "instead", "said"),
    [
        ("jars = 7", "jars = 2", "fewer than become"),
        ('culture = "blue-syringe"', 'culture = "nobody"', "no culture of the file"),
        ("spoiled = 4", 'spoiled = "four"', "no whole number"),
        ('fill = "70%"', 'fill = "seventy"', "seventy"),
        ("stalled = 1", "stalld = 1", "did you mean 'stalled'"),
        ("seed = 7", "", "lacks seed"),
    ],
)
def test_a_scenario_that_cannot_be_is_refused(folder, line, instead, said):
    """With the line, and the book that was there is left alone."""
    scenario = folder / "season.toml"
    text = scenario.read_text(encoding="utf-8")
    assert line in text
    scenario.write_text(text.replace(line, instead), encoding="utf-8")

    with pytest.raises(BadFile, match=said):
        fill_season(folder, NOW, print)
    assert not (folder / BOOK).exists()
