"""Logger files that are refused: each with the row, or with the option that would decide."""

from __future__ import annotations

import re

import pytest

from spawnwright.errors import BadFile
from spawnwright.records.readings import ReadingChoices
from spawnwright.store import logger_file
from spawnwright.store.logger_file import read_logger_file

BAD_ROWS = {
    "text": ("time,temp\n0,20\n1,abc\n2,30\n", r"row 3 .*\(reading 2\).*'abc' is not a number"),
    "nan": ("time,temp\n0,20\n1,nan\n2,30\n", r"row 3 .*'nan' is not a number"),
    "inf": ("time,temp\n0,20\n1,30\n2,inf\n", r"row 4 .*'inf' is not a number"),
    "too large": (f"time,temp\n0,20\n1,{'9' * 400}\n2,30\n", r"row 3 .*'9{40}' is too large"),
    "too large a power": ("time,temp\n0,20\n1,1e999\n2,30\n", r"row 3 .*'1e999' is too large"),
    "underscore": ("time,temp\n0,20\n1,1_0\n2,30\n", r"row 3 .*'1_0' is not a number"),
    "empty cell": ("time,temp\n0,20\n1,\n2,30\n", r"row 3 .*empty where a number is needed"),
    "nan in the first row": ("0,nan\n1,20\n2,30\n", r"row 1 .*'nan' is not a number"),
    "text under the header": ("time,temp\n0,abc\n1,20\n2,30\n", r"row 2 .*'abc' is not a number"),
    "no time in the first row": ("time,temp\n,20\n1,21\n2,22\n", r"row 2 .*a cell is empty"),
    "bad time": ("time,temp\n0:00:00,20\n0:00:10,21\nsoon,22\n", r"row 4 .*'soon' is not a time"),
    "minute 61": ("time,temp\n0:59:00,20\n0:61:00,21\n", r"row 3 .*'0:61:00' is no time"),
    "hour 25 of a day": (
        "time,temp\n2027-01-01 10:00,20\n2027-01-01 25:00,21\n", r"row 3 .*hours of a day"),
    "day that is none": (
        "time,temp\n2027-02-28 10:00,20\n2027-02-30 10:00,21\n", r"row 3 .*not a date in the cal"),
    "unsorted": ("time,temp\n0,20\n2,30\n1,25\n", r"row 4 .*earlier than the reading before"),
    "unsorted clock": ("time,temp\n10:02,20\n10:01,21\n10:03,22\n", r"row 3 .*earlier than"),
    "clock set back without offsets": (
        "time,temp\n2027-10-31T02:59,20\n2027-10-31T02:00,21\n", r"row 3 .*winter time.*offset"),
    "repeated instant": ("time,temp\n0,20\n1,30\n1,25\n", r"row 4 .*repeats the instant"),
    "gap": ("0,20\n1,30\n2,40\n3,50\n13.1,60\n", r"row 5 .*10\.1 min .*ten times the usual 1 min"),
    "gap in a clock": (
        "time,temp\n20:00,20\n20:01,21\n20:02,22\n06:00,23\n", r"row 5 .*more than ten times"),
    "a column too many": ("time,temp\n0,20\n1,21,5\n2,22\n", r"row 3 .*has 3 columns, others"),
    "a column too few": ("time,temp\n0,20\n1\n2,22\n", r"row 3 .*has 1 columns, others have 2"),
    "rows that only add up": ("0,20\n1,21,2\n22\n3,23\n", r"row 2 .*has 3 columns"),
    "footer": ("time,temp\n0,20\n1,21\nend of log\n", r"row 4 "),
    "decimal comma in a comma file": (
        "time,temp\n0,20,5\n1,21,5\n", r"row 1 .*names 2 columns, but row 2 .*3; .*semicolons"),
    "offsets in some rows": (
        "2027-01-01T10:00Z,20\n2027-01-01T10:01,21\n", r"row 2 .*offset from UTC"),
    "sensor fault": ("time,temp_c\n0,20\n1,-127\n2,20\n", r"row 3 .*says -127 °C"),
    "hotter than steam": ("time,temp_c\n0,20\n1,250\n2,20\n", r"row 3 .*says 250 °C.*--unit"),
    "late blank lines are counted": ("0,20\n\n\n1,abc\n2,20\n", r"row 4 .*'abc'"),
    "bad row far below": (
        "time,temp\n" + "".join(f"{n},20\n" for n in range(5000)) + "5000,x\n", r"row 5002 .*'x'"),
}  # fmt: skip

