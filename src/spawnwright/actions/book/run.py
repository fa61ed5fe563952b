"""A run of the canner in the record book: begun with its jars, noted as it goes, closed."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import (
    Entered,
    arrived,
    change_entry,
    made_id,
    rows_of,
    with_step,
)
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.errors import Contradiction, Unusable
from spawnwright.records.book.steps import Entry, Kept
from spawnwright.records.run_log import EVENTS, RunEvent
from spawnwright.units import PSI_PA

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.records.kit import Kit
    from spawnwright.store.book.engine import Book

TIMES = {"pressure reached": "at_pressure_at", "heat off": "off_at", "opened": "opened_at"}
"""The events whose instant stands on the run itself."""
USUAL_GAUGE_PA = 15 * PSI_PA
"""The heaviest customary weight, where nobody said what the gauge shows."""


def begin_run(
    book: Book,
    hand: Hand,
    about: Mapping[str, Any],
    jars: Mapping[str, str],
    now: datetime,
) -> Entered:
    """Enter a run with the jars in it, as one step.

    Parameters
    ----------
    book, hand, now
        Where to, who, and the time of receipt.
    about : mapping
        Fields of a sterilizer run: `purpose`, `gauge_pa`, `hold_min`, `elevation_m`, `vessel`,
        `batch`.
    jars : mapping
        Ids of the jars, each with its place in the canner, which may be empty.

    Raises
    ------
    Contradiction
        If a spoiled jar is among those to be used or the other way round, a jar has an outcome or
        culture in it, or was in a run already.
    """
    hand = with_step(hand)
    run = made_id(hand, "run")
    kept = arrived(book, hand)
    if kept is not None:
        return Entered(run, kept)
    _check_meant(about)
    is_spoiled = about.get("purpose", "sterilize") == "spoiled jars"
    with book.read() as connection:
        rows = rows_of(connection, jars, "jar")
        _check_jars(connection, rows, is_spoiled)
    column = "spoiled_jar" if is_spoiled else "jar"
    loads = tuple(
        Entry(made_id(hand, "load", jar), "load",
              {"run": run, column: jar, "position": place or None})
        for jar, place in jars.items()
    )  # fmt: skip
    fields = {"started_at": hand.at, "purpose": "sterilize", **about}
    title = "load the canner" if not is_spoiled else "load the canner with spoiled jars, shut"
    return Entered(
        run, enter(book, hand, title, (Entry(run, "sterilizer run", fields), *loads), now)
    )


def _check_meant(about: Mapping[str, Any]) -> None:
    """Refuse slips before jars are in a run of which nothing can be worked out."""
    if about.get("gauge_pa") is not None and about["gauge_pa"] <= 0:
        raise Unusable(
            "A gauge pressure of 0 is no more than boiling water, which hardy spores survive; "
            "give the pressure of the hold, such as 15 psi."
        )
    if about.get("hold_min") is not None and about["hold_min"] < 1:
        raise Unusable(
            "A hold of no minutes sterilizes nothing; it counts from the moment pressure is "
            "reached. Give the minutes at pressure."
        )


def _check_jars(
    connection: Connection, rows: Mapping[str, Mapping[str, Any]], is_spoiled: bool
) -> None:
    from spawnwright.store.book.runs import jars_not_loaded, jars_with_culture

    growing = set() if is_spoiled else jars_with_culture(connection, rows)
    fresh = {jar["id"] for jar in jars_not_loaded(connection)}
    for jar, row in rows.items():
        if is_spoiled != (row["outcome"] == "spoiled"):
            what = "not spoiled" if is_spoiled else f"{row['outcome']} already"
            if row["outcome"] == "spoiled":
                what = "spoiled"
            raise Contradiction(
                f"Jar {row['code']} is {what}: spoiled jars go into a run of their own."
                if is_spoiled or row["outcome"] == "spoiled"
                else f"Jar {row['code']} is {what} and is not sterilized again."
            )
        if jar in growing:
            raise Contradiction(
                f"Jar {row['code']} has culture in it, which a run would kill; leave it out."
            )
        if not is_spoiled and len(rows) <= 500 and jar not in fresh:
            raise Contradiction(
                f"Jar {row['code']} was in a run already; leave it out, or undo that run first."
            )


def note_run_event(
    book: Book,
    hand: Hand,
    run: str,
    event: RunEvent,
    now: datetime,
    lethality: tuple[float, float, float] | None = None,
) -> Kept:
    """Note what happened in a run, if it can have happened after what is noted.

    Parameters
    ----------
    book, hand, now
        Where to, who, and the time of receipt.
    run : str
        Its id.
    event : RunEvent
        What, when, and what the gauge showed if pressure was lost.
    lethality : tuple of float, optional
        Low, likely, high F0 with cooling at the core, known at the end [min].

    Raises
    ------
    Unusable
        If it is in the future, out of order, or follows from nothing that was noted.
    """
    from spawnwright.model.watch.run_events import check_event

    hand = with_step(hand)
    kept = arrived(book, hand)
    if kept is not None:
        return kept
    with book.read() as connection:
        row = rows_of(connection, [run], "sterilizer run")[run]
        noted = run_events(connection, run)
    check_event(noted, event, float(row["gauge_pa"] or USUAL_GAUGE_PA), now)
    said = {"run": run, "at": event.at, "what": event.name, "gauge_pa": event.gauge_pa}
    entries = [Entry(made_id(hand, "event", run), "event", said)]
    changed: dict[str, Any] = {}
    if event.name == "heat on":
        changed["started_at"] = event.at
    column = TIMES.get(event.name)
    if column and row[column] is None:
        changed[column] = event.at
    if lethality is not None:
        changed |= dict(zip(("f0_low_min", "f0_likely_min", "f0_high_min"), lethality, strict=True))
    if changed:
        entries.append(change_entry(row, changed))
    return enter(book, hand, event.name, tuple(entries), now)


def run_events(connection: Connection, run: str) -> tuple[RunEvent, ...]:
    """What was noted of a run, as the live clock takes it; words of one's own are left out."""
    from spawnwright.store.book.runs import events_of_run

    return tuple(
        RunEvent(each["what"], datetime.fromisoformat(each["at"]), each["gauge_pa"])
        for each in events_of_run(connection, run)
        if each["what"] in EVENTS
    )


