"""The modes of a filled jar: a finite cylinder with its own film at side, bottom and top.

A mode is a cylinder's times a slab's; its rate λ is the sum of theirs. Arrays have the scenario
as their last axis. Which modes are kept, with ℓ the lesser of the radius and half the depth:

- Heat needs about 0.02 ℓ²/α to be felt at the core at all; a mode with λ > 500 α/ℓ² has by then
  lost all but exp(−10) of what a step gave it. Those are left out as such,
- but what they hold together of the lag behind a warming vessel is given to one last mode, the
  tail, with λ = 500 α/ℓ². So nothing jumps where the vessel's curve bends.
- They stand in the order of their rates, so that a solver may carry only the first few.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spawnwright.model.heat.bed import Bed, Floats
from spawnwright.model.heat.eigenvalues import CylinderModes, SlabModes, cylinder_modes, slab_modes

Deviations = NDArray[Any]  # of single or double precision
KEPT, SLOW = 500.0, 60.0  # bounds on λ ℓ²/α


@dataclass(frozen=True)
class Outlook:
    """What is looked at in a bed: points of the axis, and last the mean over the bed."""

    share: Floats  # of each mode there: (places, modes, scenarios) [-]
    lag_s: Floats  # behind a vessel that warms steadily: (places, scenarios) [s]

    @cached_property
    def _single(self) -> Deviations:
        return self.share.astype(np.float32)

    def see(self, deviation: Deviations) -> Deviations:
        """What deviations make of temperatures, (places, knots, holds, scenarios) [K].

        `deviation` are the first modes' v, (knots, modes, holds, scenarios) [K]. The vessel's
        temperature less the lag behind it is to be added.
        """
        share = self._single if deviation.dtype == np.float32 else self.share
        share = share[:, : deviation.shape[1]]
        if len(deviation) == 1:
            return np.asarray(np.einsum("pms,tmhs->pths", share, deviation))
        # A few beds at many knots: a matrix product for each bed.
        knots, modes, holds, scenarios = deviation.shape
        stacked = deviation.transpose(3, 1, 0, 2).reshape(scenarios, modes, -1)
        seen = (share.transpose(2, 0, 1) @ stacked).transpose(1, 2, 0)
        return np.asarray(seen.reshape(-1, knots, holds, scenarios))

    def behind(self, slope: Floats) -> Floats:
        """The lag behind a vessel of this slope, (…, holds, scenarios) [K/s], by place [K]."""
        lag = self.lag_s.reshape(len(self.lag_s), *[1] * (slope.ndim - 1), -1)
        return np.asarray(lag * slope)


@dataclass(frozen=True)
class Modes:
    """The modes of beds in the order of their rates, (modes, scenarios) [1/s]."""

    bed: Bed
    diffusivity: Floats
    slab: SlabModes
    cylinder: CylinderModes
    radial_order: NDArray[np.intp]
    axial_order: NDArray[np.intp]
    slow_count: int
    radial_rate: Floats
    axial_rate: Floats
    felt_rate: Floats  # α/ℓ², (scenarios,) [1/s]
    rate: Floats  # the last row is the tail's

    def slow(self) -> Modes:
        """The slow modes alone, for what need not be exact."""
        few = self.slow_count
        rate = np.concatenate([self.rate[:few], SLOW * self.felt_rate[None]])
        radial, axial = self.radial_order[:few], self.axial_order[:few]
        return replace(self, radial_order=radial, axial_order=axial, rate=rate)

    def decay(self, duration_s: Floats) -> Floats:
        """What is left of each deviation after some times, (times, modes, scenarios) [-]."""
        since = -duration_s[:, None, None]
        radial = np.exp(self.radial_rate * since)[:, self.radial_order]
        axial = np.exp(self.axial_rate * since)[:, self.axial_order]
        return np.concatenate([radial * axial, np.exp(self.rate[-1:] * since)], axis=1)

    def outlook(self, heights: Floats) -> Outlook:
        """Look at heights on the axis, as shares of the depth, (places, scenarios) [-]."""
        radial = self.cylinder.weight[self.radial_order]
        ratio = self.cylinder.mean[self.radial_order]
        axial = self.slab.at(heights[:, None, :])[:, self.axial_order]
        mean = ratio * self.slab.mean()[self.axial_order]
        share = np.concatenate([radial * axial, mean[None]])
        share *= self.rate[:-1] <= self.rate[-1]
        lag = self._lag(heights)
        left = lag - np.einsum("pms,ms->ps", share, 1 / self.rate[:-1])
        return Outlook(np.concatenate([share, (left * self.rate[-1])[:, None]], axis=1), lag)

    def _lag(self, heights: Floats) -> Floats:
        """Lag of all modes together on the axis and, last, in the mean, (places, scenarios) [s].

        That of a long cylinder, less what the two ends take from it: along the depth, a radial
        mode's lag is (1 − C exp(−b z) − D exp(−b (H − z)))/(α b²), with b = β/R.
        """
        bed, height = self.bed, (heights * self.bed.depth_m)[:, None, :]
        conductivity = self.diffusivity * bed.volumetric_heat_capacity_j_m3k
        wave = self.cylinder.root / bed.radius_m
        film = wave * conductivity
        low, high = bed.bottom_w_m2k, bed.top_w_m2k
        # Each end: its own C (film + h) + the other's, faded, (h − film) = h.
        across = np.exp(-wave * bed.depth_m)
        whole = (film + low) * (film + high) - (low - film) * (high - film) * across**2
        bottom = (low * (film + high) - high * (low - film) * across) / whole
        top = (high * (film + low) - low * (high - film) * across) / whole
        fade = bottom * np.exp(-wave * height) + top * np.exp(-wave * (bed.depth_m - height))
        mean_fade = (bottom + top) * (1 - across) / (wave * bed.depth_m)
        square, film_share = bed.radius_m**2, conductivity / (bed.side_w_m2k * bed.radius_m)
        axis = square * (1 + 2 * film_share) / 4 - (self.cylinder.weight / wave**2 * fade).sum(1)
        mean = square * (1 + 4 * film_share) / 8 - (self.cylinder.mean / wave**2 * mean_fade).sum(0)
        return np.concatenate([axis, mean[None]]) / self.diffusivity


def bed_modes(bed: Bed, diffusivity: Floats) -> Modes:
    """The modes of beds whose fields, and diffusivity [m²/s], are arrays of shape (scenarios,).

    Raises `OutOfRange` if a Biot number lies outside 1e-8 to 1e8.
    """
    conductivity = diffusivity * bed.volumetric_heat_capacity_j_m3k
    nearest = np.minimum(bed.radius_m, np.asarray(bed.depth_m) / 2)
    felt_rate = diffusivity / nearest**2

    def enough(length: float | Floats) -> int:
        return int(np.sqrt(KEPT) * np.max(length / nearest) / np.pi) + 1

    cylinder = cylinder_modes(bed.side_w_m2k * bed.radius_m / conductivity, enough(bed.radius_m))
    slab = slab_modes(
        bed.bottom_w_m2k * bed.depth_m / conductivity,
        bed.top_w_m2k * bed.depth_m / conductivity,
        enough(bed.depth_m),
    )
    radial_rate = diffusivity * (cylinder.root / bed.radius_m) ** 2
    axial_rate = diffusivity * (slab.root / bed.depth_m) ** 2
    swiftness = ((radial_rate[:, None] + axial_rate) / felt_rate).min(axis=-1)
    swiftness[0, 0] = 0.0
    order = np.argsort(swiftness, axis=None)[: np.count_nonzero(swiftness <= KEPT)]
    radial, axial = np.unravel_index(order, swiftness.shape)
    slow = int(np.count_nonzero(swiftness <= SLOW))
    rate = radial_rate[radial] + axial_rate[axial]
    rate = np.concatenate([rate, KEPT * felt_rate[None]])
    return Modes(
        bed, diffusivity, slab, cylinder, radial, axial, slow,
        radial_rate, axial_rate, felt_rate, rate,
    )  # fmt: skip
