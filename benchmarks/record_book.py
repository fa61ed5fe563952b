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

from spawnwright.actions.book.batches import batch_story, batches, tasks_due
from spawnwright.actions.book.culture import cultures
from spawnwright.actions.book.doubt import in_doubt, mock_recall, quarantine
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.book.listing import shelf_lines
from spawnwright.actions.book.looks import round_as_expected
from spawnwright.actions.book.past import recent_steps
from spawnwright.actions.book.story import jar_story
from spawnwright.records.book.codes import code_of
from spawnwright.records.book.steps import Entry, Step
from spawnwright.store.book import backup, doctor, history, lineage, shelf
from spawnwright.store.book.engine import Book, open_book
from spawnwright.store.book.export_json import lines
from spawnwright.store.book.journal import add, keep
from spawnwright.store.book.refold import numbers_of, refold

START = datetime.now(UTC).replace(microsecond=0) - timedelta(days=92)
"""From here on a jar is filled each minute, and looked at for three weeks; all of it is past."""
A_BATCH = 1000


def text_of(seconds: float) -> str:
    """An instant so many seconds after the start."""
    return (START + timedelta(seconds=seconds)).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def look(jar: str, number: int, n: int) -> dict[str, object]:
    """One look every second day."""
    return {"jar": jar, "at": text_of(60 * number + 172_800 * (n + 1)), "percent": 10.0 * n}


def task(batch: str, start: int, n: int) -> dict[str, object]:
    """One task a day, those of old batches done."""
    at = text_of(60 * start + 86_400 * n)
    said = {"batch": batch, "key": f"look-{n}", "at": at, "until": at, "title": "look"}
    return said | ({"done_at": at} if start < 95_000 else {})


def fill(book: Book, jars: int, looks: int) -> None:
    """One culture, all jars from it or from each other, every 50th still on the shelf."""

    def kept(number: int, entries: list[Entry]) -> Step:
        at = text_of(number)
        return Step(f"step-{number:08d}", at, "Ada", "laptop", "bulk", tuple(entries), received=at)

    culture = Entry("culture-0", "culture", {"name": "LC", "form": "syringe"})
    with book.write() as connection:
        add(connection, [kept(0, [culture])], ["culture-0"])
        refold(connection, ["culture-0"], frozenset(["culture-0"]))
    for start in range(0, jars, A_BATCH):
        batch = f"batch-{start // A_BATCH:06d}"
        entries = [Entry(batch, "batch", {"name": batch, "started_at": text_of(60 * start)})]
        entries += [Entry(f"{batch}-task-{n}", "task", task(batch, start, n)) for n in range(30)]
        for number in range(start, min(start + A_BATCH, jars)):
            jar = f"jar-{number:08d}"
            made = text_of(60 * number)
            fields = {"code": code_of(number), "jar_kind": "quart", "filled_at": made}
            fields["batch"] = batch
            if number % 50:
                fields |= {"outcome": "used", "outcome_at": made}
                fields |= {"jar_back": "washed", "jar_back_at": made}
                fields |= {"lid_back": "washed", "lid_back_at": made}
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
    """Print median and 95th percentile of a question, and the processor's share of the median."""
    taken, worked = [], []
    for _ in range(times):
        begin, work = time.perf_counter(), time.process_time()
        question()
        taken.append(1000 * (time.perf_counter() - begin))
        worked.append(1000 * (time.process_time() - work))
    high = statistics.quantiles(taken, n=20)[-1] if times > 1 else taken[0]
    print(
        f"{name:42} {statistics.median(taken):9.1f} ms  p95 {high:9.1f} ms  "
        f"processor {statistics.median(worked):9.1f} ms",
        flush=True,
    )


def ask(book: Book) -> None:
    """All questions that pages and commands ask, and one entry."""

    def read(question: Callable[..., object], *arguments: object) -> Callable[[], object]:
        def run() -> object:
            with book.read() as connection:
                return question(connection, *arguments)

        return run

    jar, number, now = "jar-00000050", iter(range(10**9)), datetime.now(UTC)

    def enter() -> None:
        n = next(number)
        entry = Entry(f"new-look-{n:06d}", "look", {"jar": jar, "at": START, "percent": 5})
        keep(book, Step(f"new-step-{n:06d}", START.isoformat(), "A", "p", "look", (entry,)), START)

    with book.read() as connection:
        (root,) = numbers_of(connection, ["culture-0"]).values()
    timed("a look stored, full sync", enter)
    timed("a jar by its code", read(shelf.jar_with_code, code_of(50)))
    timed("a page of the shelf, 100 jars", read(shelf.active_jars))
    timed("the shelf as the command lists it", read(shelf_lines, now))
    timed("a jar's whole story with lineage", read(jar_story, code_of(50)))
    timed("the story of the first jar of all", read(jar_story, code_of(1)))
    timed("a jar's history", read(history.history_of, jar))
    timed("what a jar came from", read(lineage.ancestors, [jar]))
    timed("batches, and how they stand", read(batches))
    timed("a batch's story, 1,000 jars", read(batch_story, "batch-000000", now), 10)
    timed("tasks due", read(tasks_due, now))
    timed("cultures and what is left", read(cultures))
    timed("the last steps, and what can be undone", read(recent_steps))
    timed("stock of jars", read(shelf.stock_of_jars), 10)
    timed("lineage: walk all that came from a culture", read(lineage.walk, [root], "down"), 10)
    timed("mock recall of it", read(mock_recall, "LC"), 10)
    timed("mock recall of one jar", read(mock_recall, code_of(50)))
    hand = Hand("A", "p", now)
    quarantine(book, hand, "culture-0", "cloudy", now)
    timed("all in doubt: that list", read(in_doubt), 10)
    timed("all in doubt: a page of the shelf", read(shelf_lines, now))
    timed("all in doubt: a jar's whole story", read(jar_story, code_of(50)))
    with book.read() as connection:
        forty = [each["id"] for each in shelf.active_jars(connection, count=40)]
    timed("a round of 40 jars stored", lambda: round_as_expected(book, hand, forty, now), 20)


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
