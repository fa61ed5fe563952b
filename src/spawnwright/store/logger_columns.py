"""Which column of a logger file is the time, which the temperature, and in which units.

Decided from names and from what the cells look like. What cannot be decided is refused with the
option that decides it: `--column`, `--time-column` or `--unit`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import pairwise

from spawnwright.errors import BadFile
from spawnwright.records.readings import ReadingChoices
from spawnwright.store import logger_times

NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?")


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


CELSIUS = _words("c °c ºc ℃ degc celsius centigrade")
FAHRENHEIT = _words("f °f ºf ℉ degf fahrenheit")
TIME_UNITS = {
    "seconds": _words("s sec secs second seconds sekunden secondes segundos"),
    "minutes": _words("min mins minute minutes minuten minutos"),
    "hours": _words("h hr hrs hour hours stunden heures horas"),
    "milliseconds": _words("ms msec millisecond milliseconds"),
}
_TIMES = _words(
    "time date timestamp datetime clock elapsed zeit datum uhrzeit temps heure hora tempo tid tijd"
    " czas fecha data aika"
).union(*(words - {"s", "h"} for words in TIME_UNITS.values()))
_INDEXES = _words("# no nr n index idx record sample reading row id count point")
_OTHERS = _words(
    "pressure press psi psig psia kpa mbar hpa bar barg humidity rh % battery batt volt volts mv"
    " voltage f0 fo lethality setpoint set target rssi signal alarm status power dewpoint"
)
_COMMAS = " If they are numbers with decimal commas, export with semicolons between columns."
_NAME_PARTS = re.compile(r"[^\W_]+|[°℃℉][^\W_]*|%|#")


@dataclass(frozen=True)
class Columns:
    """The names in a file's header (none without one) and what the cells below look like."""

    origin: str
    names: list[str]
    kinds: list[str]
    """For each column "number", "clock", "date", "date and clock", "text" or "empty"."""

    def listed(self, places: Sequence[int]) -> str:
        """Some columns, as they are named in a sentence."""
        shown = [repr(self.names[each]) if self.names else str(each + 1) for each in places[:8]]
        more = f" and {len(places) - 8} more" if len(places) > 8 else ""
        head = "" if self.names else "column " if len(shown) == 1 else "columns "
        return head + ", ".join(shown) + more

    def called(self, wanted: str, option: str) -> int:
        """The place of the column that an option names, or numbers from 1."""
        simple = [name.casefold().strip() for name in self.names]
        found = [place for place, name in enumerate(simple) if name == wanted.casefold().strip()]
        if len(found) > 1:
            raise BadFile(
                f"{self.origin} has {len(found)} columns named {wanted!r}; give {option} as a "
                "number, counting columns from 1."
            )
        if found:
            return found[0]
        if wanted.isdecimal() and 1 <= int(wanted) <= len(self.kinds):
            return int(wanted) - 1
        near = get_close_matches(wanted.casefold(), simple, 1)
        offer = f" Did you mean {self.names[simple.index(near[0])]!r}?" if near else ""
        raise BadFile(
            f"{self.origin} has no column {wanted!r} for {option}.{offer} "
            f"It has {self.listed(range(len(self.kinds)))}."
        )


def parts(name: str) -> list[str]:
    """The words of a column's name in small letters, a degree sign kept with its letter."""
    spaced = re.sub(r"(?<=[a-z][a-z])(?=[A-Z])", " ", re.sub(r"°\s+", "°", name))
    return [part.casefold() for part in _NAME_PARTS.findall(spaced)]


def is_reading(cell: str) -> bool:
    """Whether a cell is a number, a clock, a date, or a date with a clock."""
    return kind_of(cell) is not None


def kind_of(cell: str) -> str | None:
    """What kind of reading a cell is, or none."""
    tests: dict[str, Callable[[str], object]] = {
        "number": NUMBER.fullmatch,
        "date and clock": logger_times.DATE_TIME.fullmatch,
        "clock": logger_times.CLOCK.fullmatch,
        "date": logger_times.DATE.fullmatch,
    }
    return next((kind for kind, test in tests.items() if test(cell)), None)


def kind_of_column(cells: Sequence[str]) -> str:
    """The kind that more than half of the filled cells are of; "text" if there is none."""
    filled = [kind_of(cell) for cell in cells if cell]
    if not filled:
        return "empty"
    usual = max(set(filled), key=filled.count)
    return usual if usual and filled.count(usual) * 2 > len(filled) else "text"


def is_head(cells: Sequence[str]) -> bool:
    """Whether cells name a time or a temperature."""
    return any(_is_time_name(cell) or _is_temperature_name(cell) for cell in cells)


def is_units(cells: Sequence[str]) -> bool:
    """Whether cells hold units and nothing else: the second line of a header."""
    said = {part for cell in cells for part in parts(cell)}
    return bool(said) and said <= CELSIUS.union(FAHRENHEIT, _OTHERS, *TIME_UNITS.values())


def _is_time_name(name: str) -> bool:
    said = set(parts(name))
    if said & _OTHERS or _is_temperature_name(name):
        return False
    return bool(said & _TIMES) or said in ({"s"}, {"h"}, {"t", "s"}, {"t", "h"})


