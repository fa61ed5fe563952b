"""`steam`, `lethality`, `survivors`, `properties`, `spores`: keys, exit codes, sentences."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from spawnwright import cli
from tests.published import rows

STEAM_KEYS = {
    "steam_temperature_c", "ambient_pressure_kpa", "absolute_pressure_kpa", "boiling_point_c",
    "gauge_for_121_psi", "relative_lethality",
}  # fmt: skip


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as end:
        cli.main(list(arguments))
    written = capsys.readouterr()
    return int(end.value.code or 0), written.out, written.err


@pytest.fixture
def answer_of(capsys):
    def ask(*arguments: str) -> dict[str, object]:
        code, out, err = run(capsys, *arguments, "--json")
        assert code == 0, err
        return json.loads(out)

    return ask


@pytest.fixture
def refusal_of(capsys):
    def ask(*arguments: str) -> str:
        code, out, err = run(capsys, *arguments)
        lines = [line for line in err.splitlines() if line]
        assert (code, out, len(lines)) == (2, "", 1), (code, out, err)
        assert len(lines[0]) < 600
        return lines[0]

    return ask


STEAM = {"--gauge": "15 psi", "--elevation": "1500 m", "--air-retained": "10%",
         "--air-temperature": "20 C"}  # fmt: skip


def _line(options: dict[str, str]) -> list[str]:
    return [word for pair in options.items() for word in pair]


def test_steam_at_1500_m(answer_of):
    """118.26 °C; 52 % of the rate at 121.11 °C; the gauge would have to show 17.6 psi."""
    found = answer_of("steam", "--gauge", "15 psi", "--elevation", "1500 m")

    assert set(found) == STEAM_KEYS
    assert found["steam_temperature_c"] == pytest.approx(118.26, abs=0.005)
    assert found["ambient_pressure_kpa"] == pytest.approx(84.556, abs=0.0005)
    assert found["absolute_pressure_kpa"] == pytest.approx(84.556 + 103.421, abs=0.001)
    assert found["boiling_point_c"] == pytest.approx(94.98, abs=0.005)
    assert found["gauge_for_121_psi"] == pytest.approx(17.6, abs=0.05)
    assert found["relative_lethality"] == pytest.approx(10 ** ((118.2626 - 121.11) / 10), rel=1e-5)


@pytest.mark.parametrize(
    ("option", "value", "changed"),
    [
        ("--gauge", "12 psi", {"steam_temperature_c", "absolute_pressure_kpa",
                               "relative_lethality"}),
        ("--elevation", "0 m", STEAM_KEYS),
        ("--air-retained", "0%", {"steam_temperature_c", "relative_lethality"}),
        ("--air-temperature", "60 C", {"steam_temperature_c", "relative_lethality"}),
    ],
)  # fmt: skip
def test_steam_keys_follow_their_inputs(answer_of, option, value, changed):
    """Each option moves the keys that depend on it, and no other."""
    before, after = (answer_of("steam", *_line(each)) for each in (STEAM, STEAM | {option: value}))

    assert {key for key in STEAM_KEYS if before[key] != after[key]} == changed


def test_steam_by_measured_air_and_by_boiling_point(answer_of):
    """Three ways to say the same place give the same steam."""
    by_height = answer_of("steam", "--gauge", "15 psi", "--elevation", "1500 m")
    by_air = answer_of("steam", "--gauge", "15 psi", "--ambient", "845.56 hPa")
    by_pot = answer_of("steam", "--gauge", "15 psi", "--boils-at", "94.98 C")

    for other in (by_air, by_pot):
        assert other["steam_temperature_c"] == pytest.approx(
            by_height["steam_temperature_c"], abs=0.01
        )


def test_a_measured_pressure_wins_over_the_elevation(answer_of):
    """Weather: 2 kPa lower than the standard is believed."""
    found = answer_of(
        "steam", "--gauge", "15 psi", "--ambient", "82.5 kPa", "--elevation", "1500 m"
    )

    assert found["ambient_pressure_kpa"] == pytest.approx(82.5)


@pytest.mark.parametrize("units", ["103.421 kPa", "1.03421 bar", "15 lb weight", "15 psig"])
def test_gauge_in_other_units(answer_of, units):
    """As people write it."""
    found = answer_of("steam", "--gauge", units, "--elevation", "0 m")

    assert found["steam_temperature_c"] == pytest.approx(120.95, abs=0.005)


def test_half_the_air_left(answer_of):
    """109.0 °C at 15 psi by the sea, air heated with the vessel from 20 °C."""
    found = answer_of("steam", "--gauge", "15 psi", "--elevation", "0 m", "--air-retained", "50%")

    assert found["steam_temperature_c"] == pytest.approx(109.0, abs=0.05)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--gauge", "15 psi"], "--elevation"),
        (["--gauge", "15 psi", "--elevation", "1 m", "--boils-at", "95 C"], "only one"),
        (["--gauge", "15 psi", "--ambient", "101 kPa", "--elevation", "1500 m"], "sea level"),
        (["--gauge", "15 psi", "--ambient", "80.5 kPa", "--elevation", "1500 m"], "1500 m"),
        (["--gauge", "15", "--elevation", "0 m"], "15 psi"),
        (["--gauge", "15 psi", "--elevation", "1500"], "1500 m"),
        (["--gauge", "15 psi", "--elevation", "15 psi"], "elevation"),
        (["--gauge", "-5 psi", "--elevation", "0 m"], "negative"),
        (["--gauge", "150 psi", "--elevation", "0 m"], "150 psi"),
        (["--gauge", "15 psi", "--elevation", "20000 m"], "9000 m"),
        (["--gauge", "15 psi", "--ambient", "840 kPa"], "840 kPa"),
        (["--gauge", "15 psi", "--boils-at", "121 C"], "121 °C"),
        (["--gauge", "15 psi", "--elevation", "0 m", "--air-retained", "50"], "percent sign"),
        (["--gauge", "15 psi", "--elevation", "0 m", "--air-retained", "150%"], "100%"),
        (["--gauge", "15 psi", "--elevation", "0 m", "--air-temperature", "300 C"], "300 °C"),
        (["--elevation", "0 m"], "--gauge"),
    ],
)
def test_steam_refuses_nonsense(refusal_of, arguments, says):
    """One sentence that names the option or the value."""
    assert says in refusal_of("steam", *arguments)


@pytest.mark.parametrize("option", ["--elevation", "--ambient"])
def test_steam_never_advises_above_the_rating(capsys, option):
    """17.6 psi is shown, and said not to be held."""
    value = {"--elevation": "1500 m", "--ambient": "84.6 kPa"}[option]
    _, out, _ = run(capsys, "steam", "--gauge", "15 psi", option, value)

    assert "17.6 psi" in out
    assert "Never hold a canner above the pressure that its maker rates it for" in out
    assert "10 minutes" in out


@pytest.fixture
def log(tmp_path) -> Path:
    """The published run whose survivors were counted, as a logger would write it."""
    table = rows("garre2017_laterosporus_dynamic")
    path = tmp_path / "run.csv"
    path.write_text(
        "time_min,core_c\n"
        + "".join(f"{row['time_min']},{row['temperature_c']}\n" for row in table)
    )
    return path


def test_lethality_of_the_counted_run(answer_of, log):
    """F0 11.85 min; the curve ends there, begins at zero and never falls."""
    found = answer_of("lethality", str(log))

    assert set(found) == {
        "lethality_min", "peak_c", "minutes_above_reference", "f0_curve_min",
        "readings_left_out", "left_out",
    }  # fmt: skip
    assert found["lethality_min"] == pytest.approx(11.85, abs=0.005)
    assert found["peak_c"] == 123.0
    # above 121.11 °C from 0.055 of the way from 121 to 123 °C (17.69 to 18.46 min) to the end
    assert found["minutes_above_reference"] == pytest.approx(24.46 - 18.46 + 0.77 * 0.945)
    assert len(found["f0_curve_min"]) == 10
    assert found["f0_curve_min"][0] == 0.0
    assert found["f0_curve_min"][-1] == found["lethality_min"]
    assert np.all(np.diff(found["f0_curve_min"]) >= 0)


def test_faults_are_counted_in_the_answer_and_on_standard_error(answer_of, capsys, tmp_path):
    """A disconnected sensor at one reading of many: said in both, and not in the sum."""
    rows = [f"{minute},{121.11 if minute != 10 else -127}" for minute in range(21)]
    path = tmp_path / "fault.csv"
    path.write_text("\n".join(["time_min,core_c", *rows]))
    found = answer_of("lethality", str(path))

    assert found["lethality_min"] == pytest.approx(20.0, rel=1e-9)
    assert found["readings_left_out"] == 1
    assert found["left_out"] == [{"row": 12, "fault": "sensor not connected", "value_c": -127.0}]
    assert len(found["f0_curve_min"]) == 20
    assert "1 sensor not connected (row 12 (-127 °C))" in run(capsys, "lethality", str(path))[2]
    other = answer_of("survivors", str(path), "--d", "2 min", "--z", "10 C")
    assert other["readings_left_out"] == 1


@pytest.mark.parametrize(
    ("options", "changed"),
    [
        (["--reference", "250 F"], {"lethality_min", "minutes_above_reference", "f0_curve_min"}),
        (["--z", "8.2 C"], {"lethality_min", "f0_curve_min"}),
        (["--rule", "trapezoid"], {"lethality_min", "f0_curve_min"}),
        (["--unit", "F"], {"lethality_min", "peak_c", "minutes_above_reference", "f0_curve_min"}),
    ],
)
def test_lethality_keys_follow_their_inputs(answer_of, log, options, changed):
    """Each option moves the keys that depend on it, and no other."""
    before, after = answer_of("lethality", str(log)), answer_of("lethality", str(log), *options)

    assert {key for key in before if before[key] != after[key]} == changed


def test_z_is_a_difference(answer_of, log):
    """18 °F are 10 °C, not -7.8."""
    by_f, by_c = (answer_of("lethality", str(log), "--z", z) for z in ("18 F", "10 C"))

    assert by_f["lethality_min"] == pytest.approx(by_c["lethality_min"], rel=1e-12)


def test_survivors_of_the_counted_run(answer_of, log):
    """3.49 powers of ten predicted."""
    found = answer_of("survivors", str(log), "--d", "3.59 min", "--z", "8.2 C")

    assert found["log10_reduction"] == pytest.approx(3.49, abs=0.005)


@pytest.mark.parametrize(
    ("option", "value"),
    [("--d", "2 min"), ("--z", "10 C"), ("--reference", "120 C"), ("--rule", "trapezoid")],
)
def test_survivors_follow_their_inputs(answer_of, log, option, value):
    """Every option counts."""
    usual = {"--d": "3.59 min", "--z": "8.2 C"}
    before, after = (
        answer_of("survivors", str(log), *_line(each)) for each in (usual, usual | {option: value})
    )

    assert before["log10_reduction"] != after["log10_reduction"]


def test_what_was_read_goes_to_standard_error(capsys, log):
    """Standard output carries the answer only."""
    code, out, err = run(capsys, "lethality", str(log), "--json")

    assert code == 0
    assert out.count("\n") == 1
    for part in ("10 readings", "row 2 to row 11", '"core_c"', "minutes"):
        assert part in err


def test_text_answers_say_what_they_mean(capsys, log):
    """Cooling, other spores, and that a sensor sees one point."""
    _, lethality, _ = run(capsys, "lethality", str(log))
    _, survivors, _ = run(capsys, "survivors", str(log), "--d", "3.59 min", "--z", "8.2 C")

    assert "F0" in lethality
    assert "11.9 min" in lethality
    assert "Brevibacillus laterosporus" in lethality
    assert "no proof" in lethality.replace("\n", " ")
    assert "3.49" in survivors


def test_coarse_readings_are_said_to_be_so(capsys, tmp_path):
    """The book's example: the two rules differ by 5 %."""
    path = tmp_path / "coarse.csv"
    path.write_text("min,F\n" + "".join(
        f"{row['time_min']},{row['temperature_f']}\n" for row in rows("geankoplis_9_12_2")
    ))  # fmt: skip
    _, out, _ = run(capsys, "lethality", str(path), "--reference", "250 F")

    assert "2.4 min" in out
    assert "far apart" in out


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--z", "0 C"], "z is 0 K"),
        (["--z", "-10 C"], "z is -10 K"),
        (["--z", "10"], "10 C"),
        (["--z", "10 min"], "temperature difference"),
        (["--reference", "121.11"], "20 C"),
        (["--reference", "5000 C"], "5000 °C"),
        (["--rule", "simpson"], "simpson"),
        (["--unit", "K"], "'K'"),
        (["--column", "wall"], "'core_c'"),
        (["--decimal", ";"], "--decimal"),
        (["--dates", "today"], "--dates"),
    ],
)
def test_lethality_refuses_nonsense(refusal_of, log, options, says):
    """One sentence that names the option or the value."""
    assert says in refusal_of("lethality", str(log), *options)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--d", "3.59 min"], "--z"),
        (["--z", "8.2 C"], "--d"),
        (["--d", "0 min", "--z", "8.2 C"], "D is 0 min"),
        (["--d", "3.59", "--z", "8.2 C"], "90 min"),
        (["--d", "3.59 C", "--z", "8.2 C"], "temperature"),
    ],
)
def test_survivors_refuses_nonsense(refusal_of, log, options, says):
    """One sentence that names the option or the value."""
    assert says in refusal_of("survivors", str(log), *options)


