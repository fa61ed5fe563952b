"""The range in which a model holds, checked once for floats and arrays alike."""

from __future__ import annotations

import numpy as np

from spawnwright.errors import OutOfRange
from spawnwright.model.scenarios import Floats


def check_range(what: str, value: float | Floats, low: float, high: float, unit: str) -> None:
    """Refuse values outside the range in which a model holds, NaN included.

    Parameters
    ----------
    what : str
        What the value is, as the sentence of the error begins.
    value : float or array
        The value or values [unit].
    low, high : float
        The range, ends included [unit].
    unit : str
        As it is to be shown; empty for a bare ratio.

    Raises
    ------
    OutOfRange
        With the first value that is not from `low` to `high`.
    """
    values = np.asarray(value, dtype=np.float64)
    inside = (values >= low) & (values <= high)
    if not np.all(inside):
        raise OutOfRange(what, float(values[~inside].flat[0]), low, high, unit)
