"""Catalogs: grains, jars, canners and species, shipped ones and the grower's own.

Shipped catalogs are `data/<catalog>.toml`; the grower's own are `<catalog>.toml` in the folder
that `own_folder` names, in the same form, and win over shipped entries of the same key.
A quantity is written "43 mm", or as a table with its spread and source:
`{ value = "43 mm", low = "42 mm", high = "44 mm", source = "KEY", where = "table 2" }`.
An own entry may say `like = "rye"` and give only what differs. A name that two shipped entries
share must be asked for in full.
"""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Iterable
from dataclasses import MISSING, Field, fields, replace
from difflib import get_close_matches
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar, cast

from spawnwright import units
from spawnwright.errors import AmbiguousName, BadFile, NotAQuantity, UnknownName
from spawnwright.records.catalog import CatalogRecord
from spawnwright.sources import OWN, Constant, Estimate

Record = TypeVar("Record", bound=CatalogRecord)
_NUMBER_KEYS = {"value", "low", "high", "unit", "source", "where"}


def own_folder() -> Path:
    """Where the grower's own files lie: `SPAWNWRIGHT_HOME`, else the platform's data folder."""
    named = os.environ.get("SPAWNWRIGHT_HOME")
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_data_dir("spawnwright", appauthor=False))


def catalog(record_type: type[Record], name: str) -> dict[str, Record]:
    """All records of a catalog by key, shipped ones first, then the grower's own."""
    records = _shipped(record_type, name)
    own = own_folder() / f"{name}.toml"
    return records | read_file(own, record_type, records) if own.is_file() else records


_SHIPPED: dict[str, dict[str, Any]] = {}


def _shipped(record_type: type[Record], name: str) -> dict[str, Record]:
    if name not in _SHIPPED:
        file = files("spawnwright").joinpath("data", f"{name}.toml")
        text = file.read_text(encoding="utf-8")
        _SHIPPED[name] = read_records(text, record_type, f"{name}.toml", "")
    return _SHIPPED[name]


def shipped_catalog(record_type: type[Record], name: str) -> dict[str, Record]:
    """The shipped records of a catalog by key, whatever the grower's own file says."""
    return dict(_shipped(record_type, name))


def find(record_type: type[Record], name: str, wanted: str) -> Record:
    """The record of catalog `name` that `wanted` names, or that a TOML file of that path holds."""
    shipped = _shipped(record_type, name)
    if wanted.lower().endswith(".toml"):
        return _only(read_file(Path(wanted), record_type, shipped), wanted)
    records = catalog(record_type, name)
    kind = name.removesuffix("s") if name != "species" else name
    found = _named(records, wanted)
    own = [each for each in found if shipped.get(each.key) is not each]
    if len(own or found) > 1:
        raise AmbiguousName(kind, wanted, tuple(each.key for each in own or found))
    if not found:
        raise UnknownName(
            kind,
            wanted,
            _nearest(wanted, records),
            f"`./run {name}` lists all; a TOML file of your own is taken as well.",
        )
    return (own or found)[0]


def _named(records: dict[str, Record], wanted: str) -> list[Record]:
    name = simplified(wanted)
    by_key = [each for each in records.values() if simplified(each.key) == name]
    return by_key or [each for each in records.values() if name in map(simplified, each.names)]


def read_file(
    path: Path, record_type: type[Record], shipped: dict[str, Record] | None = None
) -> dict[str, Record]:
    """The records of one of the grower's own files; `like` takes the rest from `shipped`."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as reason:
        raise BadFile(f"{path} cannot be read: {reason}.") from reason
    return read_records(text, record_type, str(path), OWN, shipped)


def read_records(
    text: str,
    record_type: type[Record],
    origin: str,
    source: str,
    shipped: dict[str, Record] | None = None,
) -> dict[str, Record]:
    """The records in a TOML text; `source` is that of numbers which name none."""
    table = parse_toml(text, origin)
    reader = _Reader(text, origin, source)
    return {
        key: reader.record(key, value, record_type, shipped or {}) for key, value in table.items()
    }


def record_within(
    key: str, table: dict[str, Any], record_type: type[Record], name: str, text: str, origin: str
) -> Record:
    """The record of catalog `name` that stands as a table within another file of the grower's."""
    shipped = _shipped(record_type, name)
    return _Reader(text, origin, OWN).record(key, table, record_type, shipped)


