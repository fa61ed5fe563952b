"""Logger files that are read without asking, and what comes out of them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spawnwright.errors import BadFile
from spawnwright.records.readings import ReadingChoices, Readings
from spawnwright.store import logger_file, logger_quick
from spawnwright.store.logger_file import read_logger_file


@pytest.fixture
def read(tmp_path: Path):
    def read_text(text: str | bytes, **choices: str) -> Readings:
        path = tmp_path / "LOG.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_logger_file(path, ReadingChoices(**choices))

    return read_text


SAME_RUN = {  # each is 20.5 °C at 0, 121.1 °C after one minute, 100 °C after two
    "comma, no header": "0,20.5\n1,121.1\n2,100\n",
    "semicolon, decimal comma": "0;20,5\n1;121,1\n2;100\n",
    "both decimal commas": "0,0;20,5\n1,0;121,1\n2,0;100,0\n",
    "tab, decimal comma": "time\ttemp\n0\t20,5\n1\t121,1\n2\t100\n",
    "spaces around": "time , temp\n0 , 20.5\n1 , 121.1\n2 , 100\n",
    "byte-order mark": "\ufefftime_min,temp_c\n0,20.5\n1,121.1\n2,100\n",
    "Latin-1": "Zeit;Temperatur °C\n0;20,5\n1;121,1\n2;100\n".encode("latin-1"),
    "UTF-8 degree": "time,T / °C\n0,20.5\n1,121.1\n2,100\n",
    "UTF-16": "time,temp_c\n0,20.5\n1,121.1\n2,100\n".encode("utf-16"),
    "Windows line ends": "time,temp\r\n0,20.5\r\n1,121.1\r\n2,100\r\n",
    "old line ends": "time,temp\r0,20.5\r1,121.1\r2,100",
    "blank lines": "\ntime,temp\n\n0,20.5\n\n1,121.1\n2,100\n\n\n",
    "Fahrenheit named": "time,temp_f\n0,68.9\n1,249.98\n2,212\n",
    "Fahrenheit sign": "time,T (°F)\n0,68.9\n1,249.98\n2,212\n",
    "Fahrenheit word, Latin-1": "min;Grad Fahrenheit\n0;68,9\n1;249,98\n2;212\n".encode("latin-1"),
    "seconds": "time_s,temp_c\n0,20.5\n60,121.1\n120,100\n",
    "seconds in brackets": "t [s];T [°C]\n0;20.5\n60;121.1\n120;100\n",
    "seconds as a word": "Seconds,Celsius\n0,20.5\n60,121.1\n120,100\n",
    "hours": "Elapsed hours,temp\n0,20.5\n0.0166666666666667,121.1\n0.0333333333333333,100\n",
    "milliseconds": "ms,temp\n0,20.5\n60000,121.1\n120000,100\n",
    "seconds since 1970": "timestamp,temp\n1735689600,20.5\n1735689660,121.1\n1735689720,100\n",
    "milliseconds since 1970": "t,temp\n1735689600000,20.5\n1735689660000,121.1\n"
    "1735689720000,100\n",
    "h:mm:ss": "0:00:00,20.5\n0:01:00,121.1\n0:02:00,100\n",
    "h:mm": "time,temp\n9:59,20.5\n10:00,121.1\n10:01,100\n",
    "fraction of a second": "0:00:00.500,20.5\n0:01:00.500,121.1\n0:02:00.500,100\n",
    "mm:ss named": "time (mm:ss),temp\n59:30,20.5\n60:30,121.1\n61:30,100\n",
    "clock over midnight": "23:59:30,20.5\n00:00:30,121.1\n00:01:30,100\n",
    "12-hour clock": "11:59 AM,20.5\n12:00 PM,121.1\n12:01 PM,100\n",
    "12-hour clock over midnight": "11:59 pm,20.5\n12:00 am,121.1\n12:01 am,100\n",
    "ISO": "2027-01-03T09:59:00,20.5\n2027-01-03T10:00:00,121.1\n2027-01-03T10:01:00,100\n",
    "ISO with a space": "2027-01-03 23:59,20.5\n2027-01-04 00:00,121.1\n2027-01-04 00:01,100\n",
    "ISO, Z": "2027-01-03T09:59Z,20.5\n2027-01-03T10:00Z,121.1\n2027-01-03T10:01Z,100\n",
    "clock set back, offsets": (
        "2027-10-31T02:59:00+02:00,20.5\n2027-10-31T02:00:00+01:00,121.1\n"
        "2027-10-31T02:01:00+01:00,100\n"
    ),
    "clock set forward, offsets": (
        "2027-03-28T01:59:00+0100,20.5\n2027-03-28T03:00:00+0200,121.1\n"
        "2027-03-28T03:01:00+0200,100\n"
    ),
    "day first by a day over 12": "13/4/2027 9:59,20.5\n13/4/2027 10:00,121.1\n"
    "13/4/2027 10:01,100\n",
    "month first by a day over 12": "04/13/2027 9:59,20.5\n04/13/2027 10:00,121.1\n"
    "04/13/2027 10:01,100\n",
    "day first by dots": "03.04.2027 9:59;20,5\n03.04.2027 10:00;121,1\n03.04.2027 10:01;100\n",
    "date and clock apart": (
        "Date,Time,Temp (C)\n2027-04-03,23:59:00,20.5\n2027-04-04,00:00:00,121.1\n"
        "2027-04-04,00:01:00,100\n"
    ),
    "quoted, decimal commas": '"time","temp"\n"0","20,5"\n"1","121,1"\n"2","100"\n',
    "separator declared": "sep=;\ntime;temp\n0;20,5\n1;121,1\n2;100\n",
    "lines above the table": (
        "Logger,AB-12\nSerial,12345\nInterval,60\n\ntime,temp\n0,20.5\n1,121.1\n2,100\n"
    ),
    "units in a second line": "time,temp,p\nmin,°C,kPa\n0,20.5,101\n1,121.1,205\n2,100,101\n",
    "index first": "No.,time_min,temp_c\n1,0,20.5\n2,1,121.1\n3,2,100\n",
    "nameless index": ",time_min,temp_c\n0,0,20.5\n1,1,121.1\n2,2,100\n",
    "temperature first": "temp_c,time_min\n20.5,0\n121.1,1\n100,2\n",
    "one temperature among others": (
        "time,core_c,pressure_kpa,F0 (min),battery\n0,20.5,101,0,3.1\n1,121.1,205,0.2,3.1\n"
        "2,100,101,0.3,3.1\n"
    ),
    "text beside": "time,temp,event\n0,20.5,\n1,121.1,steam off; cooling\n2,100,\n",
    "empty last column": "0,20.5,\n1,121.1,\n2,100,\n",
    "plus signs and exponents": "+0,+20.5\n1e0,1.211E2\n2,1.0e+2\n",
    "camel case": "ElapsedMin,CoreTempC\n0,20.5\n1,121.1\n2,100\n",
}  # fmt: skip


@pytest.mark.parametrize("text", SAME_RUN.values(), ids=SAME_RUN.keys())
def test_the_same_run_in_many_hands(read, text):
    """Whatever the logger writes, the run is the same one."""
    found = read(text)

    np.testing.assert_allclose(found.time_s, [0.0, 60.0, 120.0], rtol=0, atol=1e-6)
    np.testing.assert_allclose(found.temperature_c, [20.5, 121.1, 100.0], rtol=0, atol=1e-9)


SAID = {  # what a person says, where the file does not
    "unit": ("time,temp\n0,68.9\n1,249.98\n2,212\n", {"unit": "F"}),
    "day first": (
        "03/04/2027 9:59,20.5\n03/04/2027 10:00,121.1\n03/04/2027 10:01,100\n",
        {"dates": "day-first"},
    ),
    "month first": (
        "03-04-27 9:59,20.5\n03-04-27 10:00,121.1\n03-04-27 10:01,100\n",
        {"dates": "month-first"},
    ),
    "column by name": ("time,a,b\n0,1,20.5\n1,2,121.1\n2,3,100\n", {"column": "B"}),
    "column by number": ("time,a,b\n0,1,20.5\n1,2,121.1\n2,3,100\n", {"column": "3"}),
    "column without header": ("0,1,20.5\n1,1,121.1\n2,1,100\n", {"column": "3"}),
    "time column": (
        "0,0,20.5\n1,1,121.1\n2,2,100\n",
        {"time_column": "2", "column": "3"},
    ),
    "two clocks": (
        "local,utc,temp\n9:59,8:59,20.5\n10:00,9:00,121.1\n10:01,9:01,100\n",
        {"time_column": "utc"},
    ),
    "seconds": ("time,temp\n0,20.5\n60,121.1\n120,100\n", {"time_unit": "seconds"}),
    "minutes first": ("59:30,20.5\n60:30,121.1\n61:30,100\n", {"time_unit": "minutes"}),
}


@pytest.mark.parametrize(("text", "choices"), SAID.values(), ids=SAID.keys())
def test_what_a_person_says_decides(read, text, choices):
    """Each option reads a file as it is meant that is refused, or read otherwise, without it."""
    found = read(text, **choices)

    np.testing.assert_allclose(found.time_s, [0.0, 60.0, 120.0], rtol=0, atol=1e-6)
    np.testing.assert_allclose(found.temperature_c, [20.5, 121.1, 100.0], rtol=0, atol=1e-9)


def test_a_decimal_comma_can_be_said(read):
    """A time of "1,000" in every row could be a thousand."""
    found = read("time_s;temp\n1,000;20\n2,000;30\n3,500;40\n", decimal=",")

    np.testing.assert_allclose(found.time_s, [0.0, 1.0, 2.5], rtol=0, atol=1e-12)


def test_a_thousand_with_a_comma_can_be_said(read):
    """Then the comma is no decimal sign, and numbers must do without it."""
    found = read("time_s;temp\n998;20\n999;30\n1000;40\n", decimal=".")

    np.testing.assert_allclose(found.time_s, [0.0, 1.0, 2.0], rtol=0, atol=1e-12)


def test_a_channel_named_f_is_not_in_fahrenheit(read):
    """One of the columns D, E, F; a sole column of that name is a unit."""
    found = read("min,D,E,F\n0,1,1,20.5\n1,1,1,121.1\n", column="F")

    assert found.temperature_c[1] == 121.1
    assert read("min,F\n0,68\n1,212\n").temperature_c[1] == pytest.approx(100.0)


def test_what_was_read_is_said(read):
    """First and last, sampling, unit, column, and what was assumed."""
    said = " ".join(read("time,core\n0,20.5\n1,121.1\n2,100\n").account)

    for part in ("3 readings", "60 s apart", "row 2 to row 4", '"core"', "first 20.5", "last 100",
                 "minutes, which nothing in the file says (--time-unit)",
                 "°C, which nothing in the file says (--unit)"):  # fmt: skip
        assert part in said


def test_a_long_run_in_unnamed_minutes_is_warned_of(read):
    """Seconds taken for minutes would make the answer sixty times too high."""
    said = " ".join(read("time,temp\n0,20\n1000,121\n2000,100\n").account)

    assert "say --time-unit seconds" in said


def test_the_same_numbers_by_the_quick_and_the_careful_way(read, monkeypatch):
    """Plain numbers are read at once, others by columns; pieces of a file are joined."""
    monkeypatch.setattr(logger_file, "_PIECE", 1000)
    times = np.arange(2000) * 0.25
    temperatures = np.round(70 + 51 * np.sin(times / 100), 2)
    table = [f"{t},{c}" for t, c in zip(times, temperatures, strict=True)]
    quick = read("\n".join(["time_min,temp_c", *table]))
    careful = read("\n".join(["time_min,temp_c", *(row.replace(",", " , ") for row in table)]))

    np.testing.assert_array_equal(quick.time_s, careful.time_s)
    np.testing.assert_array_equal(quick.temperature_c, temperatures)
    np.testing.assert_array_equal(careful.temperature_c, temperatures)


@given(
    seconds=st.lists(st.integers(1, 9), min_size=1, max_size=60),
    start=st.datetimes(datetime(2001, 1, 1), datetime(2099, 12, 30), timezones=st.just(UTC)),
    tenths=st.data(),
    separator=st.sampled_from([",", ";", "\t"]),
    form=st.sampled_from(["%Y-%m-%dT%H:%M:%S%z", "%d.%m.%Y %H:%M:%S", "%Y/%m/%d %I:%M:%S %p"]),
)
def test_what_was_written_is_read(tmp_path_factory, seconds, start, tenths, separator, form):
    """Any run, written in any of these forms, comes back as it was."""
    start = start.replace(microsecond=0)
    instants = [start]
    for step in seconds:
        instants.append(instants[-1] + timedelta(seconds=step))
    # In steps that a jar can make: a jump there and back would be a fault of the sensor.
    steps = tenths.draw(
        st.lists(st.integers(-29, 29), min_size=len(instants), max_size=len(instants))
    )
    values = np.clip(tenths.draw(st.integers(-200, 1349)) + np.cumsum(steps), -200, 1349)
    decimal = "." if separator == "," else ","
    written = [f"{value / 10:.1f}".replace(".", decimal) for value in values]
    lines = [
        instant.strftime(form) + separator + value
        for instant, value in zip(instants, written, strict=True)
    ]
    path = tmp_path_factory.getbasetemp() / "written.csv"
    path.write_text("\n".join([f"time{separator}temp_c", *lines]))
    found = read_logger_file(path)

    np.testing.assert_allclose(found.time_s, np.cumsum([0, *seconds]), rtol=0, atol=1e-5)
    np.testing.assert_allclose(found.temperature_c, np.array(values) / 10, rtol=0, atol=1e-12)


_SOUND = {
    "plain": "time_min,temp_c\n" + "".join(f"{n / 2},{20 + n:.1f}\n" for n in range(9)),
    "dated": "time;temp\n" + "".join(f"2027-01-03T10:{n:02d}:00;2{n},5\n" for n in range(9)),
    "clock": "time\ttemp\tnote\n" + "".join(f"0:{n:02d}:30\t2{n}.5\tx{n}\n" for n in range(9)),
    "quoted": '"t_s","T °C"\n' + "".join(f'"{n}","{20 + n:.1f}"\n' for n in range(9)),
}


def _outcome(path: Path) -> tuple[bytes, bytes] | str:
    try:
        found = read_logger_file(path)
    except BadFile as refusal:
        return str(refusal)
    return found.time_s.tobytes(), found.temperature_c.tobytes()


@given(
    text=st.sampled_from(list(_SOUND.values())),
    slips=st.lists(
        st.tuples(st.floats(0.0, 0.999), st.integers(0, 1), st.sampled_from('0719.,;\t:- +e"\n_x')),
        max_size=3,
    ),
)
def test_the_quick_way_reads_what_the_careful_way_reads(tmp_path_factory, text, slips):
    """Files with slips of the pen: the same numbers, or the same sentence, never a crash."""
    for share, kept, letter in slips:
        place = int(share * len(text))
        text = text[:place] + letter + text[place + 1 - kept :]
    path = tmp_path_factory.getbasetemp() / "slips.csv"
    path.write_bytes(text.encode())
    quick = _outcome(path)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(logger_quick, "columns", lambda *_: None)
        careful = _outcome(path)

    assert quick == careful
