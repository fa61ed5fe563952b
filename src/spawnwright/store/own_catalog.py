"""The grower's own catalogs as files to change: one entry written, all else left as it stands."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from spawnwright.errors import BadFile
from spawnwright.records.catalog import CatalogRecord
from spawnwright.sources import OWN
from spawnwright.store import catalog
from spawnwright.store.files import write_whole

Record = TypeVar("Record", bound=CatalogRecord)


def own_path(name: str) -> Path:
    """Where the grower's own catalog `name` is, or would be."""
    return catalog.own_folder() / f"{name}.toml"


def own_entry(name: str, key: str | None) -> dict[str, Any] | None:
    """An entry of the own catalog as it stands in the file; none if there is none of that key."""
    path = own_path(name)
    if key is None or not path.is_file():
        return None
    found = catalog.parse_toml(_text(path), str(path)).get(key)
    return found if isinstance(found, dict) else None


def with_entry(name: str, key: str, lines: Mapping[str, Any]) -> str:
    """The text of the own catalog with these lines in the entry `key`, its others kept.

    Comments, order and all other entries stay as they are.

    Raises
    ------
    BadFile
        If the file cannot be read, or is no TOML.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    path = own_path(name)
    text = _text(path) if path.is_file() else ""
    try:
        document = tomlkit.parse(text)
    except TOMLKitError as reason:
        raise BadFile(f"{path} is not valid TOML: {reason}.") from reason
    if key not in document:
        document[key] = tomlkit.table()
    entry: Any = document[key]
    for line, value in lines.items():
        entry[line] = _item(value)
    return tomlkit.dumps(document)


def check_entry(name: str, key: str, text: str, record_type: type[Record]) -> Record:
    """The record that an entry of such a text makes; raises where it cannot be one."""
    shipped = catalog.shipped_catalog(record_type, name)
    records = catalog.read_records(text, record_type, str(own_path(name)), OWN, shipped)
    return records[key]


def write_catalog(name: str, text: str) -> Path:
    """Write the own catalog whole; gives its path."""
    path = own_path(name)
    make_folder(path)
    write_whole(path, text.encode())
    return path


def make_folder(path: Path) -> None:
    """Make the folder of a file of the grower's, if it is not there."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as reason:
        raise BadFile(f"{path.parent} cannot be made: {reason.strerror or reason}.") from reason


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as reason:
        raise BadFile(f"{path} cannot be read: {reason}.") from reason


def _item(value: Any) -> Any:
    """A table of a number and its spread stands on one line."""
    import tomlkit

    if not isinstance(value, Mapping):
        return value
    table = tomlkit.inline_table()
    table.update(value)
    return table
