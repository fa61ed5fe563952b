"""Two thousand jars: read off one table of simulated ones, or each simulated for itself.

Prints the time of both, their ratio, and how far apart the bands of the last corner are.
Run: PYTHONPATH=src python benchmarks/colonize.py
"""

from __future__ import annotations

import sys
import time

import numpy as np

from spawnwright.model.growing.colonization import points_input, reach_table
from spawnwright.model.growing.coverage import (
    Cylinder,
    farthest,
    places_inside,
    places_on_surface,
    starting_points,
)
from spawnwright.model.scenarios import Input, band, draw

SCENARIOS = 2000
BED = Cylinder(0.043, 0.114)  # a quart, 70 % full


def by_table(draws: dict[str, np.ndarray], points: Input) -> np.ndarray:
    table = reach_table(BED, "spread", points, np.random.default_rng(1))
    return table.at(draws["starting points"], draws["luck"], 1.0)


def one_by_one(draws: dict[str, np.ndarray]) -> np.ndarray:
    rough = np.concatenate([places_inside(BED), places_on_surface(BED)])
    generators = np.random.default_rng(2).spawn(SCENARIOS)
    return np.array(
        [
            farthest(BED, starting_points("spread", BED, round(count), generator), rough)
            for count, generator in zip(draws["starting points"], generators, strict=True)
        ]
    )


def main() -> None:
    points = points_input(1e-6)
    luck = Input("luck", "uniform", 0.5, 0.05, 0.95, "-", "chance")
    draws = draw([points, luck], SCENARIOS)
    start = time.perf_counter()
    quick = by_table(draws, points)
    middle = time.perf_counter()
    slow = one_by_one(draws)
    end = time.perf_counter()
    print(f"one table      {1000 * (middle - start):7.0f} ms   {show(quick)}")
    print(f"one by one     {1000 * (end - middle):7.0f} ms   {show(slow)}")
    print(f"ratio          {(end - middle) / (middle - start):7.1f}")


def show(distance_m: np.ndarray) -> str:
    found = band(distance_m * 1000)
    return f"last corner {found.low:.1f}, {found.likely:.1f}, {found.high:.1f} mm"


if __name__ == "__main__":
    sys.exit(main())
