"""Everything that a probe in this jar could read, in a form that is asked thousands of times.

A few hundred jars are solved; between them the emulator says *when* the probe has come a given
share of the way from start to steam, as the logarithm of the time. A wider jar, a worse film,
grain that conducts worse all make the same things happen later, and a warmer start or hotter
steam stretch the way itself: so these logarithms are nearly straight in all that is uncertain,
where temperatures, at a steep front of vapor, are anything but.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spawnwright.model.heat.bed import Floats
from spawnwright.model.probe.curves import CLOSER, TO_THE_LIMIT
from spawnwright.model.probe.setting import COORDINATES, Columns, ProbeSetting
from spawnwright.model.scenarios import unit_cube
from spawnwright.model.surrogate import Surrogate, fit

LEVELS = np.concatenate([
    np.geomspace(0.01, 0.1, 6)[:-1], np.linspace(0.1, 0.9, 17), 1 - np.geomspace(0.1, 0.01, 6)[1:]
])  # fmt: skip
"""Shares of the way from start to steam whose times are kept."""
SOLVED = {"conduction": 240, "porous bed": 264}
_RARE = 1.5  # of the variance: rare jars, such as a tip far off in height, are read less well
_CLOSER_EVERY = 6
_FINER = 4  # instants between two knots at which a curve is read, for its times
_LEAST_TIME_S = 1.0


@dataclass(frozen=True)
class Emulator:
    """When a probe reads what, for one way in which heat moves."""

    setting: ProbeSetting
    way: str
    surrogate: Surrogate
    error: Floats
    """Covariance of the log times' errors between the levels, (levels, levels)."""

    def log_times(self, columns: Columns, values: dict[str, Floats]) -> Floats:
        """Log times at the levels, (columns, levels) [ln s]; they rise."""
        found = self.surrogate(columns.features(self.way, values))
        return np.maximum.accumulate(found, axis=1)

    def log_times_of(self, scores: Floats) -> Floats:
        """The same for scores."""
        values = self.setting.values(self.way, scores)
        return self.log_times(Columns.of(self.setting, values, is_curve_wanted=False), values)

    def curves(self, scores: Floats, time_s: Floats) -> Floats:
        """Readings at instants for scores, (columns, times) [°C]."""
        values = self.setting.values(self.way, scores)
        columns = Columns.of(self.setting, values, is_curve_wanted=False)
        share = shares_at(self.log_times(columns, values), np.log(np.maximum(time_s, 1.0)))
        start, steam = columns.start_c[:, None], columns.steam_c[:, None]
        return np.asarray(start + (steam - start) * share)


def emulator(setting: ProbeSetting, way: str, count: int | None = None) -> Emulator:
    """Solve jars that are spread over all that is uncertain, and fit the emulator to them.

    Parameters
    ----------
    setting : ProbeSetting
        Jar, probe and vessel [-].
    way : str
        "conduction" or "porous bed" [-].
    count : int, optional
        Jars to solve [-].

    Returns
    -------
    Emulator
        With its own error, from leaving each solved jar out in turn [-].
    """
    count = count or SOLVED[way]
    values = design(setting, way, count)
    columns = Columns.of(setting, values)
    curves = columns.solve(way, values)
    start, steam = columns.start_c[:, None], columns.steam_c[:, None]
    times = log_times(setting.time_s, (curves - start) / (steam - start))
    features = columns.features(way, values)
    if way == "porous bed":
        times = times + _to_the_limit(setting, values, times, features)
    surrogate = fit(features, times)
    left_out = surrogate.left_out
    return Emulator(setting, way, surrogate, _RARE * left_out.T @ left_out / count)


def _to_the_limit(
    setting: ProbeSetting, values: dict[str, Floats], times: Floats, features: Floats
) -> Floats:
    """What log times are to be changed by for ever finer grids, from a few jars solved closer.

    On the usual grid the foot of a curve comes 5 % early and its middle 0.5 % late, almost alike
    in every jar; taken as quadratic in the transport.
    """
    some = slice(None, None, _CLOSER_EVERY)
    few = {name: each[some] for name, each in values.items()}
    columns = Columns.of(setting, few)
    start, way = columns.start_c[:, None], (columns.steam_c - columns.start_c)[:, None]
    curves = columns.solve("porous bed", few, CLOSER)
    apart = TO_THE_LIMIT * (log_times(setting.time_s, (curves - start) / way) - times[some])
    pore, rest, film = (features[:, :3] - features[:, :3].mean(axis=0)).T
    terms = np.column_stack([
        np.ones(len(features)), pore, rest, film, pore**2, pore * rest, rest**2
    ])  # fmt: skip
    return np.asarray(terms @ np.linalg.lstsq(terms[some], apart, rcond=None)[0])


