"""Watch a run: begin its file, note what happens, say where it stands."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from spawnwright.actions.catalogs import look_up
from spawnwright.actions.grain.fill import read_fill
from spawnwright.actions.sterilizing.sterilize_checks import assumed_canner, refuse_what_cannot_be
from spawnwright.errors import BadFile, OutOfRange, Unusable
from spawnwright.model.watch.run_clock import (
    TARGET_F0_MIN,
    RunClock,
    kitchen_of,
    run_clock,
    state_at,
)
from spawnwright.model.watch.run_events import CLOCKS_DIFFER, check_event
from spawnwright.records.run_log import (
    EVENTS,
    ChainTimes,
    EventName,
    RunEvent,
    RunLog,
    RunSetup,
    RunState,
)
from spawnwright.records.sterilizing import SterilizeQuestion
from spawnwright.store.run_log_file import append_event, create_run_log, read_run_log

_LONGEST_CHAIN_S = 3 * 86_400.0
_NEEDED = {
    "jar": "the jar", "gauge_pa": "the gauge's pressure", "ambient_pa": "the elevation",
    "hold_s": "the hold",
}  # fmt: skip
DEFAULTS: dict[str, Any] = {
    "fill": "70%", "jars": 7, "grain": "rye", "canner": None, "moisture": None,
    "grain_state": "unknown", "start": "cold", "burner_w": None, "hob": "unknown", "room_c": 22.0,
    "target_f0_min": float(TARGET_F0_MIN), "is_ambient_measured": False, "soak_s": None,
    "simmer_s": None, "dry_s": None,
}  # fmt: skip
"""What is taken where nothing is said; `watch` says so."""


def begin(path: Path, asked: Mapping[str, Any]) -> RunLog:
    """Begin the file of a run.

    Parameters
    ----------
    path : Path
        A new file.
    asked : mapping
        `jar`, `gauge_pa`, `ambient_pa`, `hold_s`, and what else of `DEFAULTS` is known; catalog
        names and fill as they were typed, all else in SI.

    Raises
    ------
    Unusable
        If something is missing or cannot be: pressure above the rating, jars that do not fit.
    BadFile
        If the file is there already or cannot be written.
    """
    missing = [said for name, said in _NEEDED.items() if asked.get(name) is None]
    if missing:
        raise Unusable(
            f"A new run needs {', '.join(missing)}: give --jar, --gauge, --elevation and --hold, "
            "or --plan with what `plan --json` printed."
        )
    head = {**DEFAULTS, **{name: value for name, value in asked.items() if value is not None}}
    for name in ("jar", "grain", "canner"):  # a file of the grower's own, found from anywhere
        if str(head[name]).endswith(".toml"):
            head[name] = str(Path(head[name]).resolve())
    log = RunLog(setup_of(head))
    kitchen_of(log)  # refuses a burner with which the run could never be looked at
    create_run_log(path, head)
    return log


def forget(path: Path) -> None:
    """Take away the file of a run that was only just begun, since its first event was refused."""
    if not read_run_log(path).events:
        path.unlink()


def resume(path: Path) -> tuple[RunLog, bool]:
    """The run in a file, and whether a torn last line was passed over."""
    found = read_run_log(path)
    try:
        log = RunLog(setup_of(found.head))
    except (KeyError, TypeError, ValueError) as reason:
        raise BadFile(f"{path}, line 1: the set-up cannot be used: {reason}") from reason
    return _with(log, found.events, path), found.is_torn


def note_event(path: Path, event: RunEvent, now: datetime) -> RunLog:
    """Append an event to the file of a run, if it can have happened.

    Raises
    ------
    Unusable
        If it cannot: out of order, in the future, of no known name; nothing is written then.
    BadFile
        If the file cannot be read or written.
    """
    log, _ = resume(path)
    gauge = float(log.setup.question.gauge_pa)
    found = append_event(path, event, lambda noted: check_event(noted, event, gauge, now))
    return _with(RunLog(log.setup), found.events, path)


def clock_at(log: RunLog, now: datetime, last: RunClock | None = None) -> RunClock:
    """A clock of the run as it is now, with as much of an earlier clock as is still true."""
    kitchen = last.kitchen if last is not None and last.log.setup == log.setup else kitchen_of(log)
    return run_clock(log, now, kitchen)


def look(log: RunLog, now: datetime, last: RunClock | None = None) -> tuple[RunState, RunClock]:
    """Where a run stands, and the clock to look at it again with; solved anew where it must be.

    It stands nowhere before its last event: that may have been noted by another clock.
    """
    now = max([now, *(each.at for each in log.events)])
    is_same = last is not None and last.log == log
    clock = last if is_same and last is not None else clock_at(log, now, last)
    if clock.good_until is not None and now > clock.good_until:
        clock = clock_at(log, now, clock)
    return state_at(clock, now), clock


def from_plan(path: Path, run: int) -> dict[str, Any]:
    """What the JSON of a plan says of one of its runs: hold, jars, pressure, times of the steps.

    Raises
    ------
    BadFile
        If it is no plan that can be met, or has no such run.
    """
    try:
        plan = json.loads(path.read_text(encoding="utf-8"))
        steps = [each for each in plan["steps"] if each["run"] == run or each["soak"] == run]
        runs = plan["sterilizer_runs"]
    except OSError as reason:
        raise BadFile(f"{path} cannot be read: {reason.strerror}.") from reason
    except (KeyError, TypeError, ValueError) as reason:
        raise BadFile(f"{path} is not what `plan --json` prints.") from reason
    if not 1 <= run <= len(runs):
        raise BadFile(f"{path} has {len(runs)} sterilizer runs; --run {run} is none of them.")
    found: dict[str, Any] = {"jars": runs[run - 1]["jars"]}
    found["hold_s"] = 60.0 * runs[run - 1]["hold_min"]
    for step in steps:
        kind, amounts = step["kind"], step["amounts"]
        if kind == "hold" and "gauge_kpa" in amounts:
            found["gauge_pa"] = 1000.0 * amounts["gauge_kpa"]
        elif kind == "simmer" and "simmer_min" in amounts:
            found["simmer_s"] = 60.0 * amounts["simmer_min"]
        elif kind in ("soak", "surface_dry"):
            length = datetime.fromisoformat(step["until"]) - datetime.fromisoformat(step["at"])
            found["soak_s" if kind == "soak" else "dry_s"] = length.total_seconds()
    return found


def refuse_before_events(log: RunLog, now: datetime) -> None:
    """Refuse a present that lies before an event, as of a clock that was set back."""
    late = next((each for each in log.events if each.at > now + CLOCKS_DIFFER), None)
    if late is not None:
        raise Unusable(
            f"It cannot be {now.astimezone():%Y-%m-%d %H:%M} now: {late.name!r} was noted at "
            f"{late.at.astimezone():%Y-%m-%d %H:%M}. Set the clock, or give a later --now."
        )


def event_named(text: str) -> EventName:
    """The event that a text means: its name, in any case, or the beginning of one only."""
    wanted = " ".join(text.casefold().replace("-", " ").split())
    found = [name for name in EVENTS if name == wanted]
    found = found or [name for name in EVENTS if wanted and name.startswith(wanted)]
    if len(found) != 1:
        raise Unusable(f"There is no event {text!r}; there are {', '.join(EVENTS)}.")
    return found[0]


def instant_of(text: str, now: datetime, after: datetime | None = None) -> datetime:
    """The instant that a text means: ISO, or a clock time within twelve hours of now.

    A time that the clock shows twice, when summer time ends, is the one that is neither in the
    future nor before `after`; if both could be, the text must say its offset.

    Raises
    ------
    Unusable
        If it is no time, or one that the clocks left out or show twice.
    """
    written = text.strip()
    try:
        if len(written) <= 8:
            clock = datetime.strptime(written, "%H:%M:%S" if written.count(":") > 1 else "%H:%M")
            day = now.astimezone().replace(tzinfo=None)
            days = [day + timedelta(days=shift) for shift in (-1, 0, 1)]
            naive = [each.replace(hour=clock.hour, minute=clock.minute, second=clock.second,
                                  microsecond=0) for each in days]  # fmt: skip
        else:
            found = datetime.fromisoformat(written)
            if found.tzinfo is not None:
                return found.astimezone(UTC)
            naive = [found]
    except ValueError as reason:
        raise Unusable(
            f"{text!r} is no time; write it like 19:42, or 2027-01-03T19:42 with or without an "
            "offset."
        ) from reason
    return _one_of(text, [each for local in naive for each in _instants(local)], now, after)


def _instants(local: datetime) -> Sequence[datetime]:
    """The instants at which this computer's clock shows a local time: one, two, or none."""
    both = [local.replace(fold=fold).astimezone(UTC) for fold in (0, 1)]
    shown = [each for each in both if each.astimezone().replace(tzinfo=None, fold=0) == local]
    return sorted(set(shown))