def parse_toml(text: str, origin: str) -> dict[str, Any]:
    """The TOML text as a table; what is wrong is said with its line."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as reason:
        raise BadFile(f"{origin} is not valid TOML: {reason}.") from reason


def line_of(text: str, key: str, within: str = "") -> str:
    """The line, as "line 12", of a key below the table head that names `within`."""
    start = 0
    if within:
        head = re.search(rf"^\s*\[+[^\]\n]*{re.escape(within)}[^\]\n]*\]", text, re.MULTILINE)
        start = head.end() if head else 0
    found = re.compile(
        rf"""(?:^|[{{,])\s*(?:["']?){re.escape(key)}(?:["']?)\s*=|^\s*\[+.*{re.escape(key)}""",
        re.MULTILINE,
    ).search(text, start)
    if found is None:
        return "line 1"
    place = found.start() + len(found[0]) - len(found[0].lstrip())
    return f"line {text.count(chr(10), 0, place) + 1}"


def unknown_key(text: str, origin: str, key: str, known: Iterable[str], within: str) -> BadFile:
    """The error for a key that nothing reads, with the nearest one that something does."""
    near = get_close_matches(key, list(known), 1)
    offer = f"; did you mean {near[0]!r}?" if near else f"; known here: {', '.join(sorted(known))}."
    return BadFile(
        f"{origin}, {line_of(text, key, within)}: unknown key {key!r} in {within!r}{offer}"
    )


class _Reader:
    """Reads records from one file, and names the line of whatever is wrong."""

    def __init__(self, text: str, origin: str, source: str) -> None:
        self.text, self.origin, self.source = text, origin, source

    def record(
        self, key: str, table: Any, record_type: type[Record], shipped: dict[str, Record]
    ) -> Record:
        if not isinstance(table, dict):
            raise BadFile(
                f"{self.origin}, {line_of(self.text, key)}: {key!r} stands outside a [table]."
            )
        base = self.base(key, table, shipped)
        form = record_type.form_with(frozenset(table))
        by_key: dict[str, Field[Any]] = {
            each.metadata["key"]: each for each in fields(form) if "key" in each.metadata
        }
        values = {"names": ()} if self.source == OWN else {}
        for given, value in table.items():
            if given == "like":
                continue
            if given not in by_key:
                raise unknown_key(self.text, self.origin, given, {*by_key, "like"}, key)
            values[by_key[given].name] = self.value(value, by_key[given], given, key)
        if base is not None:
            return replace(base, key=key, **values)
        missing = [
            name
            for name, each in by_key.items()
            if each.name not in values and each.default is MISSING
        ]
        if missing:
            raise BadFile(
                f"{self.origin}, {line_of(self.text, key)}: {key!r} lacks {', '.join(missing)}."
            )
        made: Any = form(key=key, **values).settled()
        return cast(Record, made)

    def base(self, key: str, table: dict[str, Any], shipped: dict[str, Record]) -> Record | None:
        if "like" not in table:
            return None
        like = str(table["like"])
        found = _named(shipped, like)
        if len(found) != 1:
            offer = tuple(each.key for each in found) or _nearest(like, shipped)
            raise BadFile(
                f"{self.place('like', key)}: there is no entry {like!r} to be like"
                f"{'; did you mean ' + ' or '.join(offer) + '?' if offer else '.'}"
            )
        return found[0]

    def value(self, value: Any, field: Field[Any], name: str, within: str) -> Any:
        kind = field.metadata["kind"]
        try:
            if kind == "text" and isinstance(value, str):
                return value
            if kind == "flag" and isinstance(value, bool):
                return value
            if kind == "texts" and isinstance(value, list):
                return tuple(str(each) for each in value)
            if kind not in ("text", "texts", "flag"):
                return self.number(value, field, name, within)
        except NotAQuantity as reason:
            raise BadFile(f"{self.place(name, within)}: {reason}") from reason
        raise BadFile(f"{self.place(name, within)}: {value!r} is no {kind}.")

    def number(self, value: Any, field: Field[Any], name: str, within: str) -> Constant:
        kind = field.metadata["kind"]
        table = value if isinstance(value, dict) else {"value": value}
        for given in table:
            if given not in _NUMBER_KEYS:
                raise unknown_key(self.text, self.origin, given, _NUMBER_KEYS, name)
        if "value" not in table:
            raise BadFile(f"{self.place(name, within)}: the table has no 'value'.")
        unit = (
            units.KINDS[kind].unit
            if kind in units.KINDS
            else str(table.get("unit") or field.metadata.get("unit") or "-")
        )
        source = str(table.get("source", self.source))
        where = str(table.get("where", "" if source != OWN else self.origin))
        number = quantity(table["value"], kind)
        if "low" in table or "high" in table:
            low, high = (quantity(table.get(end, table["value"]), kind) for end in ("low", "high"))
            if not low <= number <= high:
                raise BadFile(f"{self.place(name, within)}: low, value and high must rise.")
            return Estimate(number, unit, low=low, high=high, source=source, where=where)
        return Constant(number, unit, source=source, where=where)

    def place(self, name: str, within: str) -> str:
        return f"{self.origin}, {line_of(self.text, name, within)}, {name!r}"


def quantity(value: Any, kind: str) -> float:
    """A quantity from a TOML value: text with a unit, or a number where none is needed."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise NotAQuantity(f"{value!r} is not a quantity.")
    if kind == "plain":
        return units.parse_plain(repr(value) if not isinstance(value, str) else value, "a number")
    if kind == "share":
        return units.parse_share(str(value))
    return units.parse(str(value), kind)


def simplified(name: str) -> str:
    """A name without case, spaces, hyphens and dots (but decimal points), for comparing."""
    return re.sub(r"[\s_\-]+|(?<!\d)\.|\.(?!\d)", "", name).casefold()


def _nearest(wanted: str, records: dict[str, Record]) -> tuple[str, ...]:
    by_name = {
        simplified(each): record
        for record in records.values()
        for each in (record.key, *record.names)
    }
    near = get_close_matches(simplified(wanted), by_name, 6, 0.5)
    keys = dict.fromkeys(by_name[each].key for each in near)
    return tuple(keys)[:3]


def _only(records: dict[str, Record], origin: str) -> Record:
    if len(records) != 1:
        raise BadFile(f"{origin} holds {len(records)} entries; one is needed here.")
    return next(iter(records.values()))
