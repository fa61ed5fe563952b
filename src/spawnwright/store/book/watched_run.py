"""A run that was watched, from its own file into the book: the run, and what happened in it."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection

from spawnwright.errors import BadFile
from spawnwright.records.book.form import instant_text
from spawnwright.records.book.steps import Entry, packed
from spawnwright.store.book.history import current
from spawnwright.store.book.notebook import hashed
from spawnwright.store.run_log_file import RunLogFile

_TIMES = {"pressure reached": "at_pressure_at", "heat off": "off_at", "opened": "opened_at"}
_BEFORE = ("soak begun", "simmer begun", "spread to dry")


def entries_of_run(connection: Connection, log: RunLogFile, name: str) -> list[Entry]:
    """What of a watched run the book lacks, as entries of one step.

    The run's id follows from what was known before it and from when heat was put on, so that
    the same file again, grown longer, adds only what is new in it.
    """
    events = [each for each in log.events if each.name not in _BEFORE]
    if not events:
        raise BadFile(f"{name} says of nothing yet that happened at the canner.")
    started = instant_text(events[0].at)
    run = hashed(f"run\x1f{packed(dict(log.head))}\x1f{started}")
    fields: dict[str, Any] = {
        "started_at": started, "purpose": "sterilize", "vessel": log.head.get("canner"),
        "gauge_pa": log.head.get("gauge_pa"),
        "hold_min": None if log.head.get("hold_s") is None else log.head["hold_s"] / 60,
    }  # fmt: skip
    for each in events:
        column = _TIMES.get(each.name)
        if column and column not in fields:
            fields[column] = instant_text(each.at)
    happened = {
        hashed(f"{run}\x1f{each.name}\x1f{instant_text(each.at)}"): {
            "run": run, "at": instant_text(each.at), "what": each.name, "gauge_pa": each.gauge_pa,
        }
        for each in events
    }  # fmt: skip
    there = current(connection, [run, *happened])
    entries = [Entry(i, "event", said) for i, said in happened.items() if i not in there]
    if run not in there:
        return [Entry(run, "sterilizer run", fields), *entries]
    lacking = {
        key: value for key, value in fields.items() if value is not None and there[run][key] is None
    }
    if lacking:
        seen = tuple(there[run]["seen"].split())
        entries.append(Entry(run, "sterilizer run", lacking, seen))
    return entries
