"""The record of a sterilizer run: what a logger saw, and what that was worth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from spawnwright.records.band import Band
from spawnwright.records.readings import Readings

Role = Literal["core", "vessel", "other"]
Verdict = Literal["enough", "too little", "cannot tell"]


@dataclass(frozen=True)
class Channel:
    """One sensor of a run."""

    readings: Readings
    role: Role
    peak_c: float
    minutes_above_reference: float
    lethality_min: float
    """F0 where the sensor sat, cooling included [min]."""
    cooling_min: float
    """The part of it after the last reading within 1 °C of the peak [min]."""


@dataclass(frozen=True)
class CoreByModel:
    """F0 at the core of a jar that a logged vessel heated, by both ways heat may move [min]."""

    by_conduction: Band
    by_vapor: Band
    by_state: Band
    """The two mixed as the state of the grain has them."""
    grain_state: str
    start_c: float
    jar: str


@dataclass(frozen=True)
class RunRecord:
    """A run as it is filed."""

    source: str
    """The name of the logger's file."""
    channels: tuple[Channel, ...]
    core_f0_min: Band | None
    """Measured, or by the models from the vessel; none if neither was logged [min]."""
    is_measured: bool
    target_min: float
    chance_of_target: float | None
    """Share of the scenarios in which the core has what is wanted [-]."""
    verdict: Verdict
    why: str
    by_model: CoreByModel | None
    cautions: tuple[str, ...]
