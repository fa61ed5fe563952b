"""What a temperature logger wrote, once it has been read."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class ReadingChoices:
    """What a person says about a logger file; None leaves it to the file.

    `separator` is one character; `dates` is "day-first", "month-first" or "year-first";
    `time_unit` is "seconds", "minutes" or "hours"; columns are names, or numbers from 1.
    """

    column: str | None = None
    unit: str | None = None
    decimal: str | None = None
    separator: str | None = None
    time_column: str | None = None
    time_unit: str | None = None
    dates: str | None = None


FAULTS = ("no reading", "sensor not connected", "out of range", "power-on value", "spike")
"""Why a reading is left out; the rules are in `store/logger_faults.py`."""


@dataclass(frozen=True)
class LeftOut:
    """Readings that measure nothing, in order, as arrays of one length."""

    rows: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))
    """In the file, from 1."""
    time_s: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0))
    value_c: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0))
    """NaN where nothing was read."""
    fault: NDArray[np.int8] = field(default_factory=lambda: np.zeros(0, np.int8))
    """Place in `FAULTS`."""

    def __len__(self) -> int:
        return len(self.rows)

    def counts(self) -> dict[str, int]:
        """How many there are of each fault that occurs."""
        counted = {name: int(np.sum(self.fault == place)) for place, name in enumerate(FAULTS)}
        return {name: count for name, count in counted.items() if count}


@dataclass(frozen=True)
class Readings:
    """Temperatures of one column of a logger file, in order; its first row is time zero.

    Faults of the sensor are left out, so the first reading that is left may come later.
    """

    time_s: NDArray[np.float64]
    temperature_c: NDArray[np.float64]
    column: str
    account: tuple[str, ...] = field(default=())
    """What was read, and what was assumed, a sentence each."""
    left_out: LeftOut = field(default_factory=LeftOut)
