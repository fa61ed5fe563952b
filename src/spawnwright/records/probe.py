"""A probe run: one probe in one jar, and what its readings say about how heat moves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from spawnwright.records.band import Band
from spawnwright.records.fill import Fill
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.records.sterilizing import GrainState

STRAIGHT_J = 10.0
"""Conduction gives a j of about 2; beyond this a straight line describes nothing."""
ProbeWay = Literal["atmospheric", "canner"]


@dataclass(frozen=True)
class ProbeQuestion:
    """The jar, the probe in it and the vessel about it; time counts from the first reading.

    `atmospheric` is steam without pressure; `canner` is the hold at `gauge_pa`. What is not said
    is uncertain.
    """

    jar: Jar
    fill: Fill
    grain: Grain
    way: ProbeWay
    ambient_pa: float
    gauge_pa: float = 0.0
    is_ambient_measured: bool = False
    grain_state: GrainState = "unknown"
    moisture: float | None = None
    start_c: float | None = None
    """Temperature of the bed at the first reading [°C]; none takes that reading."""
    steam_after_s: float | None = None
    """When a steady jet of steam came out; none takes the usual, with a wide margin."""
    pressure_after_s: float | None = None
    """When the pressure was reached, for the canner."""
    heat_off_s: float | None = None
    """When the burner was turned off; readings after it are left out."""
    probe_depth_m: float | None = None
    """How deep the tip was set below the top of the grain; none is half the depth."""
    placement_m: float | None = None
    """How far the tip may be from where it was set: one standard deviation in each direction."""


@dataclass(frozen=True)
class Interval:
    """The middle 95 %: 2.5th percentile, median, 97.5th."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True)
class ProbeTransport:
    """How heat moves in the grower's own grain, as a probe run found it; what its file keeps.

    The numbers are those that would act in a jar of `radius_m` whose grain stores
    `capacity_j_m3k`: a probe run tells how fast heat comes, not how much of it the grain takes.
    Each is lognormal, its spread on either side its own; the pore factor is that of grain with
    the likely conductivity, and changes with another's power `pore_power`.
    """

    jar: str
    grain: str
    way: ProbeWay
    pressure_pa: float
    """Absolute, of the steam in which it was measured."""
    chance_of_conduction: float
    diffusivity_m2_s: Interval
    conductivity_w_mk: Interval
    pore_factor: Interval
    pore_power: float
    radius_m: float
    capacity_j_m3k: float
    readings: int
    fits: bool


@dataclass(frozen=True)
class BeforeAfter:
    """What a real run is thought to do, without and with the probe run."""

    f0_before_min: Band
    f0_after_min: Band
    hold_before_s: float | None
    hold_after_s: float | None
    at_hold_s: float
    """The hold that both bands belong to."""
    gauge_pa: float
    jars: int


@dataclass(frozen=True)
class ProbeAnswer:
    """What a probe run says."""

    question: ProbeQuestion
    transport: ProbeTransport
    diffusivity_m2_s: Interval | None
    """By conduction alone; none from steam without pressure, where it would not carry over."""
    resting_conductivity_w_mk: Interval
    """If no vapor moved, from the same diffusivity."""
    conductivity_w_mk: Interval
    pore_factor: Interval
    chance_before: float
    """Of conduction alone, before the run."""
    likelier: str
    fh_min: Interval
    j: Interval
    probe_off_m: Interval
    """How far from where it was set the tip seems to be, in height."""
    misfits: tuple[str, ...]
    """What speaks against the model; empty if it fits."""
    rms_k: float
    offset_k: float
    time_s: tuple[float, ...]
    measured_c: tuple[float, ...]
    fitted_c: tuple[float, ...]
    residual_k: tuple[float, ...]
    steam_c: float
    effective_draws: float
    real_run: BeforeAfter | None
    cautions: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """Whether the model describes the readings at all."""
        return not self.misfits