def _is_temperature_name(name: str) -> bool:
    said = set(parts(name))
    begins = any(each.startswith("temp") for each in said - _TIMES)
    return bool(begins or said & (CELSIUS | FAHRENHEIT))


def _is_index_name(name: str) -> bool:
    said = set(parts(name))
    return not said or (bool(said & _INDEXES) and not _is_temperature_name(name))


def time_columns(
    columns: Columns, body: Sequence[list[str]], choices: ReadingChoices
) -> tuple[int, ...]:
    """The place of the time, or the two places of a date and a clock."""
    kinds, names = columns.kinds, columns.names
    if choices.time_column:
        chosen = columns.called(choices.time_column, "--time-column")
        if kinds[chosen] not in ("number", "clock", "date and clock"):
            raise BadFile(
                f"--time-column {choices.time_column!r}: that column of {columns.origin} "
                "holds no times."
            )
        return (chosen,)
    stamps, dates, clocks = (
        [place for place, each in enumerate(kinds) if each == kind]
        for kind in ("date and clock", "date", "clock")
    )
    if len(stamps) == 1:
        return (stamps[0],)
    if not stamps and len(clocks) == 1:
        return (dates[0], clocks[0]) if len(dates) == 1 else (clocks[0],)
    several = stamps or clocks
    if not several and names:
        several = [
            p for p, kind in enumerate(kinds) if kind == "number" and _is_time_name(names[p])
        ]
        if len(several) == 1:
            return (several[0],)
    if several:
        raise BadFile(
            f"{columns.origin} has {len(several)} columns of times ({columns.listed(several)}); "
            "say which with --time-column."
        )
    return (_first_number(columns, body),)


def _first_number(columns: Columns, body: Sequence[list[str]]) -> int:
    names = columns.names
    left = [
        place
        for place, kind in enumerate(columns.kinds)
        if kind == "number" and not (names and _is_index_name(names[place]))
    ]
    if names and len(left) == 2 and _is_temperature_name(names[left[0]]):
        left.reverse()
    if not left:
        raise BadFile(
            f"{columns.origin} has no column of times; say which it is with --time-column."
        )
    if not names and len(left) > 2 and _could_be_count_and_time(body, left[0], left[1]):
        raise BadFile(
            f"{columns.origin} has no header, and column {left[0] + 1} may be a count of the rows "
            "or the time; say which column is the time and which the temperature, such as "
            f"--time-column 2 --column 3.{_COMMAS}"
        )
    return left[0]


def _could_be_count_and_time(body: Sequence[list[str]], first: int, second: int) -> bool:
    counts = [row[first] for row in body if row[first].isdecimal()]
    values = [row[second].replace(",", ".") for row in body if NUMBER.fullmatch(row[second])]
    return (
        len(counts) == len(values) == len(body)
        and int(counts[0]) <= 1
        and all(int(later) - int(count) == 1 for count, later in pairwise(counts))
        and all(float(later) > float(value) for value, later in pairwise(values))
    )


def value_columns(columns: Columns, times: tuple[int, ...]) -> list[int]:
    """The places of all columns that could be a temperature."""
    names = columns.names
    return [
        place
        for place, kind in enumerate(columns.kinds)
        if kind == "number"
        and place not in times
        and not (names and (_is_index_name(names[place]) or _OTHERS & set(parts(names[place]))))
        and not (names and _is_time_name(names[place]))
    ]


def value_column(columns: Columns, times: tuple[int, ...], choices: ReadingChoices) -> int:
    """The place of the temperature."""
    names = columns.names
    if choices.column:
        chosen = columns.called(choices.column, "--column")
        if chosen in times:
            raise BadFile(f"--column {choices.column!r} is the time in {columns.origin}.")
        return chosen
    left = value_columns(columns, times)
    if len(left) == 1:
        return left[0]
    if left:
        commas = "" if names else _COMMAS
        raise BadFile(
            f"{columns.origin} has {len(left)} columns that could be the temperature "
            f"({columns.listed(left)}); say which with --column.{commas}"
        )
    raise BadFile(
        f"{columns.origin} has no column that is clearly a temperature "
        f"({columns.listed(range(len(columns.kinds)))}); --column names one."
    )


def time_unit(name: str, kind: str) -> str | None:
    """The unit that a name gives to plain numbers, or to the first part of "0:30"."""
    if kind == "clock":
        shape = re.search(r"\b(h{1,2}|m{1,2})(?:in)?:(?:m{1,2}|s{1,2}|sec|min)\b", name.casefold())
        return None if shape is None else "minutes" if shape[1].startswith("m") else "hours"
    said = set(parts(name))
    found = [unit for unit, words in TIME_UNITS.items() if words & said]
    return found[0] if len(found) == 1 else None


def temperature_unit(columns: Columns, place: int) -> str | None:
    """The unit of temperature that a name says: "C", "F" or none."""
    if not columns.names:
        return None
    name = columns.names[place]
    said = set(parts(name))
    if len(said) == 1 and len(columns.kinds) > 2:
        said -= {"c", "f"}  # one of the channels A, B, C
    celsius, fahrenheit = bool(said & CELSIUS), bool(said & FAHRENHEIT)
    if celsius and fahrenheit:
        raise BadFile(
            f"{columns.origin}: {name!r} names both °C and °F; say which with --unit C or --unit F."
        )
    return "C" if celsius else "F" if fahrenheit else None