def _one_of(
    text: str, instants: Sequence[datetime], now: datetime, after: datetime | None
) -> datetime:
    if not instants:
        raise Unusable(f"{text!r} is a time that the clocks left out that night.")
    nearest = min(instants, key=lambda each: abs(each - now))
    same = [each for each in instants if abs(each - nearest) <= timedelta(hours=2)]
    fitting = [each for each in same if each <= now and (after is None or each >= after)]
    if len(fitting) > 1:
        raise Unusable(
            f"The clocks show {text!r} twice that night; write it with its offset, such as "
            f"{fitting[0].astimezone().isoformat()}."
        )
    return fitting[0] if fitting else nearest


def _with(log: RunLog, events: Sequence[RunEvent], path: Path) -> RunLog:
    gauge = float(log.setup.question.gauge_pa)
    for place, event in enumerate(events):
        try:
            check_event(events[:place], event, gauge)
        except Unusable as reason:
            raise BadFile(f"{path}, line {place + 2}: {reason}") from reason
    return RunLog(log.setup, tuple(events))


def setup_of(head: Mapping[str, Any]) -> RunSetup:
    jar, jars = look_up("jars", head["jar"]), int(head["jars"])
    canner = head["canner"]
    question = SterilizeQuestion(
        jar=jar,  # type: ignore[arg-type]
        fill=read_fill(head["fill"]),
        jars=jars,
        grain=look_up("grains", head["grain"]),  # type: ignore[arg-type]
        canner=look_up("canners", canner) if canner else assumed_canner(jar, jars),  # type: ignore[arg-type]
        gauge_pa=float(head["gauge_pa"]),
        ambient_pa=float(head["ambient_pa"]),
        is_ambient_measured=bool(head["is_ambient_measured"]),
        moisture=head["moisture"],
        grain_state=head["grain_state"],
        start=head["start"],
        hold_s=float(head["hold_s"]),
        burner_w=head["burner_w"],
        hob=head["hob"],
        room_c=float(head["room_c"]),
    )
    refuse_what_cannot_be(question)
    target = float(head["target_f0_min"])
    if not 0 < target <= 1000:
        raise OutOfRange("The lethality wanted", target, 0.0, 1000.0, "min")
    chain = ChainTimes(head["soak_s"], head["simmer_s"], head["dry_s"])
    for what, length in (("soak", chain.soak_s), ("simmer", chain.simmer_s), ("dry", chain.dry_s)):
        if length is not None and not 0 < length <= _LONGEST_CHAIN_S:
            raise OutOfRange(f"The time to {what}", length / 3600, 0.0, _LONGEST_CHAIN_S / 3600,
                             "h")  # fmt: skip
    return RunSetup(question, float(head["hold_s"]), target, chain)


__all__ = [
    "RunState", "begin", "event_named", "from_plan", "instant_of", "look",
    "note_event", "refuse_before_events", "resume",
]  # fmt: skip
