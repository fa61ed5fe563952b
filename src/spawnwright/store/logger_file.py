"""Reads a temperature logger's text file.

The file is read whole, laid out from a sample of its lines (`logger_layout`), and parsed in
pieces of some thousand lines: by numpy at once (`logger_quick`), and where that is not sure, row
by row.
Nothing is mended silently: a row that cannot be read is refused by its number, and readings that
are faults of the sensor (`logger_faults`) are left out with their count.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from math import isfinite
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from spawnwright.errors import BadFile
from spawnwright.records.readings import FAULTS, LeftOut, ReadingChoices, Readings
from spawnwright.store import logger_quick, logger_times
from spawnwright.store.logger_faults import MOST_FAULTS, NO_READING, fault_codes
from spawnwright.store.logger_layout import Layout, find_channels, find_layout, split
from spawnwright.store.logger_order import (
    TimeColumn,
    refuse_gaps_of_faults,
    seconds_from_start,
)
from spawnwright.store.logger_times import BadCell, Stamps

Floats = NDArray[np.float64]

_LARGEST_FILE = 2_000_000_000  # bytes; beyond it no logger writes, and memory ends
_PIECE = 4_000_000  # bytes parsed at a time
_SAMPLE = 300  # lines looked at for the layout
_CELSIUS_UP_TO, _FAHRENHEIT_UP_TO = 135.0, 300.0
"""A peak up to the first is °C without asking: in °F it would be too cold for any kill by steam.
Between the two it could be either; above the second, neither."""


def read_logger_file(path: Path, choices: ReadingChoices | None = None) -> Readings:
    """Read one temperature column of a logger file.

    Raises
    ------
    BadFile
        If it is no text file with two readings or more, if a thing that matters cannot be
        decided (the text names the option that decides it), or if a row is not a reading, is out
        of order, repeats an instant, or follows a gap of more than ten times the usual step (the
        text names the row, as counted from 1 in the file).
    """
    choices, origin = choices or ReadingChoices(), str(path)
    data = _text_bytes(path, origin)
    layout = find_layout(_sample(data), choices, origin)
    table = _Table(data, layout, origin)
    del data
    times, values = table.read()
    rows = table.row_numbers
    if len(values) < 2:
        raise BadFile(f"{origin} holds a single reading; at least two are needed.")
    time_s, time_sentence = seconds_from_start(times, layout, choices, rows, origin)
    celsius, unit_sentence = _in_celsius(time_s, values, layout, origin)
    step_s = float(np.median(np.diff(time_s)))
    kept, left_out = _without_faults(path, layout, rows, time_s, celsius, step_s)
    account = [
        f"Read {origin}: {len(time_s)} readings, {_span(time_s[-1])} long, usually "
        f"{_span(step_s)} apart, from row {rows[0]} to row {rows[-1]} of the file.",
        time_sentence,
        f"Temperature: {_column_name(layout)}, {unit_sentence}; first {celsius[kept][0]:.5g} °C, "
        f"last {celsius[kept][-1]:.5g} °C.",
    ]
    if layout.passed_over:
        account.append(f"Lines above the table, passed over: {layout.passed_over}.")
    if len(left_out):
        account.append(said_of_faults(left_out))
    return Readings(time_s[kept], celsius[kept], layout.value_name, tuple(account), left_out)


def read_channels(path: Path, choices: ReadingChoices | None = None) -> tuple[Readings, ...]:
    """Read every temperature column of a logger file, or the one that is chosen.

    Raises
    ------
    BadFile
        As `read_logger_file` does, for any of them; `--column` leaves the others out.
    """
    choices, origin = choices or ReadingChoices(), str(path)
    places = find_channels(_sample(_text_bytes(path, origin)), choices, origin)
    return tuple(
        read_logger_file(path, replace(choices, column=choices.column or str(place + 1)))
        for place in places
    )


def _without_faults(
    path: Path,
    layout: Layout,
    rows: NDArray[np.int64],
    time_s: Floats,
    celsius: Floats,
    step_s: float,
) -> tuple[NDArray[np.bool_], LeftOut]:
    """Which readings are kept, and those that are not; refused if they are too many."""
    origin, codes = str(path), fault_codes(time_s, celsius)
    kept = codes < 0
    gone = np.flatnonzero(~kept)
    if len(gone) and (len(gone) >= MOST_FAULTS * len(codes) or len(codes) - len(gone) < 2):
        row = int(rows[gone[0]])
        why = _fault_sentence(path, layout, row, float(celsius[gone[0]]))
        others = (
            f" {len(gone)} of {len(codes)} readings are such faults; they are left out only where "
            "they are fewer than one in five."
        )
        raise BadFile(f"{origin}: row {row} of the file (reading {gone[0] + 1}) {why}.{others}")
    if len(gone):
        refuse_gaps_of_faults(time_s[kept], step_s, rows[kept], origin)
    return kept, LeftOut(rows[gone], time_s[gone], celsius[gone], codes[gone])


def _fault_sentence(path: Path, layout: Layout, row: int, value_c: float) -> str:
    if np.isnan(value_c):
        line = _text_bytes(path, str(path)).split(b"\n")[row - 1]
        cell = split(_decoded(line), layout.separator, layout.is_quoted)[layout.value_column]
        return f"is no temperature: {_not_a_number(cell, layout.decimal)}"
    return (
        f"says {value_c:g} °C, which no grain jar has there; a sensor fault, or the wrong --unit "
        "or --column"
    )


def said_of_faults(left_out: LeftOut) -> str:
    """One sentence on what was left out, with the first rows of each fault."""
    parts = []
    for name, count in left_out.counts().items():
        places = np.flatnonzero(left_out.fault == FAULTS.index(name))[:3]
        shown = ", ".join(
            f"row {left_out.rows[place]}"
            + ("" if np.isnan(left_out.value_c[place]) else f" ({left_out.value_c[place]:.5g} °C)")
            for place in places
        )
        parts.append(f"{count} {name} ({shown}{', ...' if count > 3 else ''})")
    return f"Left out as faults of the sensor: {len(left_out)} readings: {'; '.join(parts)}."


def _text_bytes(path: Path, origin: str) -> bytes:
    """The file as UTF-8 or Latin-1 bytes with plain line ends, without byte-order mark."""
    if not path.is_file():
        raise BadFile(f"{origin} is not a file; give the path of the logger's text file.")
    try:
        if path.stat().st_size > _LARGEST_FILE:
            raise BadFile(f"{origin} is larger than 2 GB; cut it into single runs.")
        data = path.read_bytes()
    except OSError as reason:
        raise BadFile(f"{origin} cannot be read: {reason.strerror}.") from reason
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        data = data.decode("utf-16", "replace").encode()
    data = data.removeprefix(b"\xef\xbb\xbf")
    if data[:2] == b"PK" or b"\0" in data[:4096]:
        raise BadFile(f"{origin} is not a text file; export it from the logger's program as CSV.")
    if not data.strip():
        raise BadFile(f"{origin} is empty.")
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return data


def _sample(data: bytes) -> list[tuple[int, str]]:
    """The first lines, and later ones with a comma if only those may show a decimal comma."""
    head = list(islice(_lines(data), _SAMPLE))
    sample = [(number, _decoded(line)) for number, line in head]
    if len(head) < _SAMPLE or any(b"," in line for _, line in head[-_SAMPLE // 2 :]):
        return sample
    place = sum(len(line) + 1 for _, line in head)
    for _ in range(50):
        comma = data.find(b",", place)
        if comma < 0:
            break
        start, place = data.rfind(b"\n", 0, comma) + 1, data.find(b"\n", comma)
        place = len(data) if place < 0 else place
        sample.append((data.count(b"\n", 0, start) + 1, _decoded(data[start:place])))
    return sample


def _lines(data: bytes) -> Iterator[tuple[int, bytes]]:
    start, number = 0, 1
    while start < len(data):
        end = data.find(b"\n", start)
        end = len(data) if end < 0 else end
        yield number, data[start:end]
        start, number = end + 1, number + 1


def _decoded(line: bytes) -> str:
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode("latin-1")


@dataclass
class _Piece:
    """Some consecutive lines: row numbers in the file, times, temperatures."""

    rows: NDArray[np.int64]
    times: Floats | Stamps
    temperatures: Floats


class _Table:
    """The rows of a file below its header, parsed piece by piece."""

    def __init__(self, data: bytes, layout: Layout, origin: str) -> None:
        self.data, self.layout, self.origin = data, layout, origin
        self.row_numbers: NDArray[np.int64] = np.zeros(0, np.int64)

    def read(self) -> tuple[TimeColumn, Floats]:
        """All times and temperatures; the bytes of the file are let go."""
        pieces = [self._piece(row, piece) for row, piece in self._pieces()]
        self.data = b""
        self.row_numbers = np.concatenate([piece.rows for piece in pieces])
        stamps = [piece.times for piece in pieces if isinstance(piece.times, Stamps)]
        times: TimeColumn = (
            Stamps.joined(stamps)
            if stamps
            else np.concatenate([p.times for p in pieces if not isinstance(p.times, Stamps)])
        )
        return times, np.concatenate([piece.temperatures for piece in pieces])

    def _pieces(self) -> Iterator[tuple[int, bytes]]:
        start, row = 0, 1
        for _ in range(self.layout.first_row - 1):
            start = self.data.index(b"\n", start) + 1
            row += 1
        while start < len(self.data):
            end = self.data.rfind(b"\n", start, start + _PIECE)
            if end < 0 or start + _PIECE >= len(self.data):
                end = len(self.data)
            piece = self.data[start:end]
            if piece.strip():
                yield row, piece
            row += piece.count(b"\n") + 1
            start = end + 1

    def _piece(self, row: int, piece: bytes) -> _Piece:
        quick = logger_quick.columns(piece.rstrip(b"\n"), self.layout)
        if quick is not None:
            times, temperatures = quick
            return _Piece(row + np.arange(len(temperatures)), times, temperatures)
        lines = piece.split(b"\n")
        rows = np.array([row + n for n, line in enumerate(lines) if line.strip()], np.int64)
        cells = self._cells([line for line in lines if line.strip()], rows)
        values = [each[self.layout.value_column] for each in cells]
        missing = np.array([cell.strip().lower() in NO_READING for cell in values])
        numbers = self._numbers(
            [b"0" if gone else cell for cell, gone in zip(values, missing, strict=True)], rows
        )
        return _Piece(rows, self._times(cells, rows), np.where(missing, np.nan, numbers))

    def _cells(self, lines: Sequence[bytes], rows: NDArray[np.int64]) -> list[list[bytes]]:
        separator = self.layout.separator
        if self.layout.is_quoted:
            texts = csv.reader(map(_decoded, lines), delimiter=separator)
            cells = [[each.encode() for each in row] for row in texts]
        else:
            mark = separator.encode()
            cells = [line.split(mark) for line in lines]
        for place, row in enumerate(cells):
            if len(row) != self.layout.columns:
                raise self._refusal(
                    rows[place],
                    f"it has {len(row)} columns, others have {self.layout.columns}; mend that "
                    "row, or check --separator and --decimal",
                )
        return cells

    def _numbers(self, cells: Sequence[bytes], rows: NDArray[np.int64]) -> Floats:
        comma = self.layout.decimal == ","
        other = b"." if comma else b","
        joined = b"\n".join(cells)
        if other not in joined and b"_" not in joined:
            try:
                numbers = [float(c) for c in (joined.replace(b",", b".") if comma else joined)
                           .split(b"\n")]  # fmt: skip
                values = np.array(numbers)
                if np.all(np.isfinite(values)):
                    return values
            except ValueError:
                pass  # the loop below finds the cell and names its row
        for place, cell in enumerate(cells):
            text = _decoded(cell).strip()
            if not re.fullmatch(
                r"[+-]?(\d+X?\d*|X\d+)([eE][+-]?\d+)?".replace("X", "," if comma else r"\."), text
            ):
                raise self._refusal(rows[place], _not_a_number(text, self.layout.decimal))
            if not isfinite(float(text.replace(",", "."))):
                raise self._refusal(rows[place], f"{text[:40]!r} is too large a number")
        raise AssertionError("a cell that numpy refuses is no number")

    def _times(self, cells: list[list[bytes]], rows: NDArray[np.int64]) -> Floats | Stamps:
        places = self.layout.time_columns
        if self.layout.time_kind == "number":
            return self._numbers([row[places[0]] for row in cells], rows)
        column = (
            [row[places[0]] for row in cells]
            if len(places) == 1
            else [b" ".join(row[place].strip() for place in places) for row in cells]
        )
        pattern = logger_times.pattern_of(self.layout.time_kind)
        try:
            return logger_times.read_stamps(column, pattern)
        except BadCell as bad:
            text = _decoded(column[bad.place])[:40]
            raise self._refusal(rows[bad.place], f"{text!r} {bad.why}") from bad

    def _refusal(self, row: int, why: str) -> BadFile:
        reading = row - self.layout.first_row + 1
        return BadFile(f"{self.origin}: row {row} of the file (reading {reading}): {why}.")


def _not_a_number(text: str, decimal: str) -> str:
    if not text:
        return "a cell is empty where a number is needed"
    sign = "comma" if decimal == "," else "point"
    hint = " (--decimal says otherwise)" if "," in text or "." in text else ""
    return f"{text[:40]!r} is not a number with a decimal {sign}{hint}"


def _in_celsius(time_s: Floats, values: Floats, layout: Layout, origin: str) -> tuple[Floats, str]:
    unit, sentence = layout.unit, f"in °{layout.unit}"
    if unit is None:
        sound = values[fault_codes(time_s, values, has_unit=False) < 0]
        peak = float(np.max(sound, initial=-np.inf))
        if peak > _FAHRENHEIT_UP_TO:
            raise BadFile(
                f"{origin}: {_column_name(layout)} reaches {peak:g}, which is no temperature of "
                "steam in °C or °F; --column names the temperature."
            )
        if peak > _CELSIUS_UP_TO:
            raise BadFile(
                f"{origin} does not say whether {_column_name(layout)}, which reaches {peak:g}, "
                "is in °C or °F; say which with --unit C or --unit F."
            )
        unit, sentence = "C", "taken as °C, which nothing in the file says (--unit)"
    celsius = (values - 32.0) * (5.0 / 9.0) if unit == "F" else values
    return np.asarray(celsius, dtype=np.float64), sentence


def _column_name(layout: Layout) -> str:
    name = layout.value_name
    return name if name.startswith("column ") else f'column "{name}"'


def _span(seconds: float) -> str:
    if seconds < 120:
        return f"{seconds:.4g} s"
    return f"{seconds / 60:.4g} min" if seconds < 86_400 else f"{seconds / 86_400:.4g} days"
