"""The file of a run that is watched: one JSON object a line, the set-up first, then the events.

Each event is appended under a lock and is on the disk before the program says so. A last line
that was cut off by a crash is passed over, and taken away when the next event is written; every
other line that cannot be read is refused by its number. Two programs may watch one file: each
reads it again before it writes.
"""

from __future__ import annotations

import fcntl
import json
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from spawnwright.errors import BadFile
from spawnwright.records.run_log import EVENTS, RunEvent

KIND, VERSION = "run log", 1
_LARGEST_FILE = 10_000_000  # bytes; an evening has some thousand


@dataclass(frozen=True)
class RunLogFile:
    """What a file holds: its first line, and its events."""

    head: Mapping[str, Any]
    events: tuple[RunEvent, ...]
    is_torn: bool
    """Whether a last line was cut off; it is passed over."""


def create_run_log(path: Path, head: Mapping[str, Any]) -> None:
    """Begin a file with the set-up of a run.

    Raises
    ------
    BadFile
        If there is such a file already, or none can be made there.
    """
    line = _line({"spawnwright": KIND, "version": VERSION, **head})
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with beside.open("xb") as file:
            file.write(line)
            file.flush()
            os.fsync(file.fileno())
        try:
            os.link(beside, path)  # whole, or not at all, and never over another run
        finally:
            beside.unlink()
        _keep_name(path.parent)
    except FileExistsError as reason:
        raise BadFile(f"{path} is there already; name another file for a new run.") from reason
    except OSError as reason:
        raise BadFile(f"{path} cannot be written: {reason.strerror}.") from reason


def read_run_log(path: Path) -> RunLogFile:
    """Read a file as far as it was written.

    Raises
    ------
    BadFile
        If it is no run log, or a line other than a torn last one cannot be read.
    """
    try:
        if path.stat().st_size > _LARGEST_FILE:
            raise BadFile(f"{path} is too large for the notes of an evening.")
        return _parsed(path.read_bytes(), path)
    except OSError as reason:
        raise BadFile(f"{path} cannot be read: {reason.strerror}.") from reason


def append_event(
    path: Path, event: RunEvent, check: Callable[[Sequence[RunEvent]], None]
) -> RunLogFile:
    """Add an event, after `check` has found it sound behind those that the file holds now.

    Raises
    ------
    BadFile
        If the file cannot be read or written.
    """
    try:
        with path.open("r+b") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            data = file.read()
            found = _parsed(data, path)
            check(found.events)
            end = data.rfind(b"\n") + 1 if found.is_torn else len(data)
            file.seek(end)
            file.truncate()
            whole = b"" if data[:end].endswith(b"\n") else b"\n"
            file.write(whole + _line(_as_dict(event)))
            file.flush()
            os.fsync(file.fileno())
    except OSError as reason:
        raise BadFile(f"{path} cannot be written: {reason.strerror}.") from reason
    return RunLogFile(found.head, (*found.events, event), False)


def _parsed(data: bytes, path: Path) -> RunLogFile:
    lines = data.split(b"\n")
    is_torn = bool(lines[-1]) and _object(lines[-1]) is None
    lines = lines[:-1] if is_torn or not lines[-1] else lines
    objects = [_object(line) for line in lines]
    if not objects or objects[0] is None or objects[0].get("spawnwright") != KIND:
        raise BadFile(f"{path} is not the log of a run; `watch` makes one under a new name.")
    if objects[0].get("version") != VERSION:
        raise BadFile(f"{path} was written by a newer version of this program; use that one.")
    events = [_event(each, number, path) for number, each in enumerate(objects[1:], 2)]
    return RunLogFile(objects[0], tuple(events), is_torn)


def _object(line: bytes) -> dict[str, Any] | None:
    try:
        found = json.loads(line)
    except ValueError:
        return None
    return found if isinstance(found, dict) else None


def _event(found: dict[str, Any] | None, number: int, path: Path) -> RunEvent:
    try:
        if found is None:
            raise ValueError("it is no JSON object")
        name, at, gauge = found["event"], datetime.fromisoformat(found["at"]), found.get("gauge_pa")
        if name not in EVENTS:
            raise ValueError(f"there is no event {name!r}")
        if at.tzinfo is None:
            raise ValueError("its time has no offset from UTC")
        return RunEvent(name, at, None if gauge is None else float(gauge))
    except (KeyError, TypeError, ValueError) as reason:
        why = f"{reason} is missing" if isinstance(reason, KeyError) else reason
        raise BadFile(f"{path}, line {number}: {why}; mend or remove that line.") from reason


def _as_dict(event: RunEvent) -> dict[str, Any]:
    found: dict[str, Any] = {"event": event.name, "at": event.at.astimezone(UTC).isoformat()}
    return found if event.gauge_pa is None else {**found, "gauge_pa": event.gauge_pa}


def _line(found: Mapping[str, Any]) -> bytes:
    return json.dumps(found, ensure_ascii=False, allow_nan=False).encode() + b"\n"


def _keep_name(folder: Path) -> None:
    """The name of a new file is on the disk, too."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
