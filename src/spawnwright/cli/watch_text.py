"""How the state of a run is said: JSON keys, and lines for people."""

from __future__ import annotations

from datetime import datetime
from math import isfinite
from typing import Any

from spawnwright.cli.answer import Answer, plain
from spawnwright.records.band import Band
from spawnwright.records.run_log import ChainStep, RunLog, RunState


def page_of(log: RunLog, state: RunState) -> Answer:
    """The answer of `watch`: all that is known at this instant."""
    page = Answer(values_of(log, state))
    page.rows(*_rows(log, state))
    if state.stage == "pressure lost" or _was_lost(log):
        page.text(_two_clocks(state))
    page.table(
        ["step", "from", "to", "", "then"],
        [[each.name, _clock(each.begins_at), _clock(each.ends_at), _state(each), each.what_then]
         for each in state.chain],
        title="The evening",
    )  # fmt: skip
    return page.text("\n".join(f"- {each}" for each in state.cautions), title="Mind")


def values_of(log: RunLog, state: RunState) -> dict[str, Any]:
    """The JSON of a state: its fields, and what the run was set up for."""
    values: dict[str, Any] = plain(state)
    values["events"] = [
        {"event": each.name, "at": each.at.isoformat(), "gauge_kpa": None if each.gauge_pa is None
         else each.gauge_pa / 1000}
        for each in log.events
    ]  # fmt: skip
    values["hold_min"] = log.setup.hold_s / 60
    values["target_f0_min"] = log.setup.target_min
    return values


def headline(state: RunState) -> str:
    """The run in one line, the likely numbers first."""
    since = "" if state.since is None else f" since {_clock(state.since)}"
    line = f"{_clock(state.now)}  {state.stage}{since}"
    if state.f0_min is not None:
        line += f"  core F0 {_band(state.f0_min)}"
    if state.hold_left_min is not None:
        line += f"  hold {_left(state.hold_left_min)}"
    return line


def due(state: RunState) -> list[ChainStep]:
    """The steps that are due now."""
    return [each for each in state.chain if each.is_due]


def _rows(log: RunLog, state: RunState) -> list[tuple[str, str, str]]:
    since = "" if state.since is None else f"since {_clock(state.since)}"
    rows = [("now", _clock(state.now), ""), ("stage", state.stage, since)]
    for each in due(state):
        rows.append(("DUE", each.name, f"since {_clock(each.ends_at)}: {each.what_then}"))
    if state.f0_min is None:
        return rows
    target = log.setup.target_min
    rows.append(("lethality at the core", _band(state.f0_min), "F0 so far"))
    if state.coldest_f0_min is not None:
        rows.append(("at the coldest point", _band(state.coldest_f0_min), "F0 so far"))
    if state.core_c is not None and state.vessel_c is not None:
        rows += [("core", _band(state.core_c, "°C"), ""), ("steam", _band(state.vessel_c, "°C"),
                 "")]  # fmt: skip
    if state.hold_left_min is not None and state.hold_ends_at is not None:
        planned = f"of {log.setup.hold_s / 60:.0f} min; ends {_clock(state.hold_ends_at)}"
        rows.append(("planned hold", _left(state.hold_left_min), planned))
    if state.to_target_min is not None:
        rows.append((f"to F0 {target:g} at the core", _band(state.to_target_min),
                     "if pressure is kept"))  # fmt: skip
    if state.chance_target_reached is not None:
        rows.append(("has it already", f"{state.chance_target_reached:.0%}", "of the scenarios"))
    if state.f0_with_cooling_min is not None:
        rows.append(("in the end", _band(state.f0_with_cooling_min),
                     "F0 at the core, plan kept, cooled by itself"))  # fmt: skip
    return rows


def _two_clocks(state: RunState) -> str:
    if state.restarted_hold_left_min is None or state.hold_left_min is None:
        return (
            "Pressure was lost in this run. By the rule for canned food the hold counts only from "
            "the last return to pressure."
        )
    return (
        f"Pressure was lost. By what the jars kept of their heat: hold {_left(state.hold_left_min)}"
        f". By the rule for canned food, which starts the clock again at each return: "
        f"{_left(state.restarted_hold_left_min)}. The second is the cautious choice."
    )


def _was_lost(log: RunLog) -> bool:
    return any(each.name == "pressure lost" for each in log.events)


def _state(step: ChainStep) -> str:
    return "DUE" if step.is_due else step.state


def _band(band: Band, unit: str = "min") -> str:
    likely, low, high = (_number(each) for each in (band.likely, band.low, band.high))
    return f"{likely} {unit} ({low} to {high})"


def _number(value: float) -> str:
    if not isfinite(value):
        return "over 3 h more"
    return f"{value:.0f}" if value >= 20 else f"{value:.1f}" if value >= 0.05 else "0"


def _left(minutes: float) -> str:
    return f"{minutes:.0f} min left" if minutes > 0 else f"full, {-minutes:.0f} min over"


def _clock(instant: datetime) -> str:
    return f"{instant.astimezone():%a %H:%M}"
