"""Faults of a sensor: left out with a count where they are few, refused where they are many."""

from __future__ import annotations

import numpy as np
import pytest

from spawnwright.errors import BadFile
from spawnwright.model.sterilizing.lethality import lethality_min
from spawnwright.records.readings import ReadingChoices
from spawnwright.store import logger_file, logger_quick
from spawnwright.store.logger_file import read_logger_file

MINUTES = np.arange(120)
CELSIUS = np.round(np.interp(MINUTES, [0, 30, 90, 119], [20.0, 120.9, 120.9, 95.0]), 1)


@pytest.fixture
def read(tmp_path):
    """Reads a run of 120 minutes in which some cells are something else."""

    def reader(changes=None, head="time_min,temp_c", choices=None, cells=None):
        cells = [f"{each:.1f}" for each in CELSIUS] if cells is None else list(cells)
        for place, cell in (changes or {}).items():
            cells[place] = cell
        path = tmp_path / "LOG.csv"
        rows = [f"{minute},{cell}" for minute, cell in zip(MINUTES, cells, strict=False)]
        path.write_text("\n".join([head, *rows]) + "\n")
        return read_logger_file(path, choices)

    return reader


FAULTS = {
    "empty": ("", "no reading"),
    "nan": ("NaN", "no reading"),
    "dashes": ("---", "no reading"),
    "overload": ("OL", "no reading"),
    "infinite": ("inf", "no reading"),
    "no sensor": ("-127", "sensor not connected"),
    "no sensor, with decimals": ("-127.00", "sensor not connected"),
    "thermocouple open": ("1372.0", "out of range"),
    "power-on": ("85.0", "power-on value"),
    "spike up": ("150.0", "spike"),
    "spike down": ("60.3", "spike"),
}


@pytest.mark.parametrize("way", ["quick", "careful"])
@pytest.mark.parametrize(("cell", "fault"), FAULTS.values(), ids=FAULTS.keys())
def test_one_fault_is_left_out_and_counted(read, monkeypatch, cell, fault, way):
    """The rest of the run stays as it was; the row and the reason are said."""
    if way == "careful":
        monkeypatch.setattr(logger_quick, "columns", lambda *_: None)
    found = read({60: cell})

    assert found.left_out.counts() == {fault: 1}
    assert found.left_out.rows.tolist() == [62]
    np.testing.assert_array_equal(found.time_s, np.delete(MINUTES, 60) * 60.0)
    np.testing.assert_array_equal(found.temperature_c, np.delete(CELSIUS, 60))
    assert f"1 readings: 1 {fault} (row 62" in found.account[-1]


def test_lethality_is_that_of_the_sound_readings(read):
    """A spike to 150 °C for one minute would else be worth more than the whole hour."""
    clean = read()
    faulty = read({40: "150.0", 50: "", 70: "-127", 75: "85.0"})

    minutes = lethality_min(faulty.time_s, faulty.temperature_c)
    assert minutes == pytest.approx(lethality_min(clean.time_s, clean.temperature_c), rel=1e-9)


def test_the_numbers_that_mean_no_sensor_are_known_in_fahrenheit_too(read):
    """−127 °C is −196.6 °F, and 85 °C is 185 °F."""
    fahrenheit = [f"{each * 1.8 + 32:.1f}" for each in CELSIUS]
    found = read({50: "-196.6", 60: "185.0"}, head="time_min,temp_f", cells=fahrenheit)

    assert found.left_out.counts() == {"sensor not connected": 1, "power-on value": 1}


def test_a_fault_does_not_decide_the_unit(read):
    """One reading of 160 in a run up to 121 is no sign of °F."""
    found = read({60: "160.0"}, head="time_min,temp")

    assert "taken as °C" in found.account[2]
    assert found.left_out.counts() == {"spike": 1}


def test_a_jar_that_is_at_85_degrees_is_believed(read):
    """On the way up and down, in a flat stretch, and for a run that begins there."""
    slow = np.clip(np.round(85 + 0.5 * (MINUTES - 60)), 60, 120)
    flat = np.full(120, 85.0)
    for curve in (slow, flat, np.round(85 + 0.4 * MINUTES, 1)):
        assert len(read(cells=[f"{each:.1f}" for each in curve]).left_out) == 0


