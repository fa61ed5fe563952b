"""What may happen after what in a run, and which stage it leads to.

Pure functions on the noted events; time comes from their instants only. Events may be missing
(whoever looks at the clock first at "pressure reached" notes that), but none may contradict.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from spawnwright.errors import Contradiction, Unusable
from spawnwright.records.run_log import EVENTS, EventName, RunEvent, Stage
from spawnwright.units import psi

_BEFORE_HEAT: tuple[Stage, ...] = ("not begun", "soaking", "simmering", "drying")
_BEFORE_PRESSURE: tuple[Stage, ...] = (*_BEFORE_HEAT, "heating", "venting", "coming to pressure")
AFTER: dict[EventName, tuple[tuple[Stage, ...], Stage]] = {
    "soak begun": (("not begun",), "soaking"),
    "simmer begun": (("not begun", "soaking"), "simmering"),
    "spread to dry": (("not begun", "soaking", "simmering"), "drying"),
    "heat on": (_BEFORE_HEAT, "heating"),
    "steady jet": ((*_BEFORE_HEAT, "heating"), "venting"),
    "vent closed": ((*_BEFORE_HEAT, "heating", "venting"), "coming to pressure"),
    "pressure reached": (_BEFORE_PRESSURE, "holding"),
    "pressure lost": (("holding",), "pressure lost"),
    "back at pressure": (("pressure lost",), "holding"),
    "heat off": (
        ("heating", "venting", "coming to pressure", "holding", "pressure lost"), "cooling",
    ),
    "zero pressure": (("cooling",), "at zero pressure"),
    "opened": (("at zero pressure",), "opened"),
}  # fmt: skip
"""For each event the stages it may happen in, and the one that it leads to."""

_INSTEAD: dict[EventName, str] = {
    "back at pressure": "note 'pressure lost' first, with the time when it was",
    "pressure lost": "it can only be lost while it is held: after 'pressure reached' or 'back at "
    "pressure'",
    "zero pressure": "note 'heat off' first; if the gauge fell to zero in the hold, note "
    "'pressure lost' with a reading of 0 psi",
    "opened": "note 'zero pressure' first; never open a canner before the gauge is at zero",
}
CLOCKS_DIFFER = timedelta(seconds=90)
FOLLOWED_S = 24 * 3600.0  # after the last event; by then a canner is cold, or was forgotten
_HELD: tuple[EventName, ...] = ("pressure lost", "back at pressure", "heat off")
"""What ends or interrupts heating; nobody heats a canner for more than a day."""


def stage_after(events: Sequence[RunEvent]) -> Stage:
    """The stage that a run is in after these events."""
    return AFTER[events[-1].name][1] if events else "not begun"


def check_event(
    events: Sequence[RunEvent], event: RunEvent, hold_gauge_pa: float, now: datetime | None = None
) -> None:
    """Refuse an event that cannot have happened after the others.

    Parameters
    ----------
    events : sequence of RunEvent
        What was noted before.
    event : RunEvent
        What is to be noted.
    hold_gauge_pa : float
        The gauge pressure that the run is held at [Pa].
    now : datetime, optional
        The present; nothing is noted that lies ahead of it.

    Raises
    ------
    Unusable
        For an unknown event, one in the future, before the last one, or a reading that cannot be.
    Contradiction
        For one that does not follow from the stage the run is in.
    """
    if event.name not in EVENTS:
        raise Unusable(f"There is no event {event.name!r}; there are {', '.join(EVENTS)}.")
    if event.at.tzinfo is None:
        raise Unusable("An event needs an instant with its offset from UTC.")
    if now is not None and event.at > now + CLOCKS_DIFFER:
        raise Unusable(
            f"{event.name!r} at {_clock(event.at)} is in the future: it is {_clock(now)} now. "
            "Note it when it has happened."
        )
    stage = stage_after(events)
    if event.at < (events[-1].at if events else event.at):
        raise Unusable(
            f"{event.name!r} at {_clock(event.at)} is before {events[-1].name!r} at "
            f"{_clock(events[-1].at)}, which is noted already; times cannot go back."
        )
    if stage not in AFTER[event.name][0]:
        hint = _INSTEAD.get(event.name, "")
        raise Contradiction(
            f"{event.name!r} cannot follow: the run is {stage}" + (f"; {hint}." if hint else ".")
        )
    if now is not None:
        _check_not_forgotten(events, event)
    _check_gauge(event, hold_gauge_pa)


def _check_not_forgotten(events: Sequence[RunEvent], event: RunEvent) -> None:
    """Refuse the present as the time of what happened days ago, when it was forgotten."""
    if event.name not in _HELD or not events:
        return
    passed = event.at - events[-1].at
    if passed.total_seconds() > FOLLOWED_S:
        raise Unusable(
            f"{event.name!r} at {_clock(event.at)} would be {passed.days} d after "
            f"{events[-1].name!r}, and no canner is heated for more than a day. Give the time "
            "when it was, as well as you know it."
        )


def _check_gauge(event: RunEvent, hold_gauge_pa: float) -> None:
    if event.gauge_pa is None:
        return
    if event.name != "pressure lost":
        raise Contradiction("A reading of the gauge belongs to 'pressure lost'; leave it out here.")
    if not 0 <= event.gauge_pa < hold_gauge_pa:
        raise Unusable(
            f"Pressure lost at {psi(event.gauge_pa):.1f} psi cannot be: the run is held at "
            f"{psi(hold_gauge_pa):.1f} psi; give the lowest reading, from 0 up to that."
        )


def _clock(instant: datetime) -> str:
    return f"{instant:%Y-%m-%d %H:%M:%S %z}"
