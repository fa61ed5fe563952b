"""Heat in jars: the modal series against finite volumes with SciPy's BDF; and whole bands.

One jar, one cycle (come-up, 90 min at 15 psi, cooling). Accuracy is the largest error of F0 at
the core, at any knot from a hundredth of a minute on; the truth is a series of sixteen times as
many modes. The finite volumes take the cheapest of some grids and tolerances that reaches 0.5 %
and 0.1 %, the series' own error being smaller still; their Jacobian is given. They yield the
core, the series the coldest point, the mean and an end of the axis as well.
Prints accuracy and time of both and the ratio, then the time of bands of scenarios.
Run: PYTHONPATH=src python benchmarks/heat.py
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from functools import partial

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import coo_matrix

from spawnwright.model.heat import modal_march, modes
from spawnwright.model.heat.bed import Bed
from spawnwright.model.heat.conduction import conduct, conduct_and_keep, continue_from
from spawnwright.model.heat.porous_bed import continue_from as continue_wet_bed
from spawnwright.model.heat.porous_bed import heat_wet_bed_and_keep
from spawnwright.model.heat.steam import saturation_pressure_pa
from spawnwright.model.sterilizing.lethality import lethality_curve_min

QUART = Bed(0.043, 0.114, 250.0, 250.0, 5.0, 2.06e6)
DIFFUSIVITY, START_C, STEAM_C, OFF_S = 1.3e-7, 20.0, 120.95, 7200.0
BENDS = [0.0, 900, 1500, 1800, OFF_S]
LADDER = [
    (12, 16, 1e-3), (16, 22, 1e-4), (22, 30, 1e-4), (30, 40, 1e-4), (30, 40, 1e-5),
    (40, 54, 1e-5), (54, 72, 1e-5), (72, 96, 1e-5),
]  # fmt: skip
WANTED = [0.005, 0.001]


def vessel_c(time_s: np.ndarray, boiling_s: float = 900.0, steam_c: float = STEAM_C) -> np.ndarray:
    bends = [0.0, boiling_s, boiling_s + 600, boiling_s + 900]
    heating = np.interp(time_s, bends, [START_C, 99.97, 99.97, steam_c])
    cooling = 25 + (steam_c - 25) * np.exp(-np.maximum(time_s - OFF_S, 0) / 8520)
    return np.where(time_s <= OFF_S, heating, cooling)


KNOTS = np.r_[np.arange(0, OFF_S, 60.0), OFF_S + np.arange(0, 9001, 180.0)]


def f0(core_c: np.ndarray) -> np.ndarray:
    """Up to each knot [min]."""
    return lethality_curve_min(KNOTS, core_c).ravel()


def error(found: np.ndarray, truth: np.ndarray) -> float:
    counts = truth > 0.01
    return float(np.abs(found[counts] / truth[counts] - 1).max())


def by_modes() -> np.ndarray:
    return f0(conduct(QUART, DIFFUSIVITY, START_C, KNOTS, vessel_c(KNOTS)).core_c)


def exact() -> np.ndarray:
    kept, few = modes.KEPT, modal_march._FEW
    modes.KEPT, modal_march._FEW = 16 * kept, 10**9
    try:
        return by_modes()
    finally:
        modes.KEPT, modal_march._FEW = kept, few


class FiniteVolumes:
    """Rings of equal width and height, flows between their middles; films at the surfaces."""

    def __init__(self, radial: int, axial: int) -> None:
        bed, k = QUART, DIFFUSIVITY * QUART.volumetric_heat_capacity_j_m3k
        wide, tall = bed.radius_m / radial, bed.depth_m / axial
        middle = (np.arange(radial) + 0.5) * wide
        number = np.arange(radial * axial).reshape(radial, axial)
        stored = bed.volumetric_heat_capacity_j_m3k * np.repeat(middle * wide * tall, axial)
        across = np.repeat(np.arange(1, radial) * tall * k, axial)
        along = np.repeat(middle * wide / tall * k, axial - 1)
        one = np.r_[number[:-1].ravel(), number[:, :-1].ravel()]
        other = np.r_[number[1:].ravel(), number[:, 1:].ravel()]
        flow = np.r_[across, along]
        self.film = np.zeros(number.size)
        for cells, film, half, area in (
            (number[-1], bed.side_w_m2k, wide / 2, bed.radius_m * tall),
            (number[:, 0], bed.bottom_w_m2k, tall / 2, middle * wide),
            (number[:, -1], bed.top_w_m2k, tall / 2, middle * wide),
        ):
            self.film[cells] += area / (1 / film + half / k)
        diagonal = -self.film.copy()
        np.subtract.at(diagonal, one, flow)
        np.subtract.at(diagonal, other, flow)
        place = np.arange(number.size)
        rows, columns = np.r_[one, other, place], np.r_[other, one, place]
        matrix = coo_matrix((np.r_[flow, flow, diagonal], (rows, columns)))
        self.matrix = matrix.multiply(1 / stored[:, None]).tocsc()
        self.film /= stored
        self.shape = number.shape

    def core(self, field: np.ndarray) -> np.ndarray:
        """On the axis by a parabola through the two innermost rings, at half the depth."""
        rings = field.reshape(*self.shape, -1)
        middle = self.shape[1] // 2
        inner, next_ = (rings[ring, middle - 1 : middle + 1].mean(axis=0) for ring in (0, 1))
        return inner + (inner - next_) / 8

    def f0(self, tolerance: float) -> np.ndarray:
        field, core = np.full(self.film.size, START_C), [np.array([START_C])]
        for since, until in zip(BENDS, [*BENDS[1:], KNOTS[-1]], strict=True):
            wanted = KNOTS[(since < KNOTS) & (until >= KNOTS)]
            solved = solve_ivp(
                lambda t, y: self.matrix @ y + self.film * vessel_c(np.float64(t)),
                (since, until), field, "BDF", wanted, rtol=tolerance, atol=10 * tolerance,
                jac=self.matrix,
            )  # fmt: skip
            core.append(self.core(solved.y))
            field = solved.y[:, -1]
            if until == KNOTS[-1]:
                break
        return f0(np.concatenate(core))


def best(work: Callable[[], object], times: int) -> float:
    """Shortest of several runs [s]."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def one_jar() -> None:
    truth = exact()
    quick = best(by_modes, 100)
    off = truth[np.searchsorted(KNOTS, OFF_S)]
    print(f"one jar: F0 {off:.3f} min at steam off, {truth[-1]:.3f} min in total")
    print(f"  modal series {1000 * quick:20.2f} ms   error {error(by_modes(), truth):.4%}")
    ladder = iter(LADDER)
    for wanted in WANTED:
        for radial, axial, tolerance in ladder:
            volumes = FiniteVolumes(radial, axial)
            wrong = error(volumes.f0(tolerance), truth)
            if wrong < wanted:
                slow = best(partial(volumes.f0, tolerance), 3)
                side = f"{radial} × {axial} volumes, BDF {tolerance:.0e}"
                print(
                    f"  {side:26}{1000 * slow:7.0f} ms   error {wrong:.4%}   {slow / quick:.0f} ×"
                )
                break


