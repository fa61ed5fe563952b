"""`probe` and `sterilize --probe`: keys, refusals, cautions, what carries over."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from spawnwright import cli
from spawnwright.model.heat.bed import Bed
from spawnwright.model.probe.curves import Places, VesselCurve, conduction_curves

USUAL = {
    "--column": "core (C)", "--jar": "quart", "--fill": "70%", "--grain": "rye",
    "--way": "atmospheric", "--steam-after": "14 min", "--elevation": "450 m",
}  # fmt: skip
EXAMPLE = "docs/examples/probe.csv"


def run(capsys, *words):
    with pytest.raises(SystemExit) as end:
        cli.main(list(words))
    written = capsys.readouterr()
    return int(end.value.code or 0), written.out, written.err


def words(change=None, log=EXAMPLE):
    asked = {name: value for name, value in (USUAL | (change or {})).items() if value is not None}
    return ["probe", str(log), *(part for pair in asked.items() for part in pair)]


@pytest.fixture
def canner_log(tmp_path):
    """Grain that smears, in the canner at 15 psi: α 1.3e-7 by conduction, heat off at 2.5 h."""
    time = np.arange(0.0, 181 * 60.0, 60.0)
    steam = np.interp(time / 60, [0, 15, 25, 30, 150, 180], [18, 98.5, 98.5, 120.2, 120.2, 95])
    bed = Bed(0.0425, 0.114, 240.0, 240.0, 5.0, 2.06e6)
    vessel = VesselCurve(time, steam, np.full_like(time, 2e5))
    core = conduction_curves(bed, 1.3e-7, 18.0, vessel, Places(np.array([0.53]), np.array([0.1])))
    read = core[0, 0] + 0.1 * np.random.default_rng(4).standard_normal(time.size)
    path = tmp_path / "canner.csv"
    path.write_text(
        "minutes,core C,steam C\n"
        + "".join(
            f"{t / 60:g},{c:.2f},{s:.2f}\n" for t, c, s in zip(time, read, steam, strict=True)
        )
    )
    return path


IN_CANNER = {
    "--way": "canner", "--gauge": "15 psi", "--column": "core C", "--steam-after": "15 min",
    "--pressure-after": "30 min", "--heat-off": "2 h 30 min",
}  # fmt: skip


def test_an_atmospheric_run_gives_what_carries_over_and_no_diffusivity(capsys):
    """The example was made with k0 0.17 W/(m K) and η 0.13; vapor at 1 bar is not that at 2."""
    code, out, _ = run(capsys, *words(), "--json")
    found = json.loads(out)

    assert code == 0
    assert found["fits"] is True
    assert found["diffusivity_m2_s"] is None
    assert found["chance_of_conduction"] < 0.001
    for key, truth in (("dry_conductivity_w_mk", 0.17), ("pore_factor", 0.13)):
        assert found[key]["low"] < truth < found[key]["high"]
    assert len(found["residual_c"]) == len(found["time_min"]) == len(found["fitted_c"])
    assert found["measured_at_kpa"] == pytest.approx(96.0, abs=0.1)
    before, after = found["f0_total_before_min"], found["f0_total_after_min"]
    assert after["high"] - after["low"] < before["high"] - before["low"]
    assert any("gasket" in each for each in found["cautions"])


def test_a_canner_run_gives_a_diffusivity_at_its_pressure(capsys, canner_log):
    """Conduction alone: α, and fh and j as a conducting cylinder has them."""
    code, out, err = run(capsys, *words(IN_CANNER, canner_log), "--json")
    found = json.loads(out)

    assert code == 0, err
    assert found["likelier"] == "conduction"
    assert found["chance_of_conduction"] > 0.9
    assert found["diffusivity_m2_s"]["low"] < 1.3e-7 < found["diffusivity_m2_s"]["high"]
    assert 80 < found["fh_min"]["likely"] < 115
    assert 1.3 < found["j"]["likely"] < 2.2
    assert found["measured_at_kpa"] == pytest.approx(96.0 + 103.4, abs=0.2)


def test_a_second_sensor_in_the_steam_narrows_it(capsys):
    """Then nobody has to remember when the steam was there."""
    widths = []
    for more in ({}, {"--vessel-column": "steam (C)"}):
        _, out, err = run(capsys, *words({"--steam-after": None} | more), "--json")
        found = json.loads(out)["pore_factor"]
        widths.append((found["high"] - found["low"]) / found["likely"])
        assert ("Nobody said" in err) is not bool(more)

    assert widths[1] < widths[0]


def test_the_caution_stands_at_the_entry_and_in_the_answer(capsys, tmp_path):
    """Before anybody drills a lid; on the page as well, which is one page."""
    from pypdf import PdfReader

    _, helped, _ = run(capsys, "probe", "--help")
    _, said, _ = run(capsys, *words(), "--pdf", str(tmp_path / "probe.pdf"))
    pages = PdfReader(tmp_path / "probe.pdf").pages
    on_paper = " ".join(pages[0].extract_text().split())

    assert len(pages) == 1
    assert "Probe run: probe.csv" in on_paper
    assert "never a drilled lid" in on_paper.lower().replace("- ", "")
    assert "readings less the curve" in on_paper

    for text in (helped, said):
        plain = " ".join(text.split())
        assert "never a wire under the gasket" in plain.lower()
        assert "drilled lid" in plain
        assert "140" in plain
    assert "not immersed" in " ".join(said.split())
    assert said.index("gasket") < said.index("Does it fit?")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"--way": "canner"}, "--way canner needs --gauge"),
        ({"--gauge": "15 psi"}, "--gauge belongs to --way canner"),
        ({"--pressure-after": "20 min"}, "--pressure-after belongs to --way canner"),
        ({"--steam-after": "2 h"}, "before full steam"),
        ({"--elevation": "4000 m"}, "The readings reach"),
        ({"--probe-depth": "30 cm"}, "the grain is about 11.4 cm deep"),
        ({"--heat-off": "4 min"}, "Only 5 readings"),
        ({"--heat-off": "30 min"}, "of the way from 20"),
        ({"--column": "steam (C)", "--start": "95 C"}, "has to begin below 90"),
    ],
)
def test_what_cannot_be_is_refused(capsys, change, said):
    """One sentence, exit 2, nothing on standard output."""
    code, out, err = run(capsys, *words(change))

    assert (code, out) == (2, "")
    assert said in " ".join(err.split())


def test_cooling_in_the_file_needs_the_moment_of_heat_off(capsys, canner_log, tmp_path):
    """Or it would be fitted as heating: a slow core still warms when the steam falls."""
    code, _, err = run(capsys, *words(IN_CANNER | {"--heat-off": None}, canner_log))
    assert (code, "--way canner needs --heat-off" in err) == (2, True)

    cooled = tmp_path / "cooled.csv"
    cooled.write_text(Path(EXAMPLE).read_text(encoding="utf-8") + "76,95.0,97\n77,91.0,93\n")
    code, _, err = run(capsys, *words({}, cooled))
    assert (code, "the cooling is in the file" in err) == (2, True)


def test_what_is_saved_changes_sterilize(capsys, tmp_path):
    """The band of a real run is narrower with the file than without, and its inputs say whence."""
    kept = tmp_path / "rye.toml"
    code, _, err = run(capsys, *words(), "--save", str(kept))
    assert code == 0
    assert f"Written: {kept}" in err
    load = ["sterilize", "--jar", "quart", "--fill", "70%", "--jars", "7", "--grain", "rye",
            "--start", "20 C", "--gauge", "15 psi", "--elevation", "450 m", "--hold", "90 min",
            "--explain", "--json"]  # fmt: skip

    without = json.loads(run(capsys, *load)[1])
    with_it = json.loads(run(capsys, *load, "--probe", str(kept))[1])

    bands = [each["f0_total_min"] for each in (with_it, without)]
    assert bands[0]["high"] - bands[0]["low"] < 0.7 * (bands[1]["high"] - bands[1]["low"])
    assert with_it["chance_of_survivor"] < without["chance_of_survivor"]
    pores = next(each for each in with_it["inputs"] if each["name"] == "open_pore_factor")
    assert "a probe run in a quart jar of rye" in pores["source"]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("--grain", "wheat"), "The probe run was in rye"),
        (("--transport", "conduction", "--diffusivity", "1.5e-7"), "together with --transport"),
        (("--spoiled",), "together with --spoiled"),
    ],
)
def test_a_probe_run_counts_for_its_grain_only(capsys, tmp_path, change, said):
    """Not for another grain, a pinned transport, or jars that nobody can look into."""
    from spawnwright.store.probe_file import write_probe
    from tests.store.test_probe_file import FOUND

    write_probe(FOUND, tmp_path / "rye.toml")
    code, _, err = run(
        capsys, "sterilize", "--jar", "quart", "--fill", "70%", "--jars", "7", "--grain", "rye",
        "--start", "20 C", "--gauge", "15 psi", "--elevation", "450 m",
        "--probe", str(tmp_path / "rye.toml"), *change,
    )  # fmt: skip

    assert code == 2
    assert said in " ".join(err.split())


def test_a_run_that_does_not_fit_says_so_and_is_not_kept(capsys, tmp_path):
    """Readings half way between grain and steam: steam streams past the probe."""
    lines = Path(EXAMPLE).read_text(encoding="utf-8").splitlines()
    cells = [line.split(",") for line in lines[2:]]
    path = tmp_path / "channel.csv"
    path.write_text(
        "time (min),core (C)\n"
        + "".join(f"{t},{(float(a) + float(b)) / 2:.1f}\n" for t, a, b in cells)
    )

    code, out, _ = run(capsys, *words({}, path), "--json")
    found = json.loads(out)

    assert code == 0
    assert found["fits"] is False
    assert found["misfits"]
    assert found["hold_after_min"] is None
    code, _, err = run(capsys, *words({}, path), "--save", str(tmp_path / "no.toml"))
    assert code == 2
    assert "nothing to keep" in err
    assert not (tmp_path / "no.toml").exists()
