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


@dataclass(frozen=True)
class Readings:
    """Temperatures of one column of a logger file, in order, the first at time zero."""

    time_s: NDArray[np.float64]
    temperature_c: NDArray[np.float64]
    column: str
    account: tuple[str, ...] = field(default=())
    """What was read, and what was assumed, a sentence each."""
