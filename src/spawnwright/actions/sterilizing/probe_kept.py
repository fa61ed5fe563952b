"""What a probe run left in its file, for a sterilizer run with that grain."""

from __future__ import annotations

from pathlib import Path

from spawnwright.errors import Contradiction
from spawnwright.records.grain import Grain
from spawnwright.records.probe import ProbeTransport
from spawnwright.store.probe_file import read_probe


def kept_probe(path: Path, grain: Grain) -> ProbeTransport:
    """How heat moves in this grain, as a probe run found it.

    Raises
    ------
    BadFile
        If it is no file of a probe run.
    Contradiction
        If the run was in another grain.
    """
    found = read_probe(path)
    if found.grain != grain.key:
        raise Contradiction(
            f"The probe run was in {found.grain} and the jars hold {grain.key}; heat moves "
            "otherwise there. Leave --probe out, or make a probe run with this grain."
        )
    return found
