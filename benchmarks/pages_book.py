"""The book that the pages are measured with: a crowd of jars, and everything else a page shows.

The crowd is that of benchmarks/record_book.py: one culture, all jars from it or from each other.
Beside it stand some weeks of ordinary work: cultures of six species, batches on the shelf with
their runs, looks and tasks, blocks with harvests, stock, costs, what is in doubt.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from benchmarks.record_book import fill

from spawnwright.records.book.codes import code_of
from spawnwright.records.book.form import instant_text
from spawnwright.records.book.steps import Entry, Step
from spawnwright.store.book.engine import Book, open_book
from spawnwright.store.book.journal import keep

SPECIES = ("blue-oyster", "king-oyster", "shiitake", "lions-mane", "pioppino", "golden-oyster")
KINDS = ("quart", "pint", "half-gallon")
A_BATCH = 100
A_RUN = 10
Entries = Iterator[Entry]


def build(path: Path, jars: int = 100_000, looks: int = 10, batches: int = 24) -> None:
    """Make the book: `jars` of `looks` each, and `batches` of 100 jars of the last weeks."""
    with open_book(path) as book:
        fill(book, jars, looks)
        add_season(book, jars, batches, datetime.now(UTC).replace(microsecond=0))


def add_season(book: Book, first: int, batches: int, now: datetime) -> None:
    """Some weeks of ordinary work; `first` is the number from which jars get their codes."""
    _keep(book, "cultures", now - timedelta(days=60), [*_cultures()])
    for number in range(batches):
        filled = now - timedelta(days=1 + number)
        _keep(book, f"batch {number}", filled, [*_batch(number, first, filled, now)])
        for day in range(2, 1 + number, 2):
            at = filled + timedelta(days=day)
            _keep(book, f"round {number}-{day}", at, [*_round(number, day, at)])
    _keep(book, "the household", now - timedelta(hours=1), [*_household(first, now)])


def _keep(book: Book, name: str, at: datetime, entries: list[Entry]) -> None:
    """One step in the book, entered as a page would."""
    step = f"season {name}".replace(" ", "-")
    keep(book, Step(step, instant_text(at), "Ada", "phone", name, tuple(entries)), at)


def _cultures() -> Entries:
    """Strains, and ten cultures of each, every other one made from the one before."""
    for species in SPECIES:
        yield Entry(f"strain-{species}", "strain", {"name": species, "species": species})
        for number in range(10):
            about: dict[str, Any] = {
                "name": f"{species} {number}", "form": "liquid culture", "volume_ml": 600,
                "strain": f"strain-{species}", "test": "clean", "tested_on": "2026-01-01",
            }  # fmt: skip
            if number % 2:
                about["parent"] = f"culture-{species}-{number - 1}"
            yield Entry(f"culture-{species}-{number}", "culture", about)


def _jar(batch: int, number: int) -> str:
    return f"season-jar-{batch:03d}-{number:03d}"


def _batch(batch: int, first: int, filled: datetime, now: datetime) -> Entries:
    """A batch with its grain, tasks, jars, their runs and inoculations."""
    species, name = SPECIES[batch % len(SPECIES)], f"season-batch-{batch:03d}"
    ready = [str((filled + timedelta(days=days)).date()) for days in (14, 18, 26)]
    yield Entry(name, "batch", {
        "name": f"Batch {batch}", "started_at": filled, "species": species, "shelf_c": 21.0,
        "ready_low": ready[0], "ready_likely": ready[1], "ready_high": ready[2],
    })  # fmt: skip
    yield Entry(f"grain-{batch:03d}", "grain batch", {
        "made_at": filled, "grain": "rye", "dry_kg": 30, "moisture_low": 0.47,
        "moisture_likely": 0.49, "moisture_high": 0.51,
    })  # fmt: skip
    for day in range(30):
        at = filled + timedelta(days=day)
        about = {"batch": name, "key": f"look-{day}", "at": at, "until": at, "title": "Look",
                 "kind": "look"}  # fmt: skip
        done = {"done_at": at} if at < now - timedelta(days=1) else {}
        yield Entry(f"{name}-task-{day:02d}", "task", about | done)
    for number in range(A_BATCH):
        jar = _jar(batch, number)
        about = {
            "code": code_of(first + batch * A_BATCH + number), "jar_kind": KINDS[batch % 3],
            "filled_at": filled, "fill": 0.66, "grain_kg": 0.5, "batch": name,
            "grain_batch": f"grain-{batch:03d}", "stored_where": f"rack {number % 4}",
            "is_control": number == 0,
        }  # fmt: skip
        if number % 25 == 24 and batch > 8:
            about |= {"outcome": "spoiled", "outcome_at": filled + timedelta(days=8)}
        yield Entry(jar, "jar", about)
        if number:
            yield Entry(f"in-{jar}", "inoculation", {
                "jar": jar, "at": filled + timedelta(hours=12), "number": number,
                "culture": f"culture-{species}-{number % 10}", "dose_ml": 1.0 + number % 3,
            })  # fmt: skip
    for number in range(A_BATCH // A_RUN):
        yield from _run(batch, number, filled + timedelta(minutes=number))


def _run(batch: int, number: int, at: datetime) -> Entries:
    """A run that is over, with its jars, its events, and what a probe wrote."""
    run = f"season-run-{batch:03d}-{number:02d}"
    minutes = {"heat on": 0, "steady jet": 22, "vent closed": 32, "pressure reached": 40,
               "heat off": 130, "zero pressure": 190, "opened": 240}  # fmt: skip
    when = {what: at + timedelta(minutes=after) for what, after in minutes.items()}
    yield Entry(run, "sterilizer run", {
        "started_at": at, "purpose": "sterilize", "batch": f"season-batch-{batch:03d}",
        "gauge_pa": 103_421.0, "hold_min": 90.0, "elevation_m": 0.0,
        "at_pressure_at": when["pressure reached"], "off_at": when["heat off"],
        "opened_at": when["opened"], "f0_low_min": 12.0, "f0_likely_min": 19.0, "f0_high_min": 31.0,
    })  # fmt: skip
    for what, then in when.items():
        yield Entry(f"{run}-{what.replace(' ', '-')}", "event",
                    {"run": run, "at": then, "what": what})  # fmt: skip
    for place in range(A_RUN):
        jar = _jar(batch, number * A_RUN + place)
        yield Entry(f"load-{jar}", "load", {"run": run, "jar": jar, "position": str(place + 1)})
    if number == 0:
        yield Entry(f"{run}-trace", "trace", {
            "run": run, "probe": "core", "began_at": at,
            "time_s": [15.0 * n for n in range(960)],
            "temperature_c": [20.0 + 100.0 * min(1.0, n / 300) for n in range(960)],
        })  # fmt: skip


def _round(batch: int, day: int, at: datetime) -> Entries:
    """A look at each jar of a batch."""
    for number in range(1, A_BATCH):
        said: dict[str, Any] = {"percent": min(100.0, 5.0 * day)}
        if number % 25 == 24 and day == 8:
            said = {"sign": "green"}
        elif number % 40 == 7:
            said = {"sign": "drops"}
        yield Entry(f"look-{_jar(batch, number)}-{day:02d}", "look",
                    {"jar": _jar(batch, number), "at": at} | said)  # fmt: skip


def _household(jars: int, now: datetime) -> Entries:
    """Blocks with spawn and harvests, stock, costs; one culture in doubt."""
    for number in range(400):
        at, block = now - timedelta(days=number / 8), f"block-{number:04d}"
        yield Entry(block, "block", {
            "name": f"Block {number}", "container": "block", "made_at": at, "substrate_kg": 3.0,
        } | ({"ended_on": at.date()} if number > 250 else {}))  # fmt: skip
        yield Entry(f"{block}-use", "use", {
            "jar": f"jar-{(number + 1) % jars:08d}", "block": block, "at": at, "spawn_kg": 0.4,
        })  # fmt: skip
        for flush in (1, 2):
            yield Entry(f"{block}-harvest-{flush}", "harvest",
                        {"block": block, "at": at, "mass_kg": 0.8, "flush": flush})  # fmt: skip
    for number in range(60):
        on = (now - timedelta(days=number)).date()
        yield Entry(f"stock-{number:04d}", "stock change", {
            "changed_on": on, "what": "jar" if number % 4 else "lid",
            "item": KINDS[number % 3] if number % 4 else "port lid", "change": 2400,
            "reason": "bought",
        })  # fmt: skip
        yield Entry(f"cost-{number:04d}", "cost",
                    {"spent_on": on, "what": "grain", "amount": 20.0, "unit": "EUR"})  # fmt: skip
    yield Entry("season-doubt", "quarantine",
                {"record": "culture-shiitake-2", "at": now, "why": "cloudy"})  # fmt: skip