@pytest.mark.parametrize("command", ["lethality", "survivors"])
def test_a_log_that_cannot_be_read(refusal_of, tmp_path, command):
    """Missing, empty, undecided: the file's own refusals reach the person."""
    options = [] if command == "lethality" else ["--d", "1 min", "--z", "10 C"]
    path = tmp_path / "LOG.csv"

    assert "is not a file" in refusal_of(command, str(path), *options)
    path.write_text("")
    assert "is empty" in refusal_of(command, str(path), *options)
    path.write_text("time,temp\n0,70\n10,250\n")
    assert "--unit" in refusal_of(command, str(path), *options)


def test_properties_of_rye(answer_of):
    """The worked example at 60 °C, and the bed's bulk density near 700 kg/m³."""
    found = answer_of("properties", "--grain", "rye", "--moisture", "50%", "--temperature", "60 C")

    expected = {
        "density_kg_m3": (1181, 0.5),
        "specific_heat_kj_kg_k": (2.944, 0.0005),
        "conductivity_parallel_w_mk": (0.495, 0.0005),
        "conductivity_series_w_mk": (0.404, 0.0005),
        "diffusivity_parallel_m2_s": (1.43e-7, 0.005e-7),
        "bulk_density_kg_m3": (700, 2),
    }
    for key, (value, tolerance) in expected.items():
        assert found[key] == pytest.approx(value, rel=0, abs=tolerance), key


