"""An independent jar: finite volumes and small steps, general-purpose sparse algebra only.

Nothing of the program is used. Half the depth lies on a face between two cells.
"""

from itertools import pairwise

import numpy as np
from scipy.sparse import coo_matrix, diags
from scipy.sparse.linalg import splu

RADIAL, AXIAL, STEP_S = 24, 40, 30.0


def core_history(
    diffusivity, start_c, boil_c, steam_c, *, is_step=False, hold_min=90.0,
    radius=0.043, depth=0.11404, capacity=2.058e6, film=250.0, top=5.0,
):  # fmt: skip
    """Instants [s] and core [°C] through reference cycle or step, and the instant of steam off."""
    conductivity = diffusivity * capacity
    dr, dz = radius / RADIAL, depth / AXIAL
    edge = np.arange(RADIAL + 1) * dr
    ring = np.pi * (edge[1:] ** 2 - edge[:-1] ** 2)
    cell = np.arange(RADIAL * AXIAL).reshape(RADIAL, AXIAL)
    wall = 2 * np.pi * radius * dz / (1 / film + dr / 2 / conductivity)
    ends = [ring / (1 / each + dz / 2 / conductivity) for each in (film, top)]
    drive = np.zeros(cell.size)
    drive[cell[-1]] += wall
    drive[cell[:, 0]] += ends[0]
    drive[cell[:, -1]] += ends[1]
    across = conductivity * 2 * np.pi * edge[1:-1] * dz / dr
    along = conductivity * ring / dz
    pairs = [(cell[:-1].ravel(), cell[1:].ravel(), np.repeat(across, AXIAL)),
             (cell[:, :-1].ravel(), cell[:, 1:].ravel(), np.repeat(along, AXIAL - 1))]  # fmt: skip
    links = sum(
        coo_matrix((sign * flow, place), shape=(cell.size, cell.size)).tocsc()
        for one, other, flow in pairs
        for sign, place in ((1, (one, other)), (1, (other, one)), (-1, (one, one)),
                            (-1, (other, other)))
    )  # fmt: skip
    heat = np.repeat(ring * dz, AXIAL) * capacity / STEP_S
    flow = links - diags(drive)
    implicit = splu((diags(heat) - 0.5 * flow).tocsc())  # Crank and Nicolson
    off = hold_min * 60 + (0 if is_step else 1800)
    time = np.arange(0, off + (0 if is_step else 6 * 3600) + 1, STEP_S)
    vessel = np.interp(time, [0, 900, 1500, 1800], [start_c, boil_c, boil_c, steam_c])
    vessel = np.full_like(time, steam_c) if is_step else vessel
    after = time > off
    vessel[after] = 25 + (steam_c - 25) * np.exp(-(time[after] - off) / (142 * 60))
    field = np.full(cell.size, float(start_c))
    middle = cell[0, AXIAL // 2 - 1], cell[0, AXIAL // 2]
    core = [float(start_c)]
    for before, now in pairwise(vessel):
        right = heat * field + 0.5 * (flow @ field) + 0.5 * drive * (before + now)
        field = implicit.solve(right)
        core.append(float(field[list(middle)].mean()))
    return time, np.array(core), off


def f0_until(time, core_c, until_s):
    """F0 up to an instant, rates averaged between instants [min]."""
    rate = 10 ** ((core_c - 121.11) / 10)
    last = np.searchsorted(time, until_s)
    return float(np.trapezoid(rate[: last + 1], time[: last + 1]) / 60)


def cooled_instant(time, core_c, off):
    """First instant after steam off from which the core stays below 90 °C."""
    warm = np.flatnonzero((core_c >= 90.0) & (time >= off))
    return float(time[warm[-1]]) if len(warm) else float(time[-1])
