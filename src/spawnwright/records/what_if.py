"""A what-if table: one run, and the same with one thing different at a time."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.records.band import Band


@dataclass(frozen=True)
class WhatIfRow:
    """One value of what is varied, and what the run comes to with it; SI, F0 in minutes.

    Where the run cannot be made, `refused` says why and nothing else is known. F0 and water are
    for the hold of the whole table, not for the row's own.
    """

    said: str
    value: float | str | None
    """As in JSON; none where venting is left to the band."""
    is_own: bool
    jars: int
    recommended_hold_s: float | None = None
    none_because: str = ""
    """What would do instead of more minutes."""
    longest_hold_s: float = 0.0
    """By the water that fits under the rack."""
    customary_low_s: float = 0.0
    customary_high_s: float = 0.0
    f0_total_min: Band | None = None
    coldest_f0_total_min: Band | None = None
    come_up_s: Band | None = None
    water_needed_kg: Band | None = None
    refused: str = ""


@dataclass(frozen=True)
class WhatIfBlock:
    """One thing varied, all else as in the run itself."""

    name: str
    """As in JSON, with its unit as suffix."""
    said: str
    rows: tuple[WhatIfRow, ...]


@dataclass(frozen=True)
class WhatIf:
    """The run, the hold that F0 and water are for, and what is varied."""

    run: str
    hold_s: float
    hold_is: str
    """Why this hold, in words."""
    target: float
    """Chance of a survivor that recommended holds are to reach [-]."""
    grain_state: str
    blocks: tuple[WhatIfBlock, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


HEADS = ("", "hold, min", "customary", "F0 core, min", "F0 coldest", "come-up, min", "water, L")


def cells(row: WhatIfRow) -> list[str]:
    """A row as table and page show it: value, hold, customary hold, F0, coldest, come-up, water."""
    own = " *" if row.is_own else ""
    said = f"{row.said}{own}"
    if row.f0_total_min is None or row.coldest_f0_total_min is None:
        return [said, "cannot be", "", "", "", "", ""]
    low, high = row.customary_low_s / 60, row.customary_high_s / 60
    return [
        said,
        row.none_because
        if row.recommended_hold_s is None
        else f"{row.recommended_hold_s / 60:.0f}",
        f"{low:.0f}" if low == high else f"{low:.0f} to {high:.0f}",
        _span(row.f0_total_min, 1.0),
        _span(row.coldest_f0_total_min, 1.0),
        "" if row.come_up_s is None else _span(row.come_up_s, 1 / 60),
        "" if row.water_needed_kg is None else _span(row.water_needed_kg, 1.0, 1),
    ]


def _span(band: Band, factor: float, digits: int | None = None) -> str:
    low, likely, high = (
        f"{each * factor:.{digits}f}" if digits is not None else _short(each * factor)
        for each in (band.low, band.likely, band.high)
    )
    return likely if low == high else f"{likely} ({low} to {high})"


def _short(value: float) -> str:
    return f"{value:.0f}" if value >= 2 else f"{value:.1f}" if value >= 0.05 else "0"
