"""A bed of wet grain in a jar, and what a heat model says of its temperatures.

Shared by the two transport models, `conduction` and `porous_bed`. Every field of a `Bed` is one
number or one per scenario. Heights are measured from the bottom of the bed on its axis.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spawnwright.errors import OutOfRange, Unusable

Floats = NDArray[np.float64]
_CANDIDATES = 7
_LETHALITY_Z_K = 10.0  # the z of F0: which point of the axis is coldest is judged by F0


@dataclass(frozen=True)
class Bed:
    """A cylinder of wet grain and the heat that may pass its three surfaces.

    Parameters
    ----------
    radius_m, depth_m : float or array (scenarios,)
        Inner radius of the jar and depth of the grain in it [m].
    side_w_m2k, bottom_w_m2k, top_w_m2k : float or array (scenarios,)
        Film coefficients from vessel to grain, glass included [W/(m² K)].
    volumetric_heat_capacity_j_m3k : float or array (scenarios,)
        Bulk wet density × specific heat [J/(m³ K)].
    """

    radius_m: float | Floats
    depth_m: float | Floats
    side_w_m2k: float | Floats
    bottom_w_m2k: float | Floats
    top_w_m2k: float | Floats
    volumetric_heat_capacity_j_m3k: float | Floats

    def __post_init__(self) -> None:
        for each in fields(self):
            value = np.asarray(getattr(self, each.name), dtype=float)
            if not (value.min() > 0 and value.max() < np.inf):
                raise Unusable(f"A bed's {each.name} must be above zero; it is {value.min():g}.")

    def spread(self, *others: ArrayLike) -> tuple[Bed, list[Floats]]:
        """The bed and other per-scenario numbers, all as arrays of one shape (scenarios,)."""
        own = [np.asarray(getattr(self, each.name), dtype=float) for each in fields(self)]
        every = np.broadcast_arrays(*own, *(np.asarray(one, dtype=float) for one in others))
        flat = [np.atleast_1d(one) for one in every]
        if flat[0].ndim > 1:
            raise Unusable(f"A bed has one row of scenarios; this has the shape {flat[0].shape}.")
        return Bed(*flat[: len(own)]), flat[len(own) :]

    def part(self, rows: slice) -> Bed:
        """Some of the scenarios of a bed whose fields are arrays."""
        return Bed(*(np.asarray(getattr(self, each.name))[rows] for each in fields(self)))

    def repeated(self, times: int) -> Bed:
        """The same row of beds several times over."""
        return Bed(*(np.tile(np.asarray(getattr(self, each.name)), times) for each in fields(self)))


@dataclass(frozen=True)
class BedHistory:
    """Temperatures in a bed over time.

    `time_s` has the shape (times,) [s]; `core_c` is the point on the axis at half the depth,
    `coldest_c` the point of the axis with the least lethality (z 10 K), `mean_c` the mean over
    the bed, each of shape (scenarios, times), or (scenarios, holds, times) where a bed was
    continued from several instants [°C]. `coldest_height_m` has the shape (scenarios,) [m].
    `end_c` is the axis's end that is heated less, shaped as the core [°C]: once a bed cools, it
    may fall behind what was coldest while it was heated.
    """

    time_s: Floats
    core_c: Floats
    coldest_c: Floats
    mean_c: Floats
    coldest_height_m: Floats
    end_c: Floats


def knots(time_s: ArrayLike) -> Floats:
    """The instants at which a vessel curve is given, checked to rise [s]."""
    time = np.asarray(time_s, dtype=float)
    if time.ndim != 1 or time.size < 2 or not np.all(np.diff(time) > 0):
        raise Unusable("A vessel curve needs two or more instants, each later than the one before.")
    return time


def curve(values: ArrayLike, shape: tuple[int, ...], what: str) -> Floats:
    """A vessel curve spread to `shape`, (…, times), in its own unit [°C or Pa].

    One curve may serve all scenarios and holds.
    """
    given = np.asarray(values, dtype=float)
    if given.ndim == 0 or given.shape[-1] != shape[-1]:
        raise Unusable(
            f"{what} must have one value for each of the {shape[-1]} instants; "
            f"its shape is {given.shape}."
        )
    if given.ndim == 2 and len(shape) == 3:
        given = given[:, None, :]
    if not np.all(np.isfinite(given)):
        raise Unusable(f"{what} must be a number at every instant.")
    return np.broadcast_to(given, shape)


def steam_off_instants(steam_off_s: ArrayLike, time: Floats, scenarios: int) -> Floats:
    """Instants from which beds are to be continued, as (scenarios, holds), checked [s]."""
    instants = np.atleast_1d(np.asarray(steam_off_s, dtype=float))
    spread = np.broadcast_to(instants, (scenarios, instants.shape[-1]))
    outside = (spread < time[0]) | (spread > time[-1])
    if np.any(outside):
        value = float(spread[outside].flat[0])
        raise OutOfRange("The instant of steam off", value, float(time[0]), float(time[-1]), "s")
    return spread


def interpolated(instants: Floats, time: Floats, values: Floats) -> Floats:
    """Values of curves (scenarios, times) [°C or Pa] at `instants`, (scenarios, holds) [s].

    `time` are the curves' own instants [s]; straight lines between them.
    """
    after = np.clip(np.searchsorted(time, instants), 1, time.size - 1)
    rows = np.arange(len(values))[:, None]
    share = (instants - time[after - 1]) / (time[after] - time[after - 1])
    return np.asarray(values[rows, after - 1] * (1 - share) + values[rows, after] * share)


def candidate_heights(bed: Bed) -> Floats:
    """Heights at which the coldest point is looked for, as shares of the depth [-].

    From mid-depth to the end that is heated less, since it is there that heat arrives last;
    shape (candidates, scenarios), the first one the core.
    """
    end = np.where(np.asarray(bed.top_w_m2k) <= bed.bottom_w_m2k, 1.0, 0.0)
    return np.asarray(0.5 + np.linspace(0.0, 1.0, _CANDIDATES)[:, None] * (end - 0.5))


def least_lethal_height(heights: Floats, time: Floats, axis_c: Floats) -> Floats:
    """Height with the least lethality, (scenarios,), as a share of the depth [-].

    A parabola in the logarithm of the lethality, through the least candidate and its neighbors.
    The lethal rate is averaged between the instants, since only its least place is wanted.

    Parameters
    ----------
    heights : array (candidates, scenarios)
        Shares of the depth, evenly spaced [-].
    time : array (times,)
        Instants [s].
    axis_c : array (candidates, times, scenarios)
        Temperatures [°C].
    """
    warmest = axis_c.max(axis=(0, 1))
    rate = ((axis_c - warmest) * (np.log(10) / _LETHALITY_Z_K)).astype(np.float32)
    np.exp(rate, out=rate)
    weight = np.zeros(time.size, dtype=np.float32)
    weight[1:] += np.diff(time) / 2
    weight[:-1] += np.diff(time) / 2
    score = np.log(np.maximum(np.einsum("cts,t->cs", rate, weight), 1e-30))
    columns = np.arange(score.shape[1])
    middle = np.clip(np.argmin(score, axis=0), 1, score.shape[0] - 2)
    below, here, above = (score[middle + offset, columns] for offset in (-1, 0, 1))
    bend = np.maximum(below - 2 * here + above, 1e-12)
    shift = np.clip((below - above) / (2 * bend), -1.0, 1.0)
    return np.asarray(heights[middle, columns] + shift * (heights[1] - heights[0]))