def test_a_sensor_that_starts_at_85_is_found_at_the_first_reading(read):
    """Before it first measures; time zero stays the file's first row."""
    found = read({0: "85.0", 1: "85.0"})

    assert found.left_out.counts() == {"power-on value": 2}
    assert found.time_s[0] == 120.0


def test_a_step_is_no_spike(read):
    """A probe put into a hot jar jumps and stays; steam let off falls and stays."""
    step = np.where(MINUTES < 30, 20.0, np.where(MINUTES < 80, 121.0, 99.0))

    assert len(read(cells=[f"{each:.1f}" for each in step]).left_out) == 0


def test_what_a_burner_can_do_in_ten_minutes_is_no_spike(tmp_path):
    """The same jump is a fault between readings of a minute, and a fact between ten."""
    cells = np.full(30, 100.0)
    cells[15] = 121.0
    for minutes, count in ((1, 1), (10, 0)):
        path = tmp_path / f"{minutes}.csv"
        rows = [f"{minutes * place},{each}" for place, each in enumerate(cells)]
        path.write_text("\n".join(["time_min,temp_c", *rows]))

        assert len(read_logger_file(path).left_out) == count


def test_a_jagged_curve_is_kept(read):
    """Where every fifth reading looks like a spike, that is what the curve is like."""
    cells = [f"{each:.1f}" for each in np.where(MINUTES % 5 == 2, 80.0, 120.0)]

    assert len(read(cells=cells).left_out) == 0


def test_faults_at_every_fifth_reading_are_refused(read):
    """Then the sensor measures nothing; the first row is named with what stands in it."""
    with pytest.raises(BadFile, match=r"row 2 .*'nan' is not a number.*24 of 120 readings"):
        read(dict.fromkeys(range(0, 120, 5), "nan"))
    assert len(read(dict.fromkeys(range(0, 115, 5), "nan")).left_out) == 23


def test_faults_in_a_row_are_a_gap_like_any_other(read):
    """Nine minutes left out leave a step of ten; ten leave a gap that nobody can judge."""
    assert len(read(dict.fromkeys(range(50, 59), "")).left_out) == 9
    with pytest.raises(BadFile, match=r"row 62 .*11 min after.*from row 52 on, are faults"):
        read(dict.fromkeys(range(50, 60), ""))


def test_words_are_no_faults(read):
    """A cell that says something else is for a person to look at, even one among many."""
    with pytest.raises(BadFile, match=r"row 62 .*'lid off' is not a number"):
        read({60: "lid off"})


def test_a_time_is_never_left_out(tmp_path):
    """A row without an instant cannot be placed."""
    path = tmp_path / "LOG.csv"
    rows = [f"{minute},{each}" for minute, each in zip(MINUTES, CELSIUS, strict=True)]
    rows[60] = "nan,120.9"
    path.write_text("\n".join(["time_min,temp_c", *rows]))

    with pytest.raises(BadFile, match=r"row 62 .*'nan' is not a number"):
        read_logger_file(path)


def test_each_channel_has_its_own_faults(tmp_path):
    """`--column` picks one; what is wrong with another does not matter to it."""
    path = tmp_path / "LOG.csv"
    rows = [f"{minute},{each},{each}" for minute, each in zip(MINUTES, CELSIUS, strict=True)]
    rows[60] = "60,120.9,-127"
    path.write_text("\n".join(["time_min,core,vessel", *rows]))

    assert len(read_logger_file(path, ReadingChoices(column="core")).left_out) == 0
    assert len(read_logger_file(path, ReadingChoices(column="vessel")).left_out) == 1


def test_faults_are_counted_over_all_pieces(read, monkeypatch):
    """A large file is parsed in pieces; faults in each are left out, with their rows."""
    monkeypatch.setattr(logger_file, "_PIECE", 200)
    found = read({5: "", 60: "NaN", 115: "-127"})

    assert found.left_out.rows.tolist() == [7, 62, 117]


def test_only_the_way_up_is_bounded(tmp_path):
    """Nine minutes up and one down is a fact; nine minutes down and one up is a fault."""
    for cell, count in ((121.0, 0), (79.0, 1)):
        minutes = [*range(10), 18, *range(19, 30)]
        cells = [100.0] * 10 + [cell] + [100.0] * 11
        path = tmp_path / "LOG.csv"
        rows = [f"{minute},{each}" for minute, each in zip(minutes, cells, strict=True)]
        path.write_text("\n".join(["time_min,temp_c", *rows]))

        assert len(read_logger_file(path).left_out) == count
