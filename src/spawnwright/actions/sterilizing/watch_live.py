"""Where a run of the record book stands, worked out apart from the server that shows it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime, timedelta
from math import isfinite
from typing import Any

import numpy as np

from spawnwright.actions.steam import outside_air
from spawnwright.actions.sterilizing.watch import clock_at, look, setup_of
from spawnwright.model.sterilizing.lethality import lethality_curve_min
from spawnwright.model.watch.run_clock import RunClock
from spawnwright.records.run_log import RunEvent, RunLog

POINTS = 240
"""Instants of a curve; more are not seen on a screen."""
_last: dict[str, RunClock] = {}
"""The clocks of the runs asked for last, so that the next question is a quick one."""
_KEPT = 32
"""Each takes about a megabyte of the worker."""


def live_state(
    run: str, head: Mapping[str, Any], events: Sequence[RunEvent], now: datetime
) -> dict[str, Any]:
    """Where a run stands, as plain values; infinite minutes are none.

    Parameters
    ----------
    run : str
        Its id, under which its clock is kept.
    head : mapping
        What `book_run.setup_of_run` gives.
    events : sequence of RunEvent
        What was noted.
    now : datetime
        The present.

    Raises
    ------
    Unusable
        If the set-up cannot be: jars that do not fit, pressure above the rating.
    """
    state, clock = look(_log(head, events), now, _last.get(run))
    _keep(run, clock)
    told: dict[str, Any] = _plain(asdict(state))
    return told | {
        "target_f0_min": clock.log.setup.target_min,
        "hold_min": head["hold_s"] / 60,
    }


def _keep(run: str, clock: RunClock) -> None:
    _last.pop(run, None)
    _last[run] = clock
    for oldest in list(_last)[:-_KEPT]:
        del _last[oldest]


def live_curve(
    run: str, head: Mapping[str, Any], events: Sequence[RunEvent], now: datetime
) -> dict[str, Any]:
    """Steam, core and lethality over a run, to now and on as planned; empty before pressure.

    Arrays over `minute`, from the first instant known: `steam_c` (likely), `core_low_c`,
    `core_likely_c`, `core_high_c`, and `f0_low_min`, `f0_likely_min`, `f0_high_min` at the coldest
    point. `began_at` is the instant of minute 0, `now_minute` the present.
    """
    log = _log(head, events)
    clock = clock_at(log, now, _last.get(run))
    reached = log.last("pressure reached")
    if clock.time_s is None or reached is None:
        return {"minute": []}
    assert clock.vessel_c is not None
    assert clock.core_c is not None
    assert clock.coldest_c is not None
    time_s = clock.time_s
    first, last = float(time_s[0]), float(time_s[-1])
    opened = log.last("opened")
    if opened is not None:
        last = min(last, (opened.at - reached.at).total_seconds())
    shown = np.linspace(first, last, POINTS)

    def at(every: Any, share: float) -> list[float]:
        curve = np.quantile(every, share, axis=0)
        return [round(float(each), 3) for each in np.interp(shown, time_s, curve)]

    f0 = lethality_curve_min(time_s, clock.coldest_c)
    return {
        "began_at": (reached.at + timedelta(seconds=first)).isoformat(),
        "minute": [round((each - first) / 60, 3) for each in shown.tolist()],
        "now_minute": ((now - reached.at).total_seconds() - first) / 60,
        "steam_c": at(clock.vessel_c, 0.5),
        **{f"core_{name}_c": at(clock.core_c, share) for name, share in _BAND},
        **{f"f0_{name}_min": at(f0, share) for name, share in _BAND},
    }


_BAND = (("low", 0.05), ("likely", 0.5), ("high", 0.95))


def delivered(
    run: str, head: Mapping[str, Any], events: Sequence[RunEvent], now: datetime
) -> tuple[float, float, float] | None:
    """Low, likely, high F0 at the core, all of a run counted [min]; none if not known."""
    state, clock = look(_log(head, events), now, _last.get(run))
    _keep(run, clock)
    band = state.f0_min
    return None if band is None else (band.low, band.likely, band.high)


def _log(head: Mapping[str, Any], events: Sequence[RunEvent]) -> RunLog:
    from spawnwright.actions.sterilizing.watch import DEFAULTS

    known = dict(head)
    known["ambient_pa"] = outside_air(float(known.pop("elevation_m")), None, None)[0]
    return RunLog(setup_of({**DEFAULTS, **known}), tuple(events))


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: _plain(each) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, float):
        return value if isfinite(value) else None
    return value
