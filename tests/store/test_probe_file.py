"""The file that a probe run leaves for `sterilize`."""

from __future__ import annotations

import pytest

from spawnwright.errors import BadFile
from spawnwright.records.probe import Interval, ProbeTransport
from spawnwright.store.probe_file import read_probe, write_probe

FOUND = ProbeTransport(
    jar="quart", grain="rye", way="atmospheric", pressure_pa=96_035.0, chance_of_conduction=1e-4,
    diffusivity_m2_s=Interval(1.6e-7, 1.8e-7, 2.0e-7),
    conductivity_w_mk=Interval(0.12, 0.15, 0.18), pore_factor=Interval(0.11, 0.14, 0.17),
    pore_power=-0.2, radius_m=0.043, capacity_j_m3k=2.06e6, readings=76, fits=True,
)  # fmt: skip


def test_what_is_kept_is_read_again(tmp_path):
    """To the last digit."""
    write_probe(FOUND, tmp_path / "rye.toml")

    assert read_probe(tmp_path / "rye.toml") == FOUND


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ("version = 1", "version = 9", "has version 9"),
        ('spawnwright = "probe run"', 'spawnwright = "run log"', "no file of a probe run"),
        ("[0.12, 0.15, 0.18]", "[0.18, 0.15, 0.12]", "line 11: 'conductivity_w_mk' cannot be"),
        ("[0.11, 0.14, 0.17]", "[0.11, 0.14, 17.0]", "'pore_factor' cannot be"),
        ('way = "atmospheric"', 'way = "oven"', "'way' cannot be 'oven'"),
        ("readings = 76", "reading = 76", "unknown key 'reading'"),
        ("fits = true", "", "lacks 'fits'"),
        ("fits = true", "fits = 1", "'fits' cannot be 1"),
        ("chance_of_conduction = 0.0001", "chance_of_conduction = nan", "cannot be nan"),
    ],
)
def test_a_line_that_cannot_be_is_refused(tmp_path, was, now, said):
    """By its line, so that nobody sterilizes by a slip of the keyboard."""
    path = tmp_path / "rye.toml"
    write_probe(FOUND, path)
    text = path.read_text()
    assert was in text
    path.write_text(text.replace(was, now))

    with pytest.raises(BadFile, match=said):
        read_probe(path)


def test_a_missing_file_is_said(tmp_path):
    """With its name."""
    with pytest.raises(BadFile, match=r"none\.toml cannot be read"):
        read_probe(tmp_path / "none.toml")