UNDECIDED = {
    "unit": ("time,temp\n0,70\n10,250\n", "--unit C or --unit F"),
    "unit, no header": ("0,70\n10,250\n", "--unit C or --unit F"),
    "both units in one name": ("time,temp (C or F)\n0,20\n1,30\n", "--unit"),
    "two temperatures": ("time,temp 1,temp 2\n0,20,21\n1,30,29\n", "'temp 1', 'temp 2'.*--column"),
    "both units in two columns": ("time,temp_c,temp_f\n0,20,68\n1,21,70\n", "--column"),
    "channels": ("t,A,B,C\n0,1,2,3\n1,2,3,4\n", "--column"),
    "several columns, no header": ("0,20,30\n10,21,29\n", r"columns 2, 3\).*--column"),
    "count or time": ("0,0,20\n1,10,121\n", "--time-column 2 --column 3"),
    "decimal commas between commas": ("0,5,20,3\n1,0,21,3\n", "--column.*semicolons"),
    "two clocks": ("a,b,temp\n9:00,10:00,20\n9:01,10:01,21\n", "--time-column"),
    "no temperature": ("time,pressure_kpa\n0,20\n1,30\n", "--column"),
    "no such column": ("time,core,wall\n0,20,1\n1,30,1\n", "--column"),
    "day or month": ("03/04/2027 10:00,20\n03/04/2027 10:01,21\n", "day-first or --dates month-f"),
    "day or month, dates apart": (
        "Date,Time,Temp\n3/4/2027,10:00,20\n3/4/2027,10:01,21\n", "--dates day-first"),
    "day or year": ("24-04-03 10:00,20\n24-04-03 10:01,21\n", "day-first or --dates year-first"),
    "separator": ("1\t0;20\t5\n2\t1;21\t5\n3\t2;0\n1\t1;5;5\n", "--separator"),
    "thousand or decimal": ("time_s;temp\n998;20\n999;30\n1,000;30\n", "--decimal"),
    "points and commas": ("time_s;temp\n1.000;20,5\n2.000;30,5\n", "--decimal"),
    "hours or minutes": ("0:00,20\n30:00,121\n60:00,120\n", "--time-unit hours or --time-unit min"),
}  # fmt: skip

NO_LOG = {
    "empty": ("", "is empty"),
    "blank": ("\n \n", "is empty"),
    "byte-order mark only": ("\ufeff", "is empty"),
    "prose": ("hello\nworld\n", "no row with two numbers.*--separator"),
    "header only": ("time,temp\n", "no row with two numbers"),
    "text in columns": ("a,b\nc,d\n", "no row with two numbers"),
    "one reading": ("time,temp\n0,20\n", "single reading; at least two"),
    "one column": ("20\n21\n22\n", "single column.*--separator"),
    "split by spaces": ("0 20\n1 21\n", "--separator"),
    "spreadsheet": (b"PK\x03\x04 and so on", "not a text file"),
    "picture": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "not a text file"),
    "wrong separator said": ("0;20\n1;21\n", "--separator", {"separator": ","}),
    "wrong column said": ("time,temp\n0,20\n1,21\n", "mean 'temp'", {"column": "tmp"}),
    "time said as temperature": ("time,temp\n0,20\n1,21\n", "is the time", {"column": "time"}),
    "temperature said of text": (
        "time,temp,note\n0,20,a\n1,21,b\n", "row 2 .*'a' is not a number", {"column": "note"}),
    "column named twice": (
        "time,temp,temp\n0,20,1\n1,21,1\n", "2 columns named 'temp'.*number", {"column": "temp"}),
    "wild numbers without a unit": ("time,x\n0,20\n1,4000\n", "reaches 4000.*--column"),
}  # fmt: skip


def _refusal(tmp_path, text, choices):
    path = tmp_path / "LOG.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(BadFile) as caught:
        read_logger_file(path, ReadingChoices(**choices))
    sentence = str(caught.value)
    assert len(sentence) - len(str(tmp_path)) < 500
    return sentence


@pytest.mark.parametrize(("text", "message"), BAD_ROWS.values(), ids=BAD_ROWS.keys())
def test_a_bad_row_is_named(tmp_path, text, message):
    """Rows are counted in the file from 1, header and blank lines included."""
    sentence = _refusal(tmp_path, text, {})

    assert re.search(message, sentence)


def test_a_bad_row_is_named_in_every_piece(tmp_path, monkeypatch):
    """A large file is parsed in pieces; rows are counted on through all of them."""
    monkeypatch.setattr(logger_file, "_PIECE", 100)
    good = "".join(f"{n},20\n" for n in range(100))

    assert "row 101 " in _refusal(tmp_path, good + "100,x\n101,20\n", {})
    assert "row 101 " in _refusal(tmp_path, good + "99,20\n", {})


@pytest.mark.parametrize(("text", "message"), UNDECIDED.values(), ids=UNDECIDED.keys())
def test_the_option_that_decides_is_named(tmp_path, text, message):
    """Nothing is guessed that would change the answer."""
    sentence = _refusal(tmp_path, text, {})

    assert re.search(message, sentence)


@pytest.mark.parametrize("case", NO_LOG.values(), ids=NO_LOG.keys())
def test_what_is_no_log_is_refused(tmp_path, case):
    """Empty, not numbers, fewer than two instants, or options that do not fit the file."""
    text, message, *choices = case
    sentence = _refusal(tmp_path, text, choices[0] if choices else {})

    assert re.search(message, sentence)


@pytest.mark.parametrize("name", ["missing.csv", "."])
def test_no_file(tmp_path, name):
    """A folder is none either."""
    with pytest.raises(BadFile, match="is not a file"):
        read_logger_file(tmp_path / name)
