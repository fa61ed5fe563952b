"""Published tables, read as they were printed.

A table is a CSV of this folder whose head lines say `# source:` (a key of the bibliography),
`# where:` (table, page) and `# read:` (itself, abstract, second hand, from memory).
"""

from __future__ import annotations

import csv
from decimal import Decimal
from pathlib import Path


def rows(name: str) -> list[dict[str, str]]:
    """Rows of a table, each cell still the string that was printed."""
    lines = (Path(__file__).parent / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def half_last_digit(printed: str) -> float:
    """The largest difference that rounding to the printed digits can explain."""
    exponent = Decimal(printed).as_tuple().exponent
    if not isinstance(exponent, int):
        raise ValueError(f"{printed!r} is no number.")
    return 0.5 * float(Decimal(1).scaleb(exponent))