PROPERTIES = {"--grain": "rye", "--moisture": "50%", "--temperature": "60 C"}


@pytest.mark.parametrize(
    ("option", "value", "unmoved"),
    [
        ("--grain", "oats-hulled", set()),
        ("--moisture", "45%", set()),
        ("--temperature", "100 C", {"bulk_density_kg_m3"}),
    ],
)
def test_properties_follow_their_inputs(answer_of, option, value, unmoved):
    """Every key moves with every input, but that a bed is weighed cold."""
    before, after = (
        answer_of("properties", *_line(each)) for each in (PROPERTIES, PROPERTIES | {option: value})
    )

    assert {key for key in before if before[key] == after[key]} == unmoved


@pytest.mark.parametrize(
    ("option", "value", "says"),
    [
        ("--grain", "rice pudding", "rice pudding"),
        ("--moisture", "50", "percent sign"),
        ("--moisture", "120%", "100%"),
        ("--moisture", "100%", "Moisture"),
        ("--temperature", "60", "20 C"),
        ("--temperature", "200 C", "200 °C"),
        ("--temperature", "-5 C", "-5 °C"),
    ],
)
def test_properties_refuses_nonsense(refusal_of, option, value, says):
    """One sentence that names the value."""
    assert says in refusal_of("properties", *_line(PROPERTIES | {option: value}))


def test_spores_are_listed_with_their_sources(answer_of, capsys):
    """Eleven of them; each number has a work behind it."""
    found = answer_of("spores")["spores"]
    _, out, _ = run(capsys, "spores", "bacillus-laterosporus")

    assert len(found) == 11
    assert all(each["values"]["d_121_min"]["source"] for each in found)
    assert "GARRE2017" in out
