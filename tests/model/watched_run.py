"""A run to try the live clock on: seven quarts of rye at 15 psi, and an evening of minutes."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from spawnwright.model.watch.run_clock import Kitchen, kitchen_of, run_clock, state_at
from spawnwright.records.canner import Canner
from spawnwright.records.fill import Fill
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.records.run_log import ChainTimes, RunEvent, RunLog, RunSetup, RunState
from spawnwright.records.sterilizing import PinnedTransport, SterilizeQuestion
from spawnwright.store import catalog
from spawnwright.units import PSI_PA

EVENING = datetime(2027, 1, 3, 18, 0, tzinfo=UTC)
_KITCHENS: dict[object, Kitchen] = {}


def question(**more: object) -> SterilizeQuestion:
    """Seven quarts at sea level, ninety minutes."""
    known = {
        "jar": catalog.find(Jar, "jars", "quart"),
        "fill": Fill("share", 0.7, "70%"),
        "jars": 7,
        "grain": catalog.find(Grain, "grains", "rye"),
        "canner": catalog.find(Canner, "canners", "two-layer"),
        "gauge_pa": 15 * PSI_PA,
        "ambient_pa": 101_325.0,
        "start": 20.0,
        "hold_s": 5400.0,
    }
    return SterilizeQuestion(**{**known, **more})  # type: ignore[arg-type]


def conduction(diffusivity_m2_s: float) -> SterilizeQuestion:
    """The same with heat that creeps at one pace."""
    return question(pinned=PinnedTransport("conduction", diffusivity_m2_s))


def at(minutes: float) -> datetime:
    """An instant of the evening."""
    return EVENING + timedelta(minutes=minutes)


def log(*events: tuple, asked: SterilizeQuestion | None = None, **chain: float) -> RunLog:
    """A run with events as (name, minutes) or (name, minutes, gauge in psi)."""
    noted = [
        RunEvent(name, at(minutes), *(each * PSI_PA for each in gauge))
        for name, minutes, *gauge in events
    ]
    setup = RunSetup(asked or question(), 5400.0, 15.0, ChainTimes(**chain))
    return RunLog(setup, tuple(noted))


def state(run: RunLog, minutes: float, scenarios: int = 24) -> RunState:
    """Where it stands; what depends on the set-up alone is worked out once."""
    key = (repr(run.setup.question), scenarios)
    if key not in _KITCHENS:
        _KITCHENS[key] = kitchen_of(run, scenarios)
    now = at(minutes)
    return state_at(run_clock(run, now, _KITCHENS[key]), now)
