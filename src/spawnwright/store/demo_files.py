"""The demo's scenario, laid out in a folder where it can be changed."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from spawnwright.errors import BadFile
from spawnwright.store.files import write_whole

SCENARIO = ("wish.toml", "canner-run.csv", "season.toml", "notes.md")


def lay_out(folder: Path) -> tuple[str, ...]:
    """Put the scenario's files into a folder, made if need be; those already there are kept.

    Returns the names of the kept ones that differ from the shipped: somebody has changed them.
    Raises `BadFile` if the folder cannot be made or written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as reason:
        raise BadFile(f"{folder} cannot be made a folder: {reason.strerror or reason}.") from reason
    changed = []
    for name in SCENARIO:
        shipped = files("spawnwright").joinpath("data", "demo", name).read_bytes()
        file = folder / name
        if not file.exists():
            write_whole(file, shipped)
        elif not file.is_file() or file.read_bytes() != shipped:
            changed.append(name)
    return tuple(changed)
