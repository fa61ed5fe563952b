"""How a logger file is laid out: separator, header, columns, decimal sign.

Everything here looks at a sample of lines. What cannot be decided is refused with the option
that decides it; nothing is guessed that would change the answer.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from spawnwright.errors import BadFile
from spawnwright.records.readings import ReadingChoices
from spawnwright.store import logger_columns
from spawnwright.store.logger_columns import Columns, is_reading
from spawnwright.store.logger_faults import NO_READING

Row = tuple[int, list[str]]  # number in the file from 1, cells

SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t"}
_NAMES = {character: name for name, character in SEPARATORS.items()}
_NOT_READABLE = (
    "it must be a text file with a time and a temperature in each row, in columns separated by "
    "commas, semicolons or tabs (--separator says which)."
)


@dataclass(frozen=True)
class Layout:
    """Where the readings are in a file, and in what form."""

    separator: str
    is_quoted: bool
    decimal: str
    first_row: int
    """Number in the file of the first row with readings, from 1."""
    columns: int
    time_columns: tuple[int, ...]
    time_kind: str
    """"number", "clock" or "date and clock"."""
    time_name: str
    time_unit: str | None
    value_column: int
    value_name: str
    unit: str | None
    """"C" or "F", where a name or a person says so."""
    passed_over: int
    """Lines above the table that name no column."""


class _Found(NamedTuple):
    """What is known of a file before a temperature is chosen."""

    separator: str
    is_quoted: bool
    rows: list[Row]
    start: int
    head_lines: int
    columns: Columns
    body: list[list[str]]
    times: tuple[int, ...]


def find_layout(sample: Sequence[tuple[int, str]], choices: ReadingChoices, origin: str) -> Layout:
    """Find the layout from numbered lines of a file, of which the first is its first.

    Raises
    ------
    BadFile
        If a thing cannot be decided; the text names the option that decides it, or the row.
    """
    found = _find(sample, choices, origin)
    columns, times, names = found.columns, found.times, found.columns.names
    width, start = len(columns.kinds), found.start
    value = logger_columns.value_column(columns, times, choices)
    _refuse_readings_above(found.rows[:start], width, times, (value,), origin)
    kind = "date and clock" if len(times) == 2 else columns.kinds[times[0]]
    time_name = " ".join(names[place] for place in times) if names else ""
    numbers = [[row[place] for place in (*times, value)] for row in found.body]
    numbers = numbers if kind == "number" else [row[-1:] for row in numbers]
    return Layout(
        separator=found.separator,
        is_quoted=found.is_quoted,
        decimal=choices.decimal or _decimal(numbers, origin),
        first_row=found.rows[start][0],
        columns=width,
        time_columns=times,
        time_kind=kind,
        time_name=time_name,
        time_unit=choices.time_unit or logger_columns.time_unit(time_name, kind),
        value_column=value,
        value_name=names[value] if names else f"column {value + 1}",
        unit=choices.unit or logger_columns.temperature_unit(columns, value),
        passed_over=start - found.head_lines,
    )


def find_channels(
    sample: Sequence[tuple[int, str]], choices: ReadingChoices, origin: str
) -> list[int]:
    """The places of all columns that could be a temperature; the one that is chosen, if one is."""
    found = _find(sample, choices, origin)
    if choices.column:
        return [logger_columns.value_column(found.columns, found.times, choices)]
    places = logger_columns.value_columns(found.columns, found.times)
    return places or [logger_columns.value_column(found.columns, found.times, choices)]


def _find(sample: Sequence[tuple[int, str]], choices: ReadingChoices, origin: str) -> _Found:
    lines = [(number, text) for number, text in sample if text.strip()]
    declared = re.fullmatch(r"sep=(.)", lines[0][1].strip("\r\n ")) if lines else None
    lines = lines[1:] if declared else lines
    is_quoted = any('"' in text for _, text in lines)
    separator = choices.separator or (declared and declared[1]) or ""
    separator = separator or _separator(lines, is_quoted, origin)
    rows = [(number, split(text, separator, is_quoted)) for number, text in lines]
    width, start = _table(rows, origin)
    _refuse_readings_above(rows[:start], width, (0,), (), origin)
    names, head_lines = _header(rows, start, width, separator, origin)
    body = [row for _, row in rows[start:] if len(row) == width]
    kinds = [logger_columns.kind_of_column([row[place] for row in body]) for place in range(width)]
    columns = Columns(origin, names, kinds)
    times = logger_columns.time_columns(columns, body, choices)
    return _Found(separator, is_quoted, rows, start, head_lines, columns, body, times)


def split(text: str, separator: str, is_quoted: bool) -> list[str]:
    """The cells of a line, without the blanks around them."""
    cells = next(csv.reader([text], delimiter=separator)) if is_quoted else text.split(separator)
    return [cell.strip() for cell in cells]


def _separator(lines: Sequence[tuple[int, str]], is_quoted: bool, origin: str) -> str:
    """The one character that leaves two or more readings in most rows."""
    fit = {
        character: sum(
            sum(map(is_reading, split(text, character, is_quoted))) >= 2 for _, text in lines
        )
        for character in SEPARATORS.values()
    }
    best = max(fit.values())
    fitting = [character for character, count in fit.items() if best and count * 2 > best]
    if len(fitting) > 1 and "," in fitting:
        fitting.remove(",")  # "0,5;20,5": the commas are decimal
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        names = [_NAMES[character] for character in fitting]
        raise BadFile(
            f"{origin} could be separated by {' or by '.join(names)}; say which with "
            f"--separator, such as --separator {names[0]}."
        )
    if any(is_reading(text.strip()) for _, text in lines):
        raise BadFile(f"{origin} has a single column; {_NOT_READABLE}")
    raise BadFile(f"{origin} holds no row with two numbers; {_NOT_READABLE}")


def _table(rows: Sequence[Row], origin: str) -> tuple[int, int]:
    """The usual number of columns, and the place of the first row that has readings in them."""
    widths = Counter(len(cells) for _, cells in rows if sum(map(is_reading, cells)) >= 2)
    if not widths:
        raise BadFile(f"{origin} holds no row with two numbers; {_NOT_READABLE}")
    width = widths.most_common(1)[0][0]
    for place, (number, cells) in enumerate(rows):
        if sum(map(is_reading, cells)) >= 2:
            if len(cells) == width:
                return width, _first_with_gaps(rows, width, place)
            raise BadFile(
                f"{origin}: row {number} of the file has {len(cells)} columns, others {width}; "
                "mend that row, or check --separator and --decimal."
            )
    raise AssertionError("a width was counted, so a row has it")


def _first_with_gaps(rows: Sequence[Row], width: int, start: int) -> int:
    """The place of the first row with readings, of which some may say that nothing was read."""
    while start and len(rows[start - 1][1]) == width:
        cells = rows[start - 1][1]
        has_reading = any(map(is_reading, cells))
        if not has_reading or not all(is_reading(cell) or is_no_reading(cell) for cell in cells):
            break
        start -= 1
    return start


def is_no_reading(cell: str) -> bool:
    """Whether a cell says that nothing was read."""
    return cell.strip().lower().encode() in NO_READING


def _header(
    rows: Sequence[Row], start: int, width: int, separator: str, origin: str
) -> tuple[list[str], int]:
    """The names in the header, a line of units below it joined on, and how many lines that is."""
    if not start:
        return [], 0
    number, head = rows[start - 1]
    if len(head) != width:
        if len(head) > 1 and logger_columns.is_head(head):
            hint = (
                "numbers with decimal commas cannot be told from columns separated by commas, so "
                "export with semicolons between columns or with decimal points"
                if separator == "," and len(head) < width
                else "check --separator and --decimal"
            )
            raise BadFile(
                f"{origin}: row {number} of the file names {len(head)} columns, but row "
                f"{rows[start][0]} has {width}; {hint}."
            )
        return [], 0
    above = rows[start - 2][1] if start > 1 else []
    if len(above) == width and logger_columns.is_units(head):
        return [f"{name} {unit}".strip() for name, unit in zip(above, head, strict=True)], 2
    return head, 1


def _refuse_readings_above(
    rows: Sequence[Row], width: int, times: Sequence[int], values: Sequence[int], origin: str
) -> None:
    """A row above the data that has a time, or the last one if it has a value, is no header."""
    for place, (number, cells) in enumerate(rows):
        chosen = (*times, *values) if place == len(rows) - 1 else times
        if len(cells) != width:
            continue
        if any(is_reading(cells[each]) for each in chosen):
            bad = next((cell for cell in cells if not is_reading(cell)), cells[-1])
            what = f"{bad!r} is not a number or a time" if bad else "a cell is empty"
            raise BadFile(f"{origin}: row {number} of the file: {what}.")


def _decimal(numbers: Sequence[list[str]], origin: str) -> str:
    """The decimal sign of the columns that are read, the temperature last in each row."""
    commas = [cell for row in numbers for cell in row if "," in cell]
    if not commas:
        return "."
    if any("." in cell for row in numbers for cell in row):
        raise BadFile(
            f"{origin} has decimal points and commas ({commas[0]!r}); export it without "
            "separators of thousands, and say with --decimal which is the decimal sign."
        )
    thousands = all(re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", cell) for cell in commas)
    if thousands and not any("," in row[-1] for row in numbers):
        raise BadFile(
            f"{origin}: {commas[0]!r} could be {commas[0].replace(',', '')} or "
            f"{commas[0].replace(',', '.')}; say which with --decimal , or --decimal ."
        )
    return ","
