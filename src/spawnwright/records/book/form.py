"""What a record of the book may say: columns, and the check of what is to be kept.

Values are kept as JSON has them. An instant is UTC text, `2026-11-25T10:17:18.000000Z`, so that it
sorts; a day is `2026-11-25`; a reference is the id of another record. A document is a long text,
kept whole: a wish, a plan. A picture is named by the SHA-256 of its bytes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass, field, fields
from datetime import UTC, date, datetime
from difflib import get_close_matches
from math import isfinite
from typing import Any, ClassVar

from spawnwright.errors import Unusable

LONGEST_TEXT = 4000
LONGEST_DOCUMENT = 1_000_000
LONGEST_SERIES = 200_000
ID = re.compile(r"[0-9A-Za-z_-]{6,64}")
DIGEST = re.compile(r"[0-9a-f]{64}")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")
TYPES = frozenset(
    {
        "text", "number", "count", "flag", "instant", "day", "reference", "series", "document",
        "picture",
    }
)  # fmt: skip


def column(
    type_: str = "text",
    *,
    required: bool = False,
    of: str = "",
    choices: tuple[str, ...] = (),
    low: float | None = None,
    high: float | None = None,
) -> Any:
    """A column of a kind of record.

    Parameters
    ----------
    type_ : str
        One of `TYPES`.
    required : bool
        Whether a record cannot be without it.
    of : str
        The kind that a reference leads to; empty for any kind.
    choices : tuple of str
        All that a text may be.
    low, high : float, optional
        Limits of a number or count, in the unit that the column's name ends with.
    """
    assert type_ in TYPES, type_
    told = {"type": type_, "required": required, "of": of, "choices": choices}
    default: Any = MISSING if required else None
    return field(default=default, metadata=told | {"low": low, "high": high})


@dataclass(frozen=True, kw_only=True)
class BookRecord:
    """A record of one kind as it is now; `id` is 16 hexadecimal digits made where it was entered.

    `LINKS` are the columns through which one record comes from another: (from, to), where "id"
    is the record itself.
    """

    KIND: ClassVar[str]
    TABLE: ClassVar[str]
    LINKS: ClassVar[tuple[tuple[str, str], ...]] = ()

    id: str = ""

    def check(self) -> None:
        """Refuse what no single column shows to be wrong."""


def columns(kind: type[BookRecord]) -> dict[str, Field[Any]]:
    """The columns of a kind by name, without the id."""
    return {each.name: each for each in fields(kind) if "type" in each.metadata}


def references(kind: type[BookRecord]) -> dict[str, str]:
    """The columns that lead to another record, with the kind that they lead to."""
    return {
        name: each.metadata["of"]
        for name, each in columns(kind).items()
        if each.metadata["type"] == "reference"
    }


def pictures_in(kind: type[BookRecord]) -> list[str]:
    """The columns that name a picture."""
    return [name for name, each in columns(kind).items() if each.metadata["type"] == "picture"]


def checked(kind: type[BookRecord], given: Mapping[str, Any]) -> dict[str, Any]:
    """The given values as they are kept; raises `Unusable` for one that cannot be.

    None is taken for every column that is not required, and clears it.
    """
    known = columns(kind)
    kept: dict[str, Any] = {}
    for name, value in given.items():
        if name not in known:
            near = get_close_matches(name, known, 1)
            offer = f" Did you mean {near[0]!r}?" if near else ""
            raise Unusable(f"A {kind.KIND} has no {name!r}.{offer}")
        if value is None:
            if known[name].metadata["required"]:
                raise Unusable(f"A {kind.KIND} cannot be without {name!r}.")
            kept[name] = None
        else:
            where = f"{name!r} of a {kind.KIND}"
            kept[name] = _checked_value(value, known[name].metadata, where)
    return kept


def missing(kind: type[BookRecord], given: Mapping[str, Any]) -> list[str]:
    """The required columns that have no value."""
    return [
        name
        for name, each in columns(kind).items()
        if each.metadata["required"] and given.get(name) is None
    ]


def _checked_value(value: Any, told: Mapping[str, Any], where: str) -> Any:
    type_ = told["type"]
    if type_ == "flag" and isinstance(value, bool):
        return value
    if type_ in ("number", "count") and isinstance(value, int | float):
        return _checked_number(value, told, where)
    if type_ == "instant" and isinstance(value, str | datetime):
        return instant_text(value, where)
    if type_ == "day" and isinstance(value, str | date):
        return _day_text(value, where)
    if type_ == "series" and isinstance(value, list | tuple):
        return _checked_series(value, where)
    if type_ in ("text", "reference") and isinstance(value, str):
        return _checked_text(value, told, where)
    if type_ == "document" and isinstance(value, str):
        return _checked_length(value, LONGEST_DOCUMENT, where)
    if type_ == "picture" and isinstance(value, str):
        if not DIGEST.fullmatch(value):
            raise Unusable(f"{where} is {_short(value)}, which is no SHA-256 of a picture.")
        return value
    raise Unusable(f"{where} is {_short(value)}, which is no {type_}.")


def _checked_number(value: float, told: Mapping[str, Any], where: str) -> float:
    if isinstance(value, bool) or not isfinite(value):
        raise Unusable(f"{where} is {value}, which is no number.")
    if told["type"] == "count" and value != int(value):
        raise Unusable(f"{where} is {value:g}; it is counted in whole ones.")
    low, high = told["low"], told["high"]
    if (low is not None and value < low) or (high is not None and value > high):
        limits = " to ".join(f"{each:g}" for each in (low, high) if each is not None)
        word = "" if high is not None and low is not None else (
            "at least " if high is None else "at most "
        )  # fmt: skip
        raise Unusable(f"{where} is {value:g}; it can be {word}{limits}.")
    return int(value) if told["type"] == "count" else float(value)


def _checked_text(value: str, told: Mapping[str, Any], where: str) -> str:
    text = _checked_length(value, LONGEST_TEXT, where)
    if told["type"] == "reference" and not ID.fullmatch(text):
        raise Unusable(f"{where} is {_short(text)}, which is no id of a record.")
    if told["choices"] and text not in told["choices"]:
        raise Unusable(f"{where} is {_short(text)}; it can be {', '.join(told['choices'])}.")
    return text


def _checked_length(value: str, longest: int, where: str) -> str:
    text = value.replace("\r\n", "\n").replace("\r", "\n").strip()
    if _CONTROL.search(text):
        raise Unusable(f"{where} holds a control character, which no text has.")
    if not text:
        raise Unusable(f"{where} is empty; leave it out instead.")
    if len(text) > longest:
        raise Unusable(f"{where} has {len(text)} characters; up to {longest} are kept.")
    return text


def _checked_series(value: Any, where: str) -> list[float]:
    if len(value) > LONGEST_SERIES:
        raise Unusable(f"{where} has {len(value)} values; up to {LONGEST_SERIES} are kept.")
    for each in value:
        if isinstance(each, bool) or not isinstance(each, int | float) or not isfinite(each):
            raise Unusable(f"{where} holds {_short(each)}, which is no number.")
    return [float(each) for each in value]


def instant_text(value: str | datetime, where: str = "A time") -> str:
    """An instant as it is kept: UTC to the microsecond, so that text sorts as time does.

    >>> instant_text("2026-11-25 11:17:18+01:00")
    '2026-11-25T10:17:18.000000Z'
    """
    if isinstance(value, str):
        try:
            value = datetime.fromisoformat(value)
        except ValueError as reason:
            raise Unusable(
                f"{where} is {_short(value)}; write it as 2026-11-25T10:17:18+01:00."
            ) from reason
    if value.tzinfo is None:
        raise Unusable(f"{where} is {value.isoformat()} without an offset from UTC; add it.")
    try:
        return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ").rjust(27, "0")
    except OverflowError as reason:
        raise Unusable(f"{where} is {value.isoformat()}, which no calendar has.") from reason


def _day_text(value: str | date, where: str) -> str:
    if isinstance(value, datetime):
        raise Unusable(f"{where} is a time; only its day is kept.")
    if isinstance(value, str):
        try:
            value = date.fromisoformat(value)
        except ValueError as reason:
            raise Unusable(f"{where} is {_short(value)}; write it as 2026-11-25.") from reason
    return value.isoformat()


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
