"""`run-record`: several sensors, a verdict by what was measured or by both transports, a page."""

from __future__ import annotations

import io
import json
import math

import numpy as np
import pytest
from pypdf import PdfReader

from spawnwright.cli import main
from tests.published import rows

JAR = ("--jar", "quart", "--fill", "70%", "--elevation", "0 m")
# The published cycle: 20 °C, boiling at 15 min for 10, pressure at 30, 90 min, free cooling.
MINUTES = np.arange(181.0)
VESSEL = np.where(
    MINUTES <= 120,
    np.interp(MINUTES, [0, 15, 25, 30], [20.0, 99.97, 99.97, 120.95]),
    25 + 95.95 * np.exp(-(MINUTES - 120) / 142),
)
CORE = np.interp(MINUTES, [0, 60, 100, 122, 180], [20.0, 90.0, 118.0, 120.0, 93.0])


@pytest.fixture
def record(capsys, tmp_path):
    """Writes columns to a file and runs `run-record` on it; gives code, output, errors."""

    def runner(columns: dict, *options: str) -> tuple[int, str, str]:
        path = tmp_path / "log.csv"
        body = np.column_stack([MINUTES, *columns.values()])
        lines = [",".join(f"{cell:.2f}" for cell in row) for row in body]
        path.write_text("\n".join([",".join(["time_min", *columns]), *lines]))
        with pytest.raises(SystemExit) as left:
            main(["run-record", str(path), *options])
        said = capsys.readouterr()
        return int(left.value.code or 0), said.out, said.err

    return runner


@pytest.fixture
def answer_of(record):
    def ask(columns, *options):
        code, out, err = record(columns, *options, "--json")
        assert code == 0, err
        return json.loads(out)

    return ask


def test_a_measured_core_is_what_it_is(answer_of):
    """One number, the integral; enough or too little by the target alone."""
    found = answer_of({"core_c": CORE, "vessel_c": VESSEL})
    core = found["channels"][0]

    assert core["measures"] == "core"
    assert found["core_is_measured"]
    assert found["core_f0_min"]["low"] == found["core_f0_min"]["high"] == core["lethality_min"]
    assert found["verdict"] == "enough"
    assert 0 < core["cooling_min"] < core["lethality_min"]
    assert answer_of({"core_c": CORE}, "--target", "90 min")["verdict"] == "too little"


def test_from_the_vessel_both_transports_are_shown(answer_of):
    """The logged reference cycle: published totals lie in the bands of both ways.

    Conduction at 1.3e-7 gives 10.4 min with cooling; the middle diffusivity here is 1.25e-7.
    """
    found = answer_of({"vessel_c": VESSEL}, *JAR, "--grain-state", "unknown")
    published = {row["diffusivity"]: float(row["sea_total"])
                 for row in rows("finitevolume2026_cycle") if row["start_c"] == "20"}  # fmt: skip
    creeps, vapor = found["core_f0_by_conduction_min"], found["core_f0_by_vapor_min"]

    assert not found["core_is_measured"]
    assert published["1.0e-7"] < creeps["likely"] < published["1.6e-7"]
    assert creeps["low"] < published["1.0e-7"] * 1.2
    assert creeps["high"] > published["1.6e-7"] * 0.85
    assert vapor["low"] < 26.1 < vapor["high"]
    assert vapor["low"] < 47.6 < vapor["high"]
    assert found["verdict"] == "cannot tell"


def test_the_state_of_the_grain_decides_where_the_vessel_cannot(answer_of):
    """Grain that pours has enough of it, grain that smears has not what is asked."""
    pours = answer_of({"vessel_c": VESSEL}, *JAR, "--grain-state", "pours", "--target", "10 min")
    smears = answer_of({"vessel_c": VESSEL}, *JAR, "--grain-state", "smears", "--target", "70 min")

    assert pours["verdict"] == "enough"
    assert smears["verdict"] == "too little"
    assert pours["core_f0_by_state_min"]["low"] > smears["core_f0_by_state_min"]["likely"]