def design(setting: ProbeSetting, way: str, count: int) -> dict[str, Floats]:
    """Values of all unknowns: every transport alike, all else as it may be, (count,)."""
    names = setting.names(way)
    cube = unit_cube(count, len(names))
    found = {}
    for place, (name, prior) in enumerate(zip(COORDINATES[way], setting.beliefs(way), strict=True)):
        low, high = prior.value[0], prior.value[-1]
        found[name] = low + cube[:, place] * (high - low)
    for place, each in enumerate(setting.inputs, len(found)):
        found[each.name] = each.at(cube[:, place])
    return found


def log_times(time_s: Floats, share: Floats) -> Floats:
    """Natural logarithm of the time at which curves have come given shares of the way.

    Parameters
    ----------
    time_s : array (times,)
        Knots of the curves [s].
    share : array (columns, times)
        Of the way from start to steam, rising [-].

    Returns
    -------
    array (columns, levels)
        Log times [ln s]; past the last knot as if what is left of the way decayed evenly.
    """
    knots = np.arange(time_s.size)
    fine = np.interp(np.arange(_FINER * (time_s.size - 1) + 1) / _FINER, knots, time_s)
    smooth = np.maximum.accumulate(_between_knots(share), axis=1)
    rows = np.arange(len(share))
    found = np.empty((len(share), LEVELS.size))
    for place, level in enumerate(LEVELS):
        after = np.clip((smooth < level).sum(axis=1), 1, fine.size - 1)
        low, high = smooth[rows, after - 1], smooth[rows, after]
        part = np.clip((level - low) / np.maximum(high - low, 1e-12), 0.0, 1.0)
        found[:, place] = fine[after - 1] + part * (fine[after] - fine[after - 1])
    late = smooth[:, -1:] < LEVELS
    if np.any(late):
        back = max(1, fine.size // 20)
        left, before = (np.maximum(1 - smooth[:, each], 1e-3) for each in (-1, -1 - back))
        decay = np.maximum(np.log(before / left), 1e-3) / (fine[-1] - fine[-1 - back])
        rest = np.log(left[:, None] / (1 - LEVELS)) / decay[:, None]
        found = np.where(late, fine[-1] + np.maximum(rest, 0.0), found)
    return np.log(np.maximum(found, _LEAST_TIME_S))


def _between_knots(values: Floats) -> Floats:
    """Curves (columns, knots) at `_FINER` places an interval, by the cubic of each four knots.

    Catmull and Rom's; scipy's splines would cost a fifth of a second of import.
    """
    first, last = 2 * values[:, :1] - values[:, 1:2], 2 * values[:, -1:] - values[:, -2:-1]
    padded = np.hstack([first, values, last])
    before, low, high, after = (padded[:, each : each + values.shape[1] - 1] for each in range(4))
    found = np.empty((len(values), _FINER * (values.shape[1] - 1) + 1))
    for place in range(_FINER):
        x = place / _FINER
        found[:, place:-1:_FINER] = low + 0.5 * x * (
            high
            - before
            + x * (2 * before - 5 * low + 4 * high - after)
            + x * x * (3 * (low - high) + after - before)
        )
    found[:, -1] = values[:, -1]
    return found


def shares_at(log_times: Floats, log_time: Floats) -> Floats:
    """Share of the way at instants, (columns, times) [-], from log times at the levels."""
    after = np.empty((len(log_times), log_time.size), dtype=np.intp)
    for column, each in enumerate(log_times):
        after[column] = np.searchsorted(each, log_time, side="right")
    upper = np.clip(after, 1, LEVELS.size - 1)
    late = np.take_along_axis(log_times, upper, axis=1)
    early = np.take_along_axis(log_times, upper - 1, axis=1)
    part = (log_time - early) / np.maximum(late - early, 1e-9)
    low, high = LEVELS[upper - 1], LEVELS[upper]
    share = low + part * (high - low)
    # Before the first level as a power of the time, after the last as an even decay.
    power = np.log(LEVELS[1] / LEVELS[0]) / np.maximum(log_times[:, 1] - log_times[:, 0], 1e-3)
    foot = LEVELS[0] * np.exp(np.minimum(power[:, None] * (log_time - log_times[:, :1]), 0.0))
    last, before = np.exp(log_times[:, -1:]), np.exp(log_times[:, -2:-1])
    decay = np.log((1 - LEVELS[-2]) / (1 - LEVELS[-1])) / np.maximum(last - before, 1.0)
    rest = 1 - (1 - LEVELS[-1]) * np.exp(-np.maximum(decay * (np.exp(log_time) - last), 0.0))
    share = np.where(after == 0, foot, share)
    return np.asarray(np.where(after == LEVELS.size, rest, share))
