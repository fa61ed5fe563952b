"""The evening as a chain: soak, simmer, dry, heat, vent, hold, cool; each moves the rest.

A step that has begun counts from the instant that was noted; one that is to come begins when the
one before it ends, or now if that is over. Pure functions of the events and an instant.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from spawnwright.records.run_log import ChainStep, EventName, RunLog
from spawnwright.sources import Constant

REST_S = Constant(
    600.0, "s", source="USDA539", where="at zero: weight off, then wait 10 minutes before opening"
)


@dataclass(frozen=True)
class Typical:
    """Likely times of the steps that nobody plans, from the vessel's balance [s]."""

    to_jet_s: float
    vent_s: float
    rise_s: float
    fall_s: float


@dataclass(frozen=True)
class _Link:
    name: str
    begins: tuple[EventName, ...]
    length_s: float
    what_then: str


def chain_at(log: RunLog, typical: Typical, now: datetime) -> tuple[ChainStep, ...]:
    """The steps of an evening, done, running and to come.

    Parameters
    ----------
    log : RunLog
        Set-up and events [-].
    typical : Typical
        Times of steps that the balance foresees [-].
    now : datetime
        The present [-].

    Returns
    -------
    tuple of ChainStep
        In order. A step that was skipped is left out.

    Notes
    -----
    The hold ends when it is full with time lost not counted. What is due shifts all that follows:
    nothing to come begins before now.
    """
    links = _links(log, typical)
    begun = [_begun_at(log, link) for link in links]
    last = max((place for place, at in enumerate(begun) if at is not None), default=-1)
    is_over = log.last("opened") is not None
    steps: list[ChainStep] = []
    clock = now
    for place, link in enumerate(links):
        began = begun[place]
        if place < last or is_over:
            if began is not None:
                ends = next((at for at in begun[place + 1 :] if at is not None), None)
                steps.append(_step(link, began, ends or log.events[-1].at, "done", now))
            continue
        state: Literal["running", "to come"] = "running" if place == last else "to come"
        began = clock if began is None else began
        ends = began + timedelta(seconds=link.length_s)
        if link.name == "hold" and state == "running":
            ends += timedelta(seconds=_lost_s(log, began, now))
        steps.append(_step(link, began, ends, state, now))
        clock = max(ends, now)
    return tuple(steps)


def _links(log: RunLog, typical: Typical) -> list[_Link]:
    chain, setup = log.setup.chain, log.setup
    before = [
        ("soak", ("soak begun",), chain.soak_s, "rinse, then simmer: note 'simmer begun'"),
        ("simmer", ("simmer begun",), chain.simmer_s,
         "crush a kernel: soft without a chalky middle? drain, note 'spread to dry'"),
        ("dry", ("spread to dry",), chain.dry_s,
         "no wet print on a paper towel? fill, load, note 'heat on'"),
    ]  # fmt: skip
    links = [
        _Link(name, events, length or 0.0, then)  # type: ignore[arg-type]
        for name, events, length, then in before
        if length is not None or log.last(events[0]) is not None  # type: ignore[arg-type]
    ]
    return [
        *links,
        _Link("heat up", ("heat on",), typical.to_jet_s,
              "a steady jet of steam? note 'steady jet'"),
        _Link("vent", ("steady jet",), typical.vent_s, "weight on: note 'vent closed'"),
        _Link("come to pressure", ("vent closed",), typical.rise_s,
              "at the mark? note 'pressure reached'"),
        _Link("hold", ("pressure reached",), setup.hold_s, "heat off: note 'heat off'"),
        _Link("cool to zero", ("heat off",), typical.fall_s,
              "gauge at zero? weight off, note 'zero pressure'"),
        _Link("rest", ("zero pressure",), float(REST_S),
              "open the lid away from your face, note 'opened'"),
    ]  # fmt: skip


def _begun_at(log: RunLog, link: _Link) -> datetime | None:
    found = log.last(link.begins[0])
    return None if found is None else found.at


def _lost_s(log: RunLog, reached: datetime, now: datetime) -> float:
    lost, since = 0.0, None
    for event in log.events:
        if event.at >= reached and event.name == "pressure lost":
            since = event.at
        elif event.name == "back at pressure" and since is not None:
            lost, since = lost + (event.at - since).total_seconds(), None
    return lost + (0.0 if since is None else (now - since).total_seconds())


def _step(
    link: _Link,
    began: datetime,
    ends: datetime,
    state: Literal["done", "running", "to come"],
    now: datetime,
) -> ChainStep:
    is_due = state == "running" and ends <= now
    return ChainStep(link.name, began, ends, state, is_due, link.what_then)
