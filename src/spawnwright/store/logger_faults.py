"""Which readings of a logger are faults of the sensor: shown, counted and left out.

A reading is left out if nothing was read, if it is a value that sensors give when they measure
nothing, if no vessel of this trade can have it, or if it is a single reading that jumps and comes
back faster than any jar or canner can. What is left out leaves a gap; nothing is filled in.
The rules and what they miss: docs/models/logger-files.md.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spawnwright.records.readings import FAULTS
from spawnwright.sources import COMMON, JUDGMENT, Constant

Floats = NDArray[np.float64]
Codes = NDArray[np.int8]

NOT_CONNECTED_C = Constant(
    -127.0, "°C", source=COMMON, where="what digital thermometers give without a sensor"
)
POWER_ON_C = Constant(
    85.0, "°C", source=COMMON, where="what digital thermometers hold before they first measure"
)
HOTTEST_C = Constant(200.0, "°C", source=JUDGMENT, where="no steam vessel is hotter")
COLDEST_C = Constant(-90.0, "°C", source=JUDGMENT, where="no freezer is colder")
JUMP_K = Constant(3.0, "K", source=JUDGMENT, where="what noise and a draft can do at once")
FASTEST_K_S = Constant(
    12.0 / 60.0, "K/s", source=JUDGMENT,
    where="3 kW into a small canner, its water and a few jars, 15 kJ/K together",
)  # fmt: skip
POWER_ON_K_S = Constant(
    2.0 / 60.0, "K/s", source=JUDGMENT, where="beside exactly 85.0 a tenth of that is enough"
)
MOST_SPIKES = Constant(
    0.1, "-", source=JUDGMENT, where="more of them than one in ten are no accidents but the curve"
)
MOST_FAULTS = Constant(
    0.2, "-", source=JUDGMENT, where="a sensor that fails at one reading in five measures nothing"
)

NO_READING = frozenset(
    b"|nan|+nan|-nan|n/a|na|#n/a|null|none|inf|+inf|-inf|-|--|---|----|-----|ol|err|error".split(
        b"|"
    )
)
"""Cells that say that nothing was read, in small letters; the first of them is empty."""

_RESOLUTION_C = 0.011
_SOUND, _NOTHING, _UNPLUGGED, _BEYOND, _POWER_ON, _SPIKE = range(-1, len(FAULTS))


def fault_codes(time_s: Floats, temperature_c: Floats, *, has_unit: bool = True) -> Codes:
    """For each reading the place of its fault in `FAULTS`, or −1 if it is sound.

    Parameters
    ----------
    time_s : array
        Instants, rising [s].
    temperature_c : array
        Temperatures, NaN where nothing was read [°C].
    has_unit : bool
        Whether the temperatures are known to be in °C; if not, none is called out of range.
    """
    codes = np.full(len(time_s), _SOUND, np.int8)
    codes[np.isnan(temperature_c)] = _NOTHING
    codes[np.abs(temperature_c - NOT_CONNECTED_C) < _RESOLUTION_C] = _UNPLUGGED
    if has_unit:
        wild = (temperature_c > HOTTEST_C) | (temperature_c < COLDEST_C)
        codes[wild & (codes == _SOUND)] = _BEYOND
    for mark, find in ((_POWER_ON, _held_at_power_on), (_SPIKE, _spikes)):
        sound = codes == _SOUND
        if sound.all():
            codes[find(time_s, temperature_c)] = mark
        else:
            places = np.flatnonzero(sound)
            codes[places[find(time_s[places], temperature_c[places])]] = mark
    return codes


def _held_at_power_on(time_s: Floats, temperature_c: Floats) -> NDArray[np.bool_]:
    """Runs of exactly 85.0 that stand away from what is before and after, on the same side.

    At the very beginning only what comes after can tell: a sensor starts with this value.
    """
    is_mark = np.abs(temperature_c - POWER_ON_C) < _RESOLUTION_C
    if not is_mark.any() or is_mark.all():
        return np.zeros(len(time_s), np.bool_)
    edges = np.diff(is_mark.astype(np.int8), prepend=0, append=0)
    first, last = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    before, after = np.maximum(first - 1, 0), np.minimum(last + 1, len(time_s) - 1)
    away_before = temperature_c[before] - temperature_c[first]
    away_after = temperature_c[after] - temperature_c[last]
    bound_before = JUMP_K + POWER_ON_K_S * (time_s[first] - time_s[before])
    bound_after = JUMP_K + POWER_ON_K_S * (time_s[after] - time_s[last])
    jumps_after = (np.abs(away_after) > bound_after) & (last < len(time_s) - 1)
    jumps_before = (np.abs(away_before) > bound_before) & (away_before * away_after > 0)
    is_fault = jumps_after & (jumps_before | (first == 0))
    steps = np.zeros(len(time_s) + 1, np.int64)
    np.add.at(steps, first[is_fault], 1)
    np.add.at(steps, last[is_fault] + 1, -1)
    return np.asarray(np.cumsum(steps[:-1]) > 0)


def _spikes(time_s: Floats, temperature_c: Floats) -> NDArray[np.bool_]:
    """Single readings away from both neighbors, on the same side, by more than can be.

    Only the way up is bounded by physics: letting steam off cools as fast as one likes. A peak
    rises before it falls and a dip after, so each of them has a way up; the other must be as far
    and lead back. A curve that has many of them is jagged, and is kept as it is.
    """
    found = np.zeros(len(time_s), np.bool_)
    if len(time_s) < 3:
        return found
    jumps = np.abs(np.diff(temperature_c)) > JUMP_K
    middle = np.flatnonzero(jumps[:-1] & jumps[1:]) + 1  # the few that are worth a closer look
    come = temperature_c[middle] - temperature_c[middle - 1]
    go = temperature_c[middle + 1] - temperature_c[middle]
    up_s = np.where(come > 0, time_s[middle] - time_s[middle - 1],
                    time_s[middle + 1] - time_s[middle])  # fmt: skip
    lesser = np.minimum(np.abs(come), np.abs(go))
    comes_back = (come * go < 0) & (np.abs(come + go) <= lesser / 2)
    spikes = middle[comes_back & (lesser > JUMP_K + FASTEST_K_S * up_s)]
    if len(spikes) <= MOST_SPIKES * len(time_s):
        found[spikes] = True
    return found
