"""The kit's file, `kit.toml` in the folder of the grower's own files."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from spawnwright import units
from spawnwright.errors import BadFile, NotAQuantity, Unusable
from spawnwright.records.kit import CHOICES, NAMES, Kit
from spawnwright.records.label import pages_address
from spawnwright.store.catalog import own_folder, parse_toml
from spawnwright.store.files import write_whole
from spawnwright.store.own_catalog import make_folder
from spawnwright.store.toml_lines import line_in, unknown_keys

FILE = "kit.toml"
_PLAIN_SI = {"dose_ml": 1e6}
"""Fields that are not kept in the SI unit of their kind."""


def kit_path() -> Path:
    """Where the kit's file is, or would be."""
    return own_folder() / FILE


def read_kit(path: Path | None = None) -> Kit:
    """The kit in a file; an empty one if there is none.

    Raises
    ------
    BadFile
        If a line cannot be understood; it is named.
    """
    path = path or kit_path()
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return Kit()
    except (OSError, UnicodeDecodeError) as reason:
        raise BadFile(f"{path} cannot be read: {reason}.") from reason
    table = parse_toml(text, str(path))
    unknown_keys(text, str(path), "", table, NAMES)
    try:
        return kit_of({key: str(value) for key, value in table.items()})
    except Unusable as reason:
        line = next((line_in(text, "", key) for key in table if repr(key) in str(reason)), "")
        raise BadFile(f"{path}{', ' + line if line else ''}: {reason}") from reason


def kit_of(typed: Mapping[str, str]) -> Kit:
    """The kit that lines as they were written make.

    Raises `NotAQuantity` or `Unusable`, naming the line, for one that cannot be.
    """
    values = {NAMES[key]: _value(key, text) for key, text in typed.items()}
    return Kit(**values, typed=dict(typed))


def _value(key: str, text: str) -> Any:
    name = NAMES[key]
    kind = Kit.__dataclass_fields__[name].metadata["kind"]
    if not text.strip():
        raise Unusable(f"{key!r} is empty; leave the line out instead.")
    if kind == "choice":
        if text not in CHOICES[key]:
            raise Unusable(f"{key!r} is {text!r}; it can be {' or '.join(CHOICES[key])}.")
        return text
    if kind == "text":
        if key == "time_zone":
            _check_zone(text)
        if key == "host":
            _check_host(text)
        return text
    try:
        number = units.parse_share(text) if kind == "share" else units.parse(text, kind)
    except NotAQuantity as reason:
        raise NotAQuantity(f"{key!r}: {reason}") from reason
    return number * _PLAIN_SI.get(name, 1.0)


def _check_host(text: str) -> None:
    try:
        pages_address(text)
    except Unusable as reason:
        raise Unusable(f"'host': {reason}") from reason


def _check_zone(text: str) -> None:
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    try:
        ZoneInfo(text)
    except (ZoneInfoNotFoundError, ValueError, OSError) as reason:
        raise Unusable(
            f"'time_zone' is {text!r}, which no time zone is called; write it like Europe/Lisbon."
        ) from reason


def write_kit(kit: Kit, path: Path | None = None) -> Path:
    """Write the kit's file whole, each line as it was typed; gives its path.

    What a person wrote beside the lines, such as comments, stays.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    path = path or kit_path()
    make_folder(path)
    text = path.read_text(encoding="utf-8-sig") if path.is_file() else ""
    try:
        document = tomlkit.parse(text)
    except TOMLKitError as reason:
        raise BadFile(f"{path} is not valid TOML: {reason}.") from reason
    for key in NAMES:
        if key not in kit.typed:
            document.pop(key, None)
        elif str(document.get(key)) != kit.typed[key]:
            document[key] = kit.typed[key]
    write_whole(path, tomlkit.dumps(document).encode())
    return path
