"""Sheets of labels: the shipped grids, and the grower's own in the same form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from difflib import get_close_matches
from importlib.resources import files
from pathlib import Path
from typing import Any

from spawnwright import units
from spawnwright.errors import BadFile, NotAQuantity, UnknownName, Unusable
from spawnwright.records.label import LabelSheet
from spawnwright.sources import OWN
from spawnwright.store.catalog import own_folder, parse_toml, simplified
from spawnwright.store.toml_lines import line_in, unknown_keys

FILE = "label_sheets.toml"
LENGTHS = ("width", "height", "left", "top", "gap_x", "gap_y")
_COUNTS = ("columns", "rows")
_TEXTS = ("source", "where")
_OPTIONAL = ("gap_x", "gap_y", *_TEXTS)
_KEYS = ("paper", *_COUNTS, *LENGTHS, *_TEXTS)


def label_sheets() -> dict[str, LabelSheet]:
    """All sheets by key, shipped ones first; the grower's own win."""
    shipped = _shipped()
    own = own_folder() / FILE
    return shipped | read_sheets(own, shipped) if own.is_file() else shipped


def sheet_named(wanted: str) -> LabelSheet:
    """The sheet of that key, or the one in a TOML file of that path.

    Raises
    ------
    UnknownName
        If there is none; the nearest keys are offered.
    BadFile
        If a file cannot be read as sheets, or holds more than one.
    """
    if wanted.lower().endswith(".toml"):
        found = read_sheets(Path(wanted).expanduser(), _shipped())
        if len(found) != 1:
            raise BadFile(f"{wanted} holds {len(found)} sheets of labels; one is needed here.")
        return next(iter(found.values()))
    sheets = label_sheets()
    by_name = {simplified(key): sheet for key, sheet in sheets.items()}
    name = simplified(wanted)
    if name not in by_name:
        near = tuple(by_name[each].key for each in get_close_matches(name, by_name, 3, 0.5))
        raise UnknownName(
            "label sheet", wanted, near,
            "`./run labels --sheets` lists all; a TOML file of your own is taken as well.",
        )  # fmt: skip
    return by_name[name]


def changed_sheet(sheet: LabelSheet, changes: Mapping[str, Any]) -> LabelSheet:
    """A sheet with some of its columns, rows, paper and lengths [m] replaced by the grower's own.

    Raises `Unusable` where the page does not hold what comes of it.
    """
    if not changes:
        return sheet
    fields = {f"{key}_m" if key in LENGTHS else key: value for key, value in changes.items()}
    where = f"{sheet.key}, with {', '.join(changes)} as asked"
    return replace(sheet, **{"source": OWN, "where": where, **fields})


def read_sheets(path: Path, shipped: Mapping[str, LabelSheet]) -> dict[str, LabelSheet]:
    """The sheets in one of the grower's own files; `like` takes the rest from `shipped`."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as reason:
        raise BadFile(f"{path} cannot be read: {reason}.") from reason
    return _sheets_in(text, str(path), shipped)


def _shipped() -> dict[str, LabelSheet]:
    file = files("spawnwright").joinpath("data", FILE)
    return _sheets_in(file.read_text(encoding="utf-8"), FILE, {})


def _sheets_in(text: str, origin: str, shipped: Mapping[str, LabelSheet]) -> dict[str, LabelSheet]:
    found = {}
    for key, table in parse_toml(text, origin).items():
        if not isinstance(table, dict):
            raise BadFile(f"{origin}, {line_in(text, '', key)}: {key!r} stands outside a [table].")
        unknown_keys(text, origin, key, table, (*_KEYS, "like"))
        try:
            found[key] = _sheet(key, table, shipped)
        except Unusable as reason:
            if isinstance(reason, BadFile):
                raise
            line = next(
                (line_in(text, key, name) for name in table if repr(name) in str(reason)),
                line_in(text, "", key),
            )
            raise BadFile(f"{origin}, {line}: {reason}") from reason
    return found


def _sheet(key: str, table: Mapping[str, Any], shipped: Mapping[str, LabelSheet]) -> LabelSheet:
    values = {
        f"{name}_m" if name in LENGTHS else name: _value(name, value)
        for name, value in table.items()
        if name != "like"
    }
    values.setdefault("source", OWN)
    values.setdefault("where", "measured at home" if values["source"] == OWN else "")
    if "like" in table:
        like = str(table["like"])
        if like not in shipped:
            raise UnknownName("label sheet", like, tuple(get_close_matches(like, shipped, 3, 0.5)))
        return replace(shipped[like], key=key, **values)
    missing = [name for name in _KEYS if name not in table and name not in _OPTIONAL]
    if missing:
        raise Unusable(f"The sheet {key!r} lacks {', '.join(missing)}.")
    return LabelSheet(key=key, **values)


def _value(name: str, value: Any) -> Any:
    if name in LENGTHS:
        try:
            return units.parse(str(value), "length", zero_needs_no_unit=True)
        except NotAQuantity as reason:
            raise NotAQuantity(f"{name!r}: {reason}") from reason
    if name in _COUNTS:
        if isinstance(value, bool) or not isinstance(value, int):
            raise Unusable(f"{name!r} is {value!r}; a whole number is needed.")
        return value
    if name == "paper" and value not in ("A4", "Letter"):
        raise Unusable(f"{name!r} is {value!r}; it can be 'A4' or 'Letter'.")
    return str(value)
