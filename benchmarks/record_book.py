"""The record book with 100,000 jars and 1,000,000 looks: how long the questions and entries take.

    PYTHONPATH=src:. .venv/bin/python benchmarks/record_book.py [JARS] [LOOKS PER JAR] [KILLS]

Fills a book in a folder of its own, asks each question 50 times, prints medians and 95th
percentiles, then kills four writers with SIGKILL, 100 times.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import text
from tests.store.book import writers

from spawnwright.actions.book_jars import recall
from spawnwright.records.book.codes import code_of
from spawnwright.records.book.steps import Entry, Step
from spawnwright.store.book import backup, doctor, history, lineage, shelf
from spawnwright.store.book.engine import Book, open_book
from spawnwright.store.book.export_json import lines
from spawnwright.store.book.journal import add, keep
from spawnwright.store.book.refold import numbers_of, refold

START = datetime(2025, 1, 1, tzinfo=UTC)


def text_of(seconds: float) -> str:
    """An instant so many seconds after the start."""
    return (START + timedelta(seconds=seconds)).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def look(jar: str, number: int, n: int) -> dict[str, object]:
    """One look every second day."""
    return {"jar": jar, "at": text_of(60 * number + 172_800 * (n + 1)), "percent": 10.0 * n}


def fill(book: Book, jars: int, looks: int) -> None:
    """One culture, all jars from it or from each other, every 50th still on the shelf."""

    def kept(number: int, entries: list[Entry]) -> Step:
        at = text_of(number)
        return Step(f"step-{number:08d}", at, "Ada", "laptop", "bulk", tuple(entries), received=at)

    culture = Entry("culture-0", "culture", {"name": "LC", "form": "syringe"})
    with book.write() as connection:
        add(connection, [kept(0, [culture])], ["culture-0"])
        refold(connection, ["culture-0"], frozenset(["culture-0"]))
    for start in range(0, jars, 1000):
        entries = []
        for number in range(start, min(start + 1000, jars)):
            jar = f"jar-{number:08d}"
            made = text_of(60 * number)
            fields = {"code": code_of(number), "jar_kind": "quart", "filled_at": made}
            if number % 50:
                fields |= {"outcome": "used", "outcome_at": made}
            entries.append(Entry(jar, "jar", fields))
            source = {"culture": "culture-0"} if number < 20 else {
                "from_jar": f"jar-{number // 20:08d}"
            }  # fmt: skip
            entries.append(
                Entry(f"inoc-{number:08d}", "inoculation", {"jar": jar, "at": made} | source)
            )
            entries += [
                Entry(f"look-{number:07d}-{n}", "look", look(jar, number, n)) for n in range(looks)
            ]
        new = frozenset(each.record for each in entries)
        with book.write() as connection:
            add(connection, [kept(1 + start, entries)], new)
            refold(connection, new, new)


def timed(name: str, question: Callable[[], object], times: int = 50) -> None:
    """Print median and 95th percentile of a question."""
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        question()
        taken.append(1000 * (time.perf_counter() - begin))
    high = statistics.quantiles(taken, n=20)[-1] if times > 1 else taken[0]
    print(f"{name:42} {statistics.median(taken):9.1f} ms  p95 {high:9.1f} ms")


def ask(book: Book) -> None:
    """All questions that pages and commands ask, and one entry."""

    def read(question: Callable[..., object], *arguments: object) -> Callable[[], object]:
        def run() -> object:
            with book.read() as connection:
                return question(connection, *arguments)

        return run

    jar, number = "jar-00000050", iter(range(10**9))

    def enter() -> None:
        n = next(number)
        entry = Entry(f"new-look-{n:06d}", "look", {"jar": jar, "at": START, "percent": 5})
        keep(book, Step(f"new-step-{n:06d}", START.isoformat(), "A", "p", "look", (entry,)), START)

    with book.read() as connection:
        (root,) = numbers_of(connection, ["culture-0"]).values()
    timed("a look stored, full sync", enter)
    timed("a jar by its code", read(shelf.jar_with_code, code_of(50)))
    timed("a page of the shelf, 100 jars", read(shelf.active_jars))
    timed("a jar's story", read(shelf.story_of, jar))
    timed("a jar's history", read(history.history_of, jar))
    timed("what a jar came from", read(lineage.ancestors, [jar]))
    timed("quarantines over 100 jars",
          read(lineage.quarantines_over, [f"jar-{n:08d}" for n in range(100)]))  # fmt: skip
    timed("stock of jars", read(shelf.stock_of_jars), 10)
    timed("lineage: walk all that came from a culture", read(lineage.walk, [root], "down"), 10)
    timed("mock recall of it, with codes", read(recall, "culture-0"), 3)


def main() -> None:
    """Fill, ask, back up, export, examine, kill."""
    jars, looks, kills = (
        int(each) for each in [*sys.argv[1:], *("100000", "10", "100")[len(sys.argv) - 1 :]]
    )
    with tempfile.TemporaryDirectory(prefix="spawnwright-benchmark-") as name:
        path = Path(name) / "book.db"
        with open_book(path) as book:
            begin = time.perf_counter()
            fill(book, jars, looks)
            taken = time.perf_counter() - begin
            print(f"filled with {jars} jars, {jars * looks} looks in {taken:.0f} s")
            with book.write() as connection:
                connection.execute(text("ANALYZE"))
            ask(book)
            timed("backup, checked", lambda: backup.make_backup(path, "asked"), 1)
            with book.read() as connection, (Path(name) / "all.json").open("w") as file:
                timed("export as JSON", lambda: file.writelines(lines(connection)), 1)
            now = datetime.now(UTC)
            timed("doctor", lambda: doctor.examine(path, now), 1)
        print(f"size {path.stat().st_size / 1e6:.0f} MB")
        crowded = Path(name) / "killed.db"
        open_book(crowded).close()
        done = subprocess.run(
            [sys.executable, writers.__file__, str(crowded), str(kills)],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        said = set(done.stdout.split())
        with open_book(crowded) as book, book.read() as connection:
            there = set(connection.execute(text("SELECT id FROM strains")).scalars())
        print(f"{kills} kills: {len(said)} acknowledged, {len(said - there)} lost, "
              f"{backup.problems_of(crowded) or 'whole'}")  # fmt: skip


if __name__ == "__main__":
    main()
