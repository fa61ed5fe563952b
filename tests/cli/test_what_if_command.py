"""`what-if`: the table in JSON and on a page, for the options or the grower's own kit."""

from __future__ import annotations

import json

import pytest

from spawnwright import cli
from spawnwright.actions.own_kit.kit import change_kit

ASKED = ("what-if", "--grain-state", "smears", "--vary", "fill")


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A folder of one's own, empty."""
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))
    return tmp_path


def main(capsys, *arguments: str) -> tuple[int, str, str]:
    """Run the command line in this process: exit code, standard output, standard error."""
    with pytest.raises(SystemExit) as end:
        cli.main(list(arguments))
    written = capsys.readouterr()
    return int(end.value.code or 0), written.out, written.err


def test_the_kit_s_run_stands_in_the_middle(capsys, tmp_path):
    """And the page is written beside; progress and what was taken go to standard error."""
    change_kit({"elevation": "800 m", "jar": "pint", "fill": "2/3", "canner": "one-layer",
                "grain": "millet-hulled", "gauge": "10 psi"})  # fmt: skip
    pdf = tmp_path / "table.pdf"

    code, out, err = main(capsys, *ASKED, "--pdf", str(pdf), "--json")

    found = json.loads(out)
    assert code == 0
    assert "pint jars of millet" in found["run"]
    assert "67 % full" in found["run"]
    assert "10 psi" in found["run"]
    assert "canner one-layer" in found["run"]
    own = [row for row in found["fill"] if row["is_own"]]
    assert [row["value"] for row in own] == [pytest.approx(2 / 3, abs=1e-4)]
    assert {"low", "likely", "high"} == set(own[0]["f0_total_min"])
    assert own[0]["customary_hold_min"] == {"low": 60.0, "high": 90.0}
    assert "elevation_m" not in found
    assert "From your kit: jar pint" in err
    assert "Working out" in err
    assert pdf.read_bytes().startswith(b"%PDF")


def test_a_page_that_cannot_be_written_is_refused_before_the_work(capsys, tmp_path):
    """Not after ten seconds."""
    code, out, err = main(capsys, *ASKED, "--pdf", str(tmp_path / "no" / "table.pdf"))

    assert (code, out) == (2, "")
    assert "There is no folder" in err
    assert "Working out" not in err
