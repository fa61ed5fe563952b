"""The scenario of the demo's season, `season.toml`: read in units, refused with the line."""

from __future__ import annotations

from dataclasses import MISSING, fields
from pathlib import Path
from typing import Any

from spawnwright import units
from spawnwright.errors import BadFile, Unusable
from spawnwright.records.season import Season, SeasonBatch, SeasonCulture
from spawnwright.store.catalog import parse_toml
from spawnwright.store.toml_lines import line_in, unknown_keys

_QUANTITIES = {
    "volume": ("volume_ml", "volume", 1e6), "dose": ("dose_ml", "volume", 1e6),
    "elevation": ("elevation_m", "elevation", 1.0), "gauge": ("gauge_pa", "gauge pressure", 1.0),
    "hold": ("hold_min", "duration", 1 / 60), "shelf": ("shelf_c", "temperature", 1.0),
}  # fmt: skip
"""Lines that have a unit: the field they set, the kind, and what SI is multiplied by."""


def read_season(path: Path) -> Season:
    """The season in a file.

    Raises
    ------
    BadFile
        If it cannot be read, or a line of it cannot be; the line is named.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as reason:
        raise BadFile(f"{path} cannot be read: {reason}.") from reason
    table = parse_toml(text, str(path))
    parts = {"culture": SeasonCulture, "batch": SeasonBatch}
    found = {
        name: tuple(
            _record(kind, each, text, str(path), name, place)
            for place, each in enumerate(table.pop(name, []))
        )
        for name, kind in parts.items()
    }
    season: Season = _record(
        Season, table, text, str(path), "", 0, cultures=found["culture"], batches=found["batch"]
    )
    _check(season, path)
    return season


def _record(
    kind: type[Any], table: dict[str, Any], text: str, origin: str, within: str, place: int,
    **given: Any,
) -> Any:  # fmt: skip
    by_line = {_line_of(each.name): each for each in fields(kind) if each.name not in given}
    unknown_keys(text, origin, within, table, by_line, place)
    values = dict(given)
    for key, value in table.items():
        try:
            values[by_line[key].name] = _value(key, value, str(by_line[key].type))
        except Unusable as reason:
            line = line_in(text, within, key, place)
            raise BadFile(f"{origin}, {line}, {key!r}: {reason}") from reason
    lacking = [line for line, each in by_line.items()
               if each.default is MISSING and each.name not in values]  # fmt: skip
    if lacking:
        where = f"the {within} number {place + 1}" if within else "the file"
        raise BadFile(f"{origin}: {where} lacks {', '.join(lacking)}.")
    return kind(**values)


def _line_of(name: str) -> str:
    return next((line for line, (field, *_) in _QUANTITIES.items() if field == name), name)


def _value(key: str, value: Any, wanted: str) -> Any:
    if key in _QUANTITIES:
        _, kind, factor = _QUANTITIES[key]
        return units.parse(str(value), kind) * factor
    if key == "fill":
        return units.parse_share(str(value))
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if wanted.startswith("int") and not (isinstance(value, int) and is_number and value >= 0):
        raise Unusable(f"{value!r} is no whole number from 0 up.")
    if wanted.startswith("float") and not (is_number and value >= 0):
        raise Unusable(f"{value!r} is no number from 0 up.")
    if wanted.startswith("bool") and not isinstance(value, bool):
        raise Unusable(f"{value!r} is neither true nor false.")
    if wanted.startswith("str") and not (isinstance(value, str) and value.strip()):
        raise Unusable(f"{value!r} is no text.")
    return value


def _check(season: Season, path: Path) -> None:
    cultures = {each.key for each in season.cultures}
    seen: set[str] = set()
    for culture in season.cultures:
        if culture.parent is not None and culture.parent not in cultures:
            raise BadFile(f"{path}: culture {culture.key!r} comes from {culture.parent!r}, which "
                          "is no culture of the file.")  # fmt: skip
    for batch in season.batches:
        origins = (batch.culture is None) + (batch.from_batch is None)
        if origins != 1:
            raise BadFile(f"{path}: batch {batch.key!r} needs a culture or a from_batch, not both.")
        if batch.culture is not None and batch.culture not in cultures:
            raise BadFile(f"{path}: batch {batch.key!r} is from {batch.culture!r}, which is no "
                          "culture of the file.")  # fmt: skip
        if batch.from_batch is not None and batch.from_batch not in seen:
            raise BadFile(f"{path}: batch {batch.key!r} is from {batch.from_batch!r}, which is no "
                          "batch above it.")  # fmt: skip
        if batch.spoiled + batch.stalled + batch.given_away + batch.controls > batch.jars:
            raise BadFile(f"{path}: batch {batch.key!r} has {batch.jars} jars, fewer than become "
                          "something in particular.")  # fmt: skip
        seen.add(batch.key)
