"""The kit's file: read in the units people write, kept as typed, refused with the line."""

from __future__ import annotations

import pytest

from spawnwright.actions.own_kit.kit import change_kit, own_kit
from spawnwright.errors import BadFile, Unusable
from spawnwright.records.kit import NAMES, Kit
from spawnwright.store.kit_file import kit_path, read_kit


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    """A folder of one's own, not made yet."""
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path / "own"))


def test_without_a_file_the_kit_is_empty():
    """Nothing is known, and that is no error."""
    assert own_kit() == Kit()


def test_a_kit_is_kept_as_it_was_typed():
    """15 lb stays 15 lb in the file, whatever unit the sums use."""
    change_kit({"elevation": "1476 ft", "gauge": "15 lb weight", "dose": "2 mL", "fill": "2/3"})

    kit = read_kit()
    assert kit.elevation_m == pytest.approx(1476 * 0.3048)
    assert kit.gauge_pa == pytest.approx(15 * 6894.757, rel=1e-6)
    assert kit.dose_ml == pytest.approx(2.0)
    assert kit.fill == pytest.approx(2 / 3)
    assert kit.typed["gauge"] == "15 lb weight"


def test_a_line_is_changed_and_taken_out_again():
    """The others stay."""
    change_kit({"shelf": "22 C", "units": "us"})
    change_kit({"shelf": None})

    assert (own_kit().shelf_c, own_kit().units) == (None, "us")


def test_a_change_by_hand_is_seen_at_once():
    """A page asks each time; the file may be edited meanwhile."""
    change_kit({"shelf": "22 C"})
    kit_path().write_text('shelf = "18 C"\nname = "Ada"\n', encoding="utf-8")

    assert own_kit().shelf_c == 18.0


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('elevation = "450"', "has no unit"),
        ('elevaton = "450 m"', "did you mean 'elevation'"),
        ('units = "imperial"', "metric or us"),
        ('time_zone = "Mars/Olympus"', "no time zone"),
        ('name = " "', "empty"),
        ("elevation = ", "not valid TOML"),
    ],
)
def test_a_line_that_cannot_be_is_named(line, said):
    """File, line and what would do."""
    kit_path().parent.mkdir()
    kit_path().write_text(f"# my kit\n{line}\n", encoding="utf-8")

    with pytest.raises(BadFile, match=said) as caught:
        read_kit()
    assert "line 2" in str(caught.value)


def test_a_change_that_cannot_be_writes_nothing():
    """The file is as it was."""
    change_kit({"shelf": "22 C"})
    before = kit_path().read_bytes()

    with pytest.raises(Unusable):
        change_kit({"shelf": "warm", "name": "Ada"})
    assert kit_path().read_bytes() == before


def test_every_field_has_a_line():
    """A field that no line sets could never be known."""
    assert set(NAMES.values()) == set(Kit.__dataclass_fields__) - {"typed"}
