"""What a probe run found, as a small file that `sterilize --probe` takes."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from spawnwright.errors import BadFile
from spawnwright.records.probe import Interval, ProbeTransport
from spawnwright.store.catalog import parse_toml
from spawnwright.store.files import write_whole
from spawnwright.store.toml_lines import line_in, unknown_keys

KIND, VERSION = "probe run", 1
_INTERVALS = ("diffusivity_m2_s", "conductivity_w_mk", "pore_factor")
_PLAUSIBLE = {
    "diffusivity_m2_s": (1e-8, 2e-6), "conductivity_w_mk": (0.01, 3.0), "pore_factor": (1e-3, 1.0),
    "chance_of_conduction": (0.0, 1.0), "pore_power": (-10.0, 10.0), "radius_m": (0.005, 0.5),
    "capacity_j_m3k": (1e5, 1e7), "pressure_pa": (1e4, 1e6),
}  # fmt: skip
_KEYS = (
    "spawnwright", "version", "jar", "grain", "way", "pressure_pa", "chance_of_conduction",
    "diffusivity_m2_s", "conductivity_w_mk", "pore_factor", "pore_power", "radius_m",
    "capacity_j_m3k", "readings", "fits",
)  # fmt: skip
_HEAD = """\
# How heat moves through one grower's own grain, as a probe in one jar found it.
# Give it to `sterilize --probe`. Each triple is 2.5th percentile, median, 97.5th.
"""


def write_probe(transport: ProbeTransport, path: Path) -> None:
    """Write the file, whole or not at all; an older one is replaced.

    Raises
    ------
    BadFile
        If it cannot be written.
    """
    lines = [f'spawnwright = "{KIND}"', f"version = {VERSION}"]
    for key in _KEYS[2:]:
        value = getattr(transport, key)
        if isinstance(value, Interval):
            said = f"[{value.low!r}, {value.likely!r}, {value.high!r}]"
        elif isinstance(value, bool):
            said = str(value).lower()
        elif isinstance(value, str):
            said = '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
        else:
            said = repr(value)
        lines.append(f"{key} = {said}")
    write_whole(path, (_HEAD + "\n".join(lines) + "\n").encode())


def read_probe(path: Path) -> ProbeTransport:
    """Read the file.

    Raises
    ------
    BadFile
        If it is no such file, or a line of it cannot be; the line is named.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as reason:
        raise BadFile(f"{path} cannot be read: {reason}.") from reason
    table, origin = parse_toml(text, str(path)), str(path)
    if table.get("spawnwright") != KIND:
        raise BadFile(f"{origin} is no file of a probe run; `./run probe … --save` writes one.")
    if table.get("version") != VERSION:
        raise BadFile(
            f"{origin} has version {table.get('version')!r}; this program reads {VERSION}."
        )
    unknown_keys(text, origin, "", table, _KEYS)
    for key in _KEYS:
        if key not in table:
            raise BadFile(f"{origin} lacks {key!r}; run the probe's readings through again.")
    values = {key: _value(text, origin, key, table[key]) for key in _KEYS[2:]}
    if values["way"] not in ("atmospheric", "canner"):
        raise _bad(text, origin, "way", values["way"])
    return ProbeTransport(**values)


def _value(text: str, origin: str, key: str, value: Any) -> Any:
    if key in ("jar", "grain", "way"):
        wanted = isinstance(value, str)
    elif key == "fits":
        wanted = isinstance(value, bool)
    elif key == "readings":
        wanted = isinstance(value, int) and not isinstance(value, bool) and value > 0
    elif key in _INTERVALS:
        wanted = isinstance(value, list) and len(value) == 3
        wanted = wanted and all(_is_plausible(key, each) for each in value)
        wanted = wanted and value[0] < value[1] < value[2]
        value = Interval(*map(float, value)) if wanted else value
    else:
        wanted = _is_plausible(key, value)
        value = float(value) if wanted else value
    if not wanted:
        raise _bad(text, origin, key, value)
    return value


def _is_plausible(key: str, value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        return False
    low, high = _PLAUSIBLE[key]
    return low <= value <= high


def _bad(text: str, origin: str, key: str, value: Any) -> BadFile:
    return BadFile(
        f"{origin}, {line_in(text, '', key)}: {key!r} cannot be {value!r}; run the probe's "
        "readings through again."
    )
