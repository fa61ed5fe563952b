"""Quick ways to parse a piece of a logger file; each gives nothing where it is not sure.

What they give up on is read again row by row, which finds the row to complain of.
"""

from __future__ import annotations

import warnings

import numpy as np
from numpy.typing import NDArray

from spawnwright.store import logger_times
from spawnwright.store.logger_faults import NO_READING
from spawnwright.store.logger_layout import Layout
from spawnwright.store.logger_times import BadCell, Stamps

Floats = NDArray[np.float64]
_WIDEST_CELL = 64


def columns(piece: bytes, layout: Layout) -> tuple[Floats | Stamps, Floats] | None:
    """Times and temperatures of a piece of whole lines, or none if anything in it is unusual."""
    if b"\n\n" in piece or piece[:1] == b"\n" or layout.separator == layout.decimal:
        return None
    if layout.is_quoted:
        piece = _without_quotes(piece, layout.separator.encode())
        if b'"' in piece:
            return None
    letters = np.frombuffer(piece, np.uint8)
    marks = _cell_ends(letters, layout)
    if marks is None:
        return None
    if layout.time_kind == "number":
        numbers = _all_numbers(piece, layout, len(marks))
        if numbers is not None:
            return numbers[:, layout.time_columns[0]], numbers[:, layout.value_column]
    if len(layout.time_columns) > 1:
        return None
    times = _column(letters, marks, layout.time_columns[0])
    values = _column(letters, marks, layout.value_column, may_be_empty=True)
    temperatures = None if values is None else _numbers(values, layout.decimal, may_miss=True)
    if times is None or temperatures is None:
        return None
    if layout.time_kind == "number":
        plain = _numbers(times, layout.decimal)
        return None if plain is None else (plain, temperatures)
    try:
        stamps = logger_times.read_stamps(times, logger_times.pattern_of(layout.time_kind))
    except BadCell:
        return None
    return stamps, temperatures


def _without_quotes(piece: bytes, separator: bytes) -> bytes:
    """A piece of which every cell is quoted, without the quotes; else some are left."""
    bare = piece.replace(b'"' + separator + b'"', separator).replace(b'"\n"', b"\n")
    return bare[1:-1] if bare[:1] == bare[-1:] == b'"' else bare


def _cell_ends(letters: NDArray[np.uint8], layout: Layout) -> NDArray[np.int64] | None:
    """Where each cell ends, shape (rows, columns); none if a row has another number of cells."""
    ends = np.append(np.flatnonzero(letters == ord("\n")), len(letters))
    separators = np.flatnonzero(letters == ord(layout.separator))
    counts = np.diff(np.searchsorted(separators, ends), prepend=0)
    if np.any(counts != layout.columns - 1):
        return None
    return np.column_stack([separators.reshape(len(ends), layout.columns - 1), ends])


def _all_numbers(piece: bytes, layout: Layout, rows: int) -> Floats | None:
    """Every cell of the piece at once, if all are plain numbers."""
    if layout.decimal == ",":
        if b"." in piece:
            return None
        piece = piece.replace(b",", b".")
    separator = layout.separator.encode()
    if piece.translate(None, b"0123456789.eE+-\n" + separator):
        return None
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            numbers = np.fromstring(piece.replace(separator, b" "), dtype=np.float64, sep=" ")
        except (DeprecationWarning, ValueError):
            return None
    if numbers.size != rows * layout.columns or not np.all(np.isfinite(numbers)):
        return None
    return np.asarray(numbers.reshape(rows, layout.columns))


def _column(
    letters: NDArray[np.uint8], ends: NDArray[np.int64], place: int, may_be_empty: bool = False
) -> NDArray[np.bytes_] | None:
    """The cells of one column as an array of byte strings."""
    starts = ends[:, place - 1] + 1 if place else np.append(0, ends[:-1, -1] + 1)
    lengths = ends[:, place] - starts
    width = int(np.max(lengths))
    if not 0 < width <= _WIDEST_CELL or not (may_be_empty or np.all(lengths)):
        return None
    within = np.arange(width)
    cells = letters[np.minimum(starts[:, None] + within, len(letters) - 1)]
    cells[within >= lengths[:, None]] = 0
    return np.asarray(cells.view(f"S{width}").ravel())


def _numbers(cells: NDArray[np.bytes_], decimal: str, may_miss: bool = False) -> Floats | None:
    """Numbers of plain cells; with `may_miss`, NaN where a cell says that nothing was read."""
    letters = cells.view(np.uint8)
    other = ord("." if decimal == "," else ",")
    if np.any((letters == other) | (letters == ord("_"))):
        return None
    if decimal == ",":
        cells = cells.copy()
        letters = cells.view(np.uint8)
        letters[letters == ord(",")] = ord(".")
    missing = np.zeros(len(cells), np.bool_)
    if may_miss:
        digits = (letters >= ord("0")) & (letters <= ord("9"))
        bare = np.flatnonzero(~digits.reshape(len(cells), -1).any(axis=1))
        marks = [place for place in bare if bytes(cells[place]).strip().lower() in NO_READING]
        missing[marks] = True
        cells = np.where(missing, b"0", cells) if marks else cells
    try:
        numbers = cells.astype(np.float64)
    except ValueError:
        return None
    if not np.all(np.isfinite(numbers)):
        return None
    numbers[missing] = np.nan
    return numbers
