"""The range in which a model holds, checked once for floats and arrays alike."""

from __future__ import annotations

import numpy as np

from spawnwright.errors import OutOfRange
from spawnwright.model.scenarios import Floats


def check_range(what: str, value: float | Floats, low: float, high: float, unit: str) -> None:
    """Raise `OutOfRange` with the first value that is not from `low` to `high`, NaN included."""
    values = np.asarray(value, dtype=np.float64)
    inside = (values >= low) & (values <= high)
    if not np.all(inside):
        raise OutOfRange(what, float(values[~inside].flat[0]), low, high, unit)
