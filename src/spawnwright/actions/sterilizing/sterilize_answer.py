"""What a sterilizer run does: the answer that commands and planner read, in SI."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from spawnwright.model.scenarios import Floats, Input
from spawnwright.records.band import Band
from spawnwright.records.sterilizing import Jars


@dataclass(frozen=True)
class HoldPoint:
    """One point of the curve: minutes of hold against the chance of a survivor."""

    hold_s: float
    chance_of_survivor: float
    f0_total_min: Band
    fits_water: bool


@dataclass(frozen=True)
class CustomaryHold:
    """What the trade does with jars of this size."""

    low_s: float
    high_s: float
    chance_at_low: float
    chance_at_high: float


@dataclass(frozen=True)
class KindAnswer:
    """What the run does to one kind of jar in the load, at the hold of the answer."""

    kind: Jars
    recommended_hold_s: float | None
    """What it alone would need, in this load."""
    core_at_steam_off_c: Band
    f0_total_min: Band
    coldest_f0_total_min: Band
    chance_of_survivor: float
    share: float
    """How full a jar is, of its nominal volume."""
    grain_kg_per_jar: float
    dry_grain_kg_per_jar: float


@dataclass(frozen=True)
class SterilizeAnswer:
    """What a run does, and what would do; bands over all scenarios.

    The numbers belong to `hold_s`: the hold asked for, else the recommended one, else the
    customary one (`hold_is` says which). In a load of several kinds they are those of the kind
    that fares worst, and `kinds` has each.
    """

    hold_s: float
    hold_is: Literal["asked", "recommended", "customary", "longest"]
    recommended_hold_s: float | None
    longest_hold_s: float
    """The longest hold whose water fits, or that was looked at."""
    steam_c: Band
    core_at_steam_off_c: Band
    f0_at_steam_off_min: Band
    f0_total_min: Band
    coldest_f0_total_min: Band
    chance_of_survivor: float
    come_up_s: Band
    """Burner on to pressure reached."""
    to_jet_s: Band
    """Burner on to the steady jet; venting begins there."""
    to_zero_s: Band
    """Steam off to zero on the gauge."""
    overnight_s: Band
    """Steam off to a core that may be inoculated, canner left shut."""
    opened_warm_s: Band
    """Steam off to a core that may be inoculated, jars taken out at zero pressure."""
    handling_c: float
    """The core temperature those two count to."""
    water_lost_kg: Band
    water_needed_kg: Band
    water_room_kg: float
    """The most water that fits in this canner."""
    water_depth_m: float
    """How deep the water to put in stands between the jars, on the safe side of the band."""
    energy_j: Band
    """Gas or electricity that the burner uses, up to steam off."""
    grain_kg_per_jar: float
    dry_grain_kg_per_jar: float
    hold_curve: tuple[HoldPoint, ...]
    hold_by_state_s: dict[str, float | None]
    """Recommended hold if the grain pours, sticks or smears; empty unless it is unknown."""
    customary: CustomaryHold
    widest_cause: str | None
    """In the grower's words."""
    widest_input: str | None
    """The name of that input."""
    narrow_it_with: str
    left_if_known: dict[str, float] = field(default_factory=dict)
    """Width of the band of F0 that would be left if each input were known, as a share."""
    interpolation_error: float = 0.0
    """Relative error of F0 from interpolating between solved scenarios, one standard deviation."""
    inputs: tuple[Input, ...] = ()
    advice: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    curve: dict[str, Floats] = field(default_factory=dict)
    """`time_s`, `steam_c`, `core_c` of the likely scenario."""
    kinds: tuple[KindAnswer, ...] = ()
    """One for each kind of jar, in the order of the question."""
    slowest: int = 0
    """The place in `kinds` of the one that fares worst."""
