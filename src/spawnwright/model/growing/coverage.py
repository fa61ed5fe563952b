"""How far every place in a jar is from the nearest starting point of growth.

Pure functions; a jar is a cylinder standing on z = 0, lengths in one unit of the caller's
choice. Growth is taken as balls around points: straight lines, one speed. Kernels stand in the
way of neither, so distances err to the short side by what the path winds around them; speeds
measured in grain already hold that. Randomness comes from a generator that is handed in.
Range, checks and open questions: docs/models/colonization.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log, pi, sqrt
from typing import Literal

import numpy as np

from spawnwright.errors import Unusable
from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import Floats

Pattern = Literal["spread", "top", "wall", "through"]
PATTERNS: tuple[Pattern, ...] = ("spread", "top", "wall", "through")

WALL_STREAKS = 4  # the jar is turned by a quarter for each, as growers do with one port
LEAST_ON_STREAK, MOST_ON_STREAK = 0.1, 0.6  # share of drops that stay below the needle
LEAST_DEPTH, MOST_DEPTH = 0.5, 1.0  # how far down the bed the liquid runs
MANY = 256  # above so many points a search tree is quicker than all distances

_GOLDEN = pi * (3 - sqrt(5))


@dataclass(frozen=True)
class Cylinder:
    """A bed of grain: `radius` and `height` in one unit of length."""

    radius: float
    height: float

    def __post_init__(self) -> None:
        check_range("The radius of the bed", self.radius, 1e-6, 1e6, "")
        check_range("The depth of the bed", self.height, 1e-6, 1e6, "")

    @property
    def volume(self) -> float:
        """Volume, in the cubed unit of its lengths."""
        return pi * self.radius**2 * self.height

    @property
    def surface(self) -> float:
        """Whole surface, in the squared unit of its lengths."""
        return 2 * pi * self.radius * (self.radius + self.height)

    def hold(self, points: Floats) -> Floats:
        """The points moved to the nearest place inside, shape (count, 3)."""
        out = np.array(points, dtype=float)
        away = np.maximum(np.hypot(out[:, 0], out[:, 1]) / self.radius, 1.0)
        out[:, :2] /= away[:, None]
        out[:, 2] = np.clip(out[:, 2], 0.0, self.height)
        return out


def places_inside(bed: Cylinder, count: int = 1200) -> Floats:
    """Places that stand for equal volumes of the bed, shape (about `count`, 3) [length]."""
    levels = max(8, round((count * bed.height**2 / bed.radius**2 / pi) ** (1 / 3)))
    each = max(16, round(count / levels))
    turn = np.arange(each) * _GOLDEN
    ring = bed.radius * np.sqrt((np.arange(each) + 0.5) / each)
    heights = bed.height * (np.arange(levels) + 0.5) / levels
    turned = turn[None, :] + np.arange(levels)[:, None] * _GOLDEN / 2
    x, y = ring * np.cos(turned), ring * np.sin(turned)
    z = np.broadcast_to(heights[:, None], x.shape)
    return np.stack([x, y, z], axis=-1).reshape(-1, 3)


def places_on_surface(bed: Cylinder, count: int = 600) -> Floats:
    """Places on top, bottom, wall and rims, where the last corner lies, shape (n, 3) [length]."""
    step = sqrt(bed.surface / count)
    round_the_rim = max(12, round(2 * pi * bed.radius / step))
    rows = max(3, round(bed.height / step) + 1)
    angle, z = np.meshgrid(
        2 * pi * np.arange(round_the_rim) / round_the_rim, np.linspace(0, bed.height, rows)
    )
    wall = np.stack([bed.radius * np.cos(angle), bed.radius * np.sin(angle), z], -1).reshape(-1, 3)
    on_lid = max(8, round(pi * bed.radius**2 / step**2))
    turn = np.arange(on_lid) * _GOLDEN
    ring = bed.radius * np.sqrt((np.arange(on_lid) + 0.5) / on_lid)
    flat = np.stack([ring * np.cos(turn), ring * np.sin(turn), np.zeros(on_lid)], -1)
    return np.concatenate([wall, flat, flat + np.array([0.0, 0.0, bed.height])])


def starting_points(
    pattern: Pattern, bed: Cylinder, count: int, generator: np.random.Generator
) -> Floats:
    """Where the drops of liquid culture come to lie, one after another, shape (count, 3).

    Parameters
    ----------
    pattern : str
        `spread`: the liquid runs down below the needle, which stands somewhere over the bed; 10 to
        60 % of the drops stay on that streak, down to 50 to 100 % of the depth, the rest lies
        anywhere in the bed. `top`: on the surface, the first drop in its middle. `wall`: on four
        streaks down the glass, a quarter turn apart. `through`: anywhere in the bed, as after
        tumbling the jar.
    bed : Cylinder
        The grain.
    count : int
        Number of drops that start growing, 1 or more [-].
    generator : numpy.random.Generator
        Where the chance comes from.

    Returns
    -------
    array
        Places; the first n of them are where n drops would lie [length].
    """
    if pattern not in PATTERNS:
        raise Unusable(f"There is no pattern {pattern!r}; known are {', '.join(PATTERNS)}.")
    across = bed.radius * np.sqrt(generator.random(count))
    turn = 2 * pi * generator.random(count)
    z = bed.height * generator.random(count)
    if pattern == "top":
        across[0], z = 0.0, np.full(count, bed.height)
    elif pattern == "wall":
        across, turn = np.full(count, bed.radius), np.arange(count) * 2 * pi / WALL_STREAKS
    x, y = across * np.cos(turn), across * np.sin(turn)
    if pattern == "spread":
        share = generator.uniform(LEAST_ON_STREAK, MOST_ON_STREAK)
        depth = generator.uniform(LEAST_DEPTH, MOST_DEPTH)
        stays = generator.random(count) < share
        stays[0] = True
        x, y = np.where(stays, x[0], x), np.where(stays, y[0], y)
        z = np.where(stays, bed.height * (1 - depth * (1 - z / bed.height)), z)
    return np.stack([x, y, z], axis=-1)


def nearest(places: Floats, points: Floats) -> Floats:
    """Distance from each place to the nearest point, both in the same unit [length]."""
    if len(points) > MANY:
        from scipy.spatial import cKDTree

        return np.asarray(cKDTree(points).query(places)[0])
    return np.asarray(np.sqrt(_squares(places, points).min(axis=1)))


def farthest(bed: Cylinder, points: Floats, rough: Floats) -> float:
    """Distance from the last corner of the bed to the nearest point.

    Parameters
    ----------
    bed : Cylinder
        The grain.
    points : array
        Starting points, shape (count, 3) [length].
    rough : array
        Places among which the search begins, shape (n, 3); `places_inside` and
        `places_on_surface` together [length].

    Returns
    -------
    float
        Distance, found to about a hundredth of the spacing of `rough`; never too long [length].
    """
    return _climb(bed, points, rough[np.argpartition(nearest(rough, points), -4)[-4:]], len(rough))


def _climb(bed: Cylinder, points: Floats, best: Floats, known: int) -> float:
    """The longest distance to the nearest point that is found uphill of some good places."""
    step = (bed.volume / known) ** (1 / 3)
    cube = np.stack(np.meshgrid(*[(-1.0, 0.0, 1.0)] * 3), -1).reshape(-1, 3)
    for _ in range(6):
        cloud = bed.hold((best[:, None, :] + step * cube).reshape(-1, 3))
        away = nearest(cloud, points).reshape(len(best), -1)
        chosen = away.argmax(axis=1)
        best = cloud.reshape(len(best), -1, 3)[np.arange(len(best)), chosen]
        step /= 2
    return float(away.max())


def reach(
    pattern: Pattern,
    bed: Cylinder,
    counts: tuple[int, ...],
    shares: Floats,
    generators: list[np.random.Generator],
) -> Floats:
    """How far growth must reach to cover a share of the bed, over many jars of one kind.

    Parameters
    ----------
    pattern : str
        As in `starting_points`.
    bed : Cylinder
        The grain.
    counts : tuple of int
        Numbers of starting points, rising [-].
    shares : array
        Shares of the bed, rising; 1 means the last corner [-].
    generators : list of numpy.random.Generator
        One for each jar; a jar keeps its drops when more are added.

    Returns
    -------
    array
        Distances [length], shape (jars, counts, shares); along each axis but the first in the
        order of its argument, along the first from the luckiest to the unluckiest, each column
        for itself. More points never make a distance longer.
    """
    inside = places_inside(bed)
    rough = np.concatenate([inside, places_on_surface(bed)])
    table = np.empty((len(generators), len(counts), len(shares)))
    for jar, generator in enumerate(generators):
        points = starting_points(pattern, bed, counts[-1], generator)
        away, known = np.full(len(rough), np.inf), 0
        all_inside = np.empty((len(counts), len(inside)))
        last = np.empty(len(counts))
        for place, count in enumerate(counts):
            away = np.minimum(away, nearest(rough, points[known:count]))
            known = count
            all_inside[place] = away[: len(inside)]
            corners = rough[np.argpartition(away, -4)[-4:]]
            last[place] = _climb(bed, points[:count], corners, len(rough))
        table[jar] = np.quantile(all_inside, shares, axis=1).T
        # Each search may fall a hair short; a jar with fewer drops never reaches less far.
        last = np.maximum.accumulate(last[::-1])[::-1]
        table[jar][:, shares >= 1] = last[:, None]
    return np.sort(table, axis=0)


def random_reach(share: float | Floats, points_per_volume: float | Floats) -> Floats:
    """How far growth must reach to cover a share of endless grain from random points.

        r = [-ln(1-X) / (N 4π/3)]^(1/3)

    Parameters
    ----------
    share : float or array
        Share covered, from 0 to below 1 [-].
    points_per_volume : float or array
        Starting points in a cubed unit of length [1/length³].

    Returns
    -------
    array
        Distance [length].

    Notes
    -----
    All points start at once and grow at one speed; no walls [AVRAMI1940]_. In a jar it takes
    longer: by 20 % for ten points, by 3 % for five hundred.
    """
    check_range("The share", share, 0.0, 1 - 1e-12, "")
    check_range("The number of points in a volume", points_per_volume, 1e-12, 1e15, "")
    return np.asarray(
        (-np.log1p(-np.asarray(share)) / (np.asarray(points_per_volume) * 4 * pi / 3)) ** (1 / 3)
    )


def last_corner_of_many(
    volume: float, surface: float, count: float | Floats, chance: float = 0.5
) -> Floats:
    """Distance from the last corner to the nearest of very many random points.

    In a body of volume 1 with the surface S it solves
    P[n π R³ - ln n - 2 ln ln n ≤ x] = exp(-2⁻⁴ π^(5/3) S e^(-2x/3)).

    Parameters
    ----------
    volume : float
        Volume of the body [length³].
    surface : float
        Its whole surface [length²].
    count : float or array
        Random points in it, 3 or more [-].
    chance : float
        Chance that the distance is shorter, between 0 and 1 [-].

    Returns
    -------
    array
        Distance [length].

    Notes
    -----
    Limit theorem of [PENROSE2023]_ for smooth bodies; a cylinder has rims, from where the last
    corner is farther still. Short by 10 to 15 % for up to 30 points, by 2 to 4 % from 1000.
    """
    check_range("The volume", volume, 1e-18, 1e18, "")
    check_range("The surface", surface, (36 * pi * volume**2) ** (1 / 3) * (1 - 1e-9), 1e18, "")
    check_range("The number of points", count, 3.0, 1e15, "")
    check_range("The chance", chance, 1e-9, 1 - 1e-9, "")
    n, size = np.asarray(count, dtype=float), volume ** (1 / 3)
    x = -1.5 * log(-log(chance) * 16 / (pi ** (5 / 3) * surface / size**2))
    nearly_all = x + np.log(n) + 2 * np.log(np.log(n))
    return np.asarray(size * (np.maximum(nearly_all, 0.0) / (n * pi)) ** (1 / 3))


def _squares(places: Floats, points: Floats) -> Floats:
    """Squared distances, shape (places, points); by one matrix product."""
    far = (places**2).sum(1)[:, None] + (points**2).sum(1)[None, :] - 2 * places @ points.T
    return np.asarray(np.maximum(far, 0.0))
