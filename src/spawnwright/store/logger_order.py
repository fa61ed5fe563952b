"""Puts the times of a logger file on one axis, and refuses what is out of order.

Seconds from the first reading, rising without repeats and without gaps.
"""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from spawnwright.errors import BadFile
from spawnwright.records.readings import ReadingChoices
from spawnwright.store import logger_times
from spawnwright.store.logger_layout import Layout
from spawnwright.store.logger_times import BadCell, Stamps

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]
TimeColumn = Floats | Stamps

_UNIT_S = {"seconds": 1.0, "minutes": 60.0, "hours": 3600.0, "milliseconds": 1e-3}
_UNIX_FROM, _UNIX_MS_FROM = 3e8, 3e11  # 1979 as seconds and as milliseconds since 1970
_LARGEST_GAP = 10.0  # times the usual step
_LONG_RUN_S = 86_400.0


def seconds_from_start(
    times: TimeColumn, layout: Layout, choices: ReadingChoices, rows: Rows, origin: str
) -> tuple[Floats, str]:
    """Seconds from the first reading, and a sentence on how the times were read.

    Raises
    ------
    BadFile
        If the times cannot be decided, are out of order, repeat, or leave a gap.
    """
    if not isinstance(times, Stamps):
        seconds, sentence = _from_numbers(times, layout)
    elif layout.time_kind == "clock":
        seconds, sentence = _from_clock(times, layout, origin)
    else:
        seconds, sentence = _from_dates(times, choices, rows, origin)
    problem = _problem(seconds)
    if problem is not None:
        place, why = problem
        raise BadFile(f"{origin}: row {rows[place]} of the file (reading {place + 1}) {why}.")
    return seconds - seconds[0], sentence


def _from_numbers(times: Floats, layout: Layout) -> tuple[Floats, str]:
    unit, said = layout.time_unit, ""
    if unit is None and times[0] >= _UNIX_FROM:
        unit = "milliseconds" if times[0] >= _UNIX_MS_FROM else "seconds"
        said = ", since 1970 by their size"
    elif unit is None:
        unit, said = "minutes", ", which nothing in the file says (--time-unit)"
    seconds = times * _UNIT_S[unit]
    sentence = (
        f"Time: {_name(layout)}, plain numbers in {unit}{said}; first {times[0]:.12g}, "
        f"last {times[-1]:.12g}."
    )
    if "nothing" in said and seconds[-1] - seconds[0] > _LONG_RUN_S:
        sentence += " That is a run of more than a day: if these are seconds, the answer is far "
        sentence += "too high; say --time-unit seconds."
    return seconds, sentence


def _from_clock(stamps: Stamps, layout: Layout, origin: str) -> tuple[Floats, str]:
    seconds, shape = stamps.seconds, "h:mm:ss"
    if not stamps.has_seconds:
        shape = "h:mm"
        if layout.time_unit == "minutes":
            seconds, shape = seconds / 60.0, "m:ss"
        elif layout.time_unit is None and float(np.max(seconds)) >= logger_times.DAY_S:
            raise BadFile(
                f"{origin} writes times such as {_clock(float(np.max(seconds)))}, which could be "
                "hours and minutes or minutes and seconds; say which part comes first with "
                "--time-unit hours or --time-unit minutes."
            )
    is_elapsed = bool(np.max(seconds) >= logger_times.DAY_S) or shape == "m:ss"
    unwrapped = logger_times.unwrapped_clock_s(seconds, is_elapsed)
    nights = round((unwrapped[-1] - seconds[-1]) / logger_times.DAY_S)
    over = f", {nights} midnight{'s' if nights > 1 else ''} passed" if nights else ""
    return unwrapped, (
        f"Time: {_name(layout)}, {shape}{over}; first {_clock(float(seconds[0]))}, "
        f"last {_clock(float(seconds[-1]))}."
    )


def _from_dates(
    stamps: Stamps, choices: ReadingChoices, rows: Rows, origin: str
) -> tuple[Floats, str]:
    has_offset = ~np.isnan(stamps.offset_s)
    if np.any(has_offset) and not np.all(has_offset):
        place = int(np.argmax(has_offset != has_offset[0]))
        raise BadFile(
            f"{origin}: row {rows[place]} of the file (reading {place + 1}): some times name their "
            "offset from UTC and some do not; write it in all rows or in none."
        )
    try:
        orders = logger_times.possible_orders(stamps, choices.dates)
    except BadCell as bad:
        first, middle, last = stamps.dates[bad.place]
        raise BadFile(
            f"{origin}: row {rows[bad.place]} of the file (reading {bad.place + 1}): the date "
            f"{first}, {middle}, {last} {bad.why}; --dates says which number is the day."
        ) from bad
    by_order = {order: logger_times.instants_s(stamps, order) for order in orders}
    sound = [order for order, instants in by_order.items() if _problem(instants) is None]
    left = sound or orders
    if len(left) > 1:
        first, middle, last = stamps.dates[0]
        raise BadFile(
            f"{origin}: the date {first}, {middle}, {last} can be read in two ways; say with "
            f"{' or '.join('--dates ' + order for order in left)} which number comes first."
        )
    instants = by_order[left[0]]
    zone = "UTC" if has_offset[0] else "local time without offset"
    first_at, last_at = (_instant(float(instants[place])) for place in (0, -1))
    how = "" if left[0] == "year-first" else f", {left[0]}"
    return instants, f"Time: dates{how}, {zone}; first {first_at}, last {last_at}."


def _problem(seconds: Floats) -> tuple[int, str] | None:
    """The place of the first reading that is out of order or after a gap, and what is wrong."""
    steps = np.diff(seconds)
    if np.any(steps <= 0):
        place = int(np.argmax(steps <= 0))
        if steps[place] == 0:
            return place + 1, "repeats the instant of the reading before; keep one of the two"
        back = (
            "; if the clock was set back for winter time, export times with their offset from UTC"
            if abs(steps[place] + 3600.0) < 0.1 * 3600.0
            else ""
        )
        return place + 1, f"is earlier than the reading before; sort the file by time{back}"
    return _gap(seconds, float(np.median(steps)))


def _gap(seconds: Floats, usual: float) -> tuple[int, str] | None:
    steps = np.diff(seconds)
    gaps = steps > _LARGEST_GAP * usual * (1.0 + 1e-9)
    if np.any(gaps):
        place = int(np.argmax(gaps))
        return place + 1, (
            f"comes {steps[place] / 60:.4g} min after the reading before, more than ten times the "
            f"usual {usual / 60:.4g} min; what happened between is unknown, so cut the file there"
        )
    return None


def refuse_gaps_of_faults(kept_s: Floats, usual_s: float, rows: Rows, origin: str) -> None:
    """Raise for a gap that left-out readings leave, by the rule that holds for other gaps."""
    problem = _gap(kept_s, usual_s)
    if problem is not None:
        place, why = problem
        raise BadFile(
            f"{origin}: row {rows[place]} of the file {why}. The readings between, from row "
            f"{rows[place - 1] + 1} on, are faults of the sensor."
        )


def _name(layout: Layout) -> str:
    return f'"{layout.time_name}"' if layout.time_name else f"column {layout.time_columns[0] + 1}"


def _clock(seconds: float) -> str:
    whole = int(seconds)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def _instant(seconds: float) -> str:
    return datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d %H:%M:%S")