def test_a_colder_vessel_never_gives_more(answer_of):
    """Three degrees less in the hold: about half the lethality (z 10 °C)."""
    warm = answer_of({"vessel_c": VESSEL}, *JAR)["core_f0_min"]
    cold = answer_of({"vessel_c": np.minimum(VESSEL, 117.95)}, *JAR)["core_f0_min"]

    assert cold["high"] == pytest.approx(warm["high"] / 2, rel=0.1)
    assert cold["low"] < warm["low"]


def test_the_vessel_without_a_jar_tells_nothing_of_the_core(answer_of):
    """It says so, and what to say."""
    found = answer_of({"vessel_c": VESSEL})

    assert found["verdict"] == "cannot tell"
    assert found["core_f0_min"] is None


def test_what_a_column_measures_is_asked_where_it_is_not_clear(record, answer_of):
    """Names that say nothing, two that say the same, a role that no column has."""
    plain = {"A": CORE, "B": VESSEL}
    assert "--core or --vessel" in record(plain)[2]
    assert answer_of(plain, "--core", "A", "--vessel", "B")["channels"][1]["measures"] == "vessel"
    assert "look like the core" in record({"jar 1 c": CORE, "jar 2 c": CORE})[2]
    assert answer_of({"jar 1 c": CORE, "jar 2 c": CORE}, "--core", "jar 2 c")["core_is_measured"]
    code, out, err = record(plain, "--core", "C")
    assert (code, out) == (2, "")
    assert "'A', 'B'" in err
    assert "cannot be both" in record(plain, "--core", "A", "--vessel", "A")[2]


def test_faults_of_each_sensor_are_counted_apart(answer_of, record):
    """In JSON with their rows, and on standard error."""
    core, vessel = CORE.copy(), VESSEL.copy()
    core[[50, 90]], vessel[100] = (-127.0, math.nan), 160.0
    columns = {"core_c": core, "vessel_c": vessel}
    found = answer_of(columns)

    assert [each["readings_left_out"] for each in found["channels"]] == [2, 1]
    assert found["channels"][1]["left_out"] == [{"row": 102, "fault": "spike", "value_c": 160.0}]
    assert "1 sensor not connected (row 52" in record(columns)[2]
    assert found["verdict"] == answer_of({"core_c": CORE, "vessel_c": VESSEL})["verdict"]


def test_the_page_is_one_and_says_all(record, tmp_path):
    """Curve, verdict, both sensors, what was left out, the cautions; the same bytes each time."""
    core = CORE.copy()
    core[50] = -127.0
    pdf = tmp_path / "record.pdf"
    record({"core_c": core, "vessel_c": VESSEL}, *JAR, "--pdf", str(pdf))
    first = pdf.read_bytes()
    record({"core_c": core, "vessel_c": VESSEL}, *JAR, "--pdf", str(pdf))
    pages = PdfReader(io.BytesIO(first)).pages
    text = " ".join(pages[0].extract_text().split())

    assert pdf.read_bytes() == first
    assert len(pages) == 1
    for said in ("Enough.", "core_c", "vessel_c", "row 52 (-127 °C)", "no proof", "minutes",
                 "If vapor moves", "wanted 15 min"):  # fmt: skip
        assert said in text
    assert str(tmp_path) not in text


def test_a_crowded_page_is_still_one(record, tmp_path):
    """A dozen sensors with long names and many faults, ten thousand readings not needed."""
    columns = {"core_c": CORE}
    for number in range(11):
        column = VESSEL.copy()
        column[5 + number :: 20] = -127.0
        columns[f"sensor with a rather long name {number} c"] = column
    pdf = tmp_path / "record.pdf"
    code, _, err = record(columns, *JAR, "--pdf", str(pdf))

    assert code == 0, err
    assert len(PdfReader(pdf).pages) == 1


def test_nothing_is_written_for_a_file_that_is_refused(record, tmp_path):
    """Nor over the log itself."""
    pdf = tmp_path / "record.pdf"
    assert record({"A": CORE, "B": VESSEL}, "--pdf", str(pdf))[0] == 2
    assert not pdf.exists()
    code, _, err = record({"core_c": CORE}, "--pdf", str(tmp_path / "log.csv"))
    assert code == 2
    assert "made from" in err
    assert (tmp_path / "log.csv").read_text().startswith("time_min")