def setup_of_run(connection: Connection, run: str, kit: Kit) -> tuple[dict[str, Any], list[str]]:
    """What the live clock needs to know of a run, from its jars, their grain and the kit.

    Parameters
    ----------
    connection : Connection
        The open book.
    run : str
        Its id.
    kit : Kit
        For what the book does not say: elevation, canner, burner, the usual jar.

    Returns
    -------
    tuple
        What `watch_live` takes; and sentences on what had to be assumed.
    """
    from spawnwright.store.book.runs import grain_batches_of, jars_of_run

    row = rows_of(connection, [run], "sterilizer run")[run]
    jars = jars_of_run(connection, run)
    grains = grain_batches_of(connection, jars)
    assumed: list[str] = []

    def known(what: str, *candidates: Any, usual: Any) -> Any:
        for each in candidates:
            if each is not None:
                return each
        assumed.append(f"{what} was not entered: {usual} is taken.")
        return usual

    hold = known("The hold", row["hold_min"], usual=90.0)
    head: dict[str, Any] = {
        "jar": known("The kind of jar", _most(jars, "jar_kind"), kit.jar, usual="quart"),
        "fill": f"{100 * known('The fill', _most(jars, 'fill'), kit.fill, usual=0.7):g}%",
        "jars": len(jars) or 7,
        "grain": known("The grain", _most(grains, "grain"), kit.grain, usual="rye"),
        "grain_state": _most(grains, "texture") or "unknown",
        "moisture": _most(grains, "moisture_likely"),
        "canner": row["vessel"] or kit.canner,
        "burner_w": kit.burner_w,
        "hob": kit.hob or "unknown",
        "gauge_pa": known("The pressure", row["gauge_pa"], usual=USUAL_GAUGE_PA),
        "hold_s": 60.0 * hold,
        "elevation_m": known("The elevation", row["elevation_m"], kit.elevation_m, usual=0.0),
    }
    if not jars:
        assumed.append("No jars were entered: seven are taken.")
    return {name: value for name, value in head.items() if value is not None}, assumed


def _most(rows: Sequence[Mapping[str, Any]], column: str) -> Any:
    counted = Counter(row[column] for row in rows if row[column] is not None)
    return counted.most_common(1)[0][0] if counted else None


def event_at(name: str, at: datetime, gauge_pa: float | None = None) -> RunEvent:
    """An event of a known name; raises `Unusable` for another."""
    if name not in EVENTS:
        raise Unusable(f"There is no event {name!r}; there are {', '.join(EVENTS)}.")
    return RunEvent(name, at, gauge_pa)


def run_story(connection: Connection, run: str) -> dict[str, Any]:
    """All about a run: its row, `jars`, `events`, and the names of its `probes`."""
    from spawnwright.store.book.runs import events_of_run, jars_of_run, traces_of_run

    row = rows_of(connection, [run], "sterilizer run")[run]
    return row | {
        "jars": jars_of_run(connection, run),
        "events": events_of_run(connection, run),
        "probes": [each["probe"] for each in traces_of_run(connection, run)],
    }


def past_runs(
    connection: Connection, count: int, before: str | None = None
) -> list[dict[str, Any]]:
    """Runs, last begun first; `before` is the `started_at` of the last one shown."""
    from spawnwright.store.book.runs import runs

    return runs(connection, count, before)


def jars_to_load(
    connection: Connection, batch: str | None = None, *, is_spoiled: bool = False
) -> list[dict[str, Any]]:
    """Jars that may stand in the next run: fresh ones of a batch or of all, or spoiled ones."""
    from spawnwright.store.book.runs import jars_not_loaded, spoiled_jars

    return spoiled_jars(connection) if is_spoiled else jars_not_loaded(connection, batch)


def planned_run(connection: Connection, batch: str, now: datetime) -> dict[str, Any]:
    """What a batch's plan says of its next run that was not begun: `hold_min`, `gauge_kpa`, …"""
    from spawnwright.store.book.runs import runs_of_batch, tasks_of_hold

    begun = len(runs_of_batch(connection, batch))
    holds = tasks_of_hold(connection, batch)
    if begun >= len(holds):
        return {}
    task = holds[begun]
    amounts: dict[str, Any] = json.loads(task["amounts"] or "{}")
    return amounts | {"at": task["at"], "is_late": datetime.fromisoformat(task["at"]) < now}


def probes_of(connection: Connection, run: str) -> list[dict[str, Any]]:
    """What probes wrote in a run: `probe`, `began_at`, `minute`, `temperature_c`, thinned out."""
    from spawnwright.store.book.runs import traces_of_run

    found = []
    for each in traces_of_run(connection, run):
        step = max(1, len(each["time_s"]) // 400)
        found.append({
            "probe": each["probe"],
            "began_at": each["began_at"],
            "minute": [time / 60 for time in each["time_s"][::step]],
            "temperature_c": each["temperature_c"][::step],
        })  # fmt: skip
    return found