def conduction_band(count: int = 2000) -> None:
    rng = np.random.default_rng(1)
    bed = Bed(
        0.043 * np.exp(rng.normal(0, 0.02, count)), 0.114 * np.exp(rng.normal(0, 0.05, count)),
        rng.uniform(150, 340, count), rng.uniform(150, 340, count), rng.uniform(2, 20, count),
        rng.uniform(1.8e6, 2.3e6, count),
    )  # fmt: skip
    diffusivity = np.exp(rng.normal(np.log(1.3e-7), 0.35, count))
    start, boiling = rng.uniform(15, 25, count), rng.uniform(700, 1100, count)
    vessel = np.array([vessel_c(KNOTS, each, rng.normal(120.5, 0.5)) for each in boiling])
    run = (bed, diffusivity, start, KNOTS, vessel)
    holds = np.linspace(3600, OFF_S, 12)
    since = np.arange(0, 9001, 180.0)
    cooling = 25 + (STEAM_C - 25) * np.exp(-since / 8520)
    alone = best(lambda: conduct(*run), 15)
    kept = best(lambda: conduct_and_keep(*run, holds), 7)
    state = conduct_and_keep(*run, holds)[1]
    cooled = best(lambda: continue_from(state, since, cooling), 7)
    print(f"{count} conduction scenarios, {KNOTS.size} knots, each its own bed and vessel curve")
    print(f"  heated and cooled once    {1000 * alone:8.0f} ms")
    print(f"  kept at 12 instants       {1000 * kept:8.0f} ms")
    print(f"  cooled from each          {1000 * cooled:8.0f} ms")


def wet_band(count: int = 256) -> None:
    rng = np.random.default_rng(2)
    time_s = np.r_[np.arange(0, 9001, 60.0), np.arange(9240, 23401, 240.0)]  # 360 min at pressure
    vessel = np.interp(time_s, [0, 900, 1500, 1800], [START_C, 99.97, 99.97, STEAM_C])
    pressure = np.maximum(saturation_pressure_pa(vessel), 101_325.0)
    run = (
        QUART, rng.uniform(0.1, 0.3, count), rng.uniform(0.05, 0.26, count), START_C,
        time_s, vessel, pressure, 1800 + 60.0 * np.array([30, 60, 90, 150, 360]),
    )  # fmt: skip
    since = np.r_[np.arange(0, 1200, 60.0), np.arange(1200, 7201, 120.0)]
    cooling = 25 + (STEAM_C - 25) * np.exp(-since / 8520)
    air = np.maximum(saturation_pressure_pa(cooling), 101_325.0)
    heated = best(lambda: heat_wet_bed_and_keep(*run), 3)
    state = heat_wet_bed_and_keep(*run)[1]
    cooled = best(lambda: continue_wet_bed(state, since, cooling, air), 3)
    print(f"{count} wet beds, 30 min come-up and 360 min at pressure, then 5 holds cooled for 2 h")
    print(f"  heated                    {1000 * heated:8.0f} ms")
    print(f"  cooled from each          {1000 * cooled:8.0f} ms")


def main() -> None:
    one_jar()
    conduction_band()
    wet_band()


if __name__ == "__main__":
    sys.exit(main())
