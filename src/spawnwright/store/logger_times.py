"""Times in a logger file: plain numbers, clocks, dates with clocks, turned into seconds.

Whole columns are read at once. A cell's *pattern* is the cell with its digits blanked out; the
first cell of each pattern is understood with a regular expression, and where its groups lie
holds for every cell of that pattern.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_CLOCK = (
    r"(?P<hour>\d{1,4}):(?P<minute>\d{2})(?::(?P<second>\d{2})(?:[.,](?P<fraction>\d{1,9}))?)?"
    r"\s*(?P<half>[AaPp]\.?[Mm]\.?)?"
)
_DATE = r"(?P<first>\d{1,4})(?P<mark>[-/.])(?P<middle>\d{1,2})(?P=mark)(?P<last>\d{1,4})"
_OFFSET = r"\s*(?P<zone>[Zz]|UTC|GMT|(?P<sign>[+-])(?P<zone_h>\d{2}):?(?P<zone_m>\d{2})?)?"
CLOCK = re.compile(_CLOCK)
DATE = re.compile(_DATE)
DATE_TIME = re.compile(f"{_DATE}[Tt ,_]\\s*{_CLOCK}{_OFFSET}")
ORDERS = ("day-first", "month-first", "year-first")
DAY_S = 86_400.0
_MOST_PATTERNS = 200


class BadCell(Exception):
    """A cell that cannot be read, by its place in the column; caught by the reader of the file."""

    def __init__(self, place: int, why: str) -> None:
        super().__init__(why)
        self.place, self.why = place, why


@dataclass(frozen=True)
class Stamps:
    """Clock times, with dates in an order that is not known yet, and offsets from UTC."""

    seconds: Floats
    """Since midnight, or since the start where there is no date [s]."""
    dates: Integers
    """First, middle and last number of the date, shape (n, 3); zero without a date."""
    year_at: Integers
    """Where the four-digit year stands: 0 first, 2 last, -1 nowhere."""
    offset_s: Floats
    """Offset from UTC, NaN where none is written [s]."""
    is_dotted: bool
    has_seconds: bool

    @classmethod
    def joined(cls, parts: Sequence[Stamps]) -> Stamps:
        """The stamps of consecutive pieces of a file as one."""
        return cls(
            np.concatenate([part.seconds for part in parts]),
            np.concatenate([part.dates for part in parts]),
            np.concatenate([part.year_at for part in parts]),
            np.concatenate([part.offset_s for part in parts]),
            all(part.is_dotted for part in parts),
            any(part.has_seconds for part in parts),
        )


def pattern_of(kind: str) -> re.Pattern[str]:
    """How a cell of a column of clocks, or of dates with clocks, is written."""
    return CLOCK if kind == "clock" else DATE_TIME


def read_stamps(cells: Sequence[bytes] | NDArray[np.bytes_], pattern: re.Pattern[str]) -> Stamps:
    """Read a column of clocks or of dates with clocks.

    Raises
    ------
    BadCell
        With the place of the first cell that does not fit the pattern.
    """
    count = len(cells)
    column: NDArray[np.bytes_] = np.asarray(cells, dtype=np.bytes_)
    letters = column.view(np.uint8).reshape(count, column.dtype.itemsize)
    seconds, offset_s = np.zeros(count), np.full(count, np.nan)
    dates, year_at = np.zeros((count, 3), np.int64), np.full(count, -1, np.int64)
    is_dotted, has_seconds, found = True, False, 0
    left = np.arange(count)
    while left.size:
        found += 1
        first = bytes(column[left[0]])
        match = pattern.fullmatch(first.decode("latin-1").strip())
        if match is None or found > _MOST_PATTERNS:
            raise BadCell(int(left[0]), "is not a time like the others")
        shift = len(first) - len(first.lstrip())
        same = _same_pattern(letters[left], letters[left[0]])
        rows = left[same]
        groups = _Groups(match, letters[rows], shift)
        seconds[rows] = groups.clock_s(rows)
        if "mark" in match.groupdict():
            dates[rows] = np.stack([groups.number(n) for n in ("first", "middle", "last")], 1)
            year_at[rows] = 0 if len(match["first"]) > 2 else 2 if len(match["last"]) > 2 else -1
            is_dotted = is_dotted and match["mark"] == "."
            if match["zone"]:
                offset_s[rows] = groups.offset_s()
        has_seconds = has_seconds or match["second"] is not None
        left = left[~same]
    return Stamps(seconds, dates, year_at, offset_s, is_dotted, has_seconds)


def _same_pattern(letters: NDArray[np.uint8], model: NDArray[np.uint8]) -> NDArray[np.bool_]:
    is_digit = (model >= 48) & (model <= 57)
    same = np.all(letters[:, ~is_digit] == model[~is_digit], axis=1)
    digits = letters[:, is_digit]
    return np.asarray(same & np.all((digits >= 48) & (digits <= 57), axis=1))


class _Groups:
    """The named groups of a match, as whole columns of numbers."""

    def __init__(self, match: re.Match[str], letters: NDArray[np.uint8], shift: int) -> None:
        self.match, self.letters, self.shift = match, letters, shift

    def number(self, name: str) -> Integers:
        start, end = self.match.span(name)
        total = np.zeros(len(self.letters), np.int64)
        if start < 0:
            return total
        for place in range(start + self.shift, end + self.shift):
            total = total * 10 + (self.letters[:, place] - np.uint8(48))
        return total

    def clock_s(self, rows: Integers) -> Floats:
        hour, minute, second = (self.number(n) for n in ("hour", "minute", "second"))
        _refuse(rows, (minute > 59) | (second > 59), "is no time: minutes and seconds end at 59")
        if self.match["half"]:
            _refuse(rows, (hour < 1) | (hour > 12), "is no time: a 12-hour clock ends at 12")
            hour = hour % 12 + (12 if self.match["half"][0] in "Pp" else 0)
        elif "mark" in self.match.groupdict():
            _refuse(rows, hour > 23, "is no time: hours of a day end at 23")
        fraction = self.match["fraction"]
        part = self.number("fraction") / 10.0 ** len(fraction) if fraction else 0.0
        return np.asarray(hour * 3600.0 + minute * 60.0 + second + part)

    def offset_s(self) -> Floats:
        size = self.number("zone_h") * 3600.0 + self.number("zone_m") * 60.0
        return np.asarray(-size if self.match["sign"] == "-" else size)


def _refuse(rows: Integers, bad: NDArray[np.bool_], why: str) -> None:
    if np.any(bad):
        raise BadCell(int(rows[np.argmax(bad)]), why)


def possible_orders(stamps: Stamps, wanted: str | None) -> list[str]:
    """Orders of day, month and year in which every date exists, before any further evidence.

    Raises
    ------
    BadCell
        If no order fits all dates; the place is that of the first date which breaks the last.
    """
    if np.any(stamps.year_at != stamps.year_at[0]):
        place = int(np.argmax(stamps.year_at != stamps.year_at[0]))
        raise BadCell(place, "writes its date otherwise than the rows before")
    year_at = int(stamps.year_at[0])
    orders = ["year-first"] if year_at == 0 else list(ORDERS[:2] if year_at == 2 else ORDERS)
    if year_at != 0 and stamps.is_dotted:
        orders = ["day-first"]
    if wanted in orders:
        orders = [wanted]
    bad = {order: _days(stamps, order)[1] for order in orders}
    fitting = [order for order in orders if not np.any(bad[order])]
    if not fitting:
        worst = max(orders, key=lambda order: int(np.argmax(bad[order])))
        raise BadCell(int(np.argmax(bad[worst])), "is not a date in the calendar")
    return fitting


def instants_s(stamps: Stamps, order: str) -> Floats:
    """Seconds since 1970 of dated stamps, in UTC where offsets are written [s]."""
    days, _ = _days(stamps, order)
    offset_s = np.nan_to_num(stamps.offset_s, nan=0.0)
    return np.asarray(days * DAY_S + stamps.seconds - offset_s)


def _days(stamps: Stamps, order: str) -> tuple[Floats, NDArray[np.bool_]]:
    """Days since 1970 and which dates do not exist."""
    first, middle, last = stamps.dates.T
    year, month, day = {
        "day-first": (last, middle, first),
        "month-first": (last, first, middle),
        "year-first": (first, middle, last),
    }[order]
    year = np.where(year < 100, year + 2000, year)
    bad = (month < 1) | (month > 12) | (day < 1) | (day > 31) | (year < 1970) | (year > 2200)
    months = (np.where(bad, 1970, year) - 1970) * 12 + np.where(bad, 1, month) - 1
    start = months.astype("datetime64[M]").astype("datetime64[D]")
    length = ((months + 1).astype("datetime64[M]").astype("datetime64[D]") - start).astype(int)
    bad = bad | (day > length)
    return np.asarray(start.astype(np.float64) + day - 1.0), np.asarray(bad)


def unwrapped_clock_s(seconds: Floats, is_elapsed: bool) -> Floats:
    """Clock times made to run on over midnight: a fall of more than twelve hours is one [s]."""
    if is_elapsed:
        return seconds
    falls = np.diff(seconds) < -DAY_S / 2
    return np.asarray(seconds + DAY_S * np.concatenate([[0.0], np.cumsum(falls)]))
