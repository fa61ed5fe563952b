"""Four writers on one book, killed with SIGKILL, so many times: PATH TURNS [LONGEST].

Prints the id of every record that a writer was told is kept. The writers are forked from this
process, which has loaded everything once.
"""

from __future__ import annotations

import os
import select
import signal
import sys
import time
from pathlib import Path

from spawnwright.records.book.steps import Entry, Step
from spawnwright.store.book.engine import open_book
from spawnwright.store.book.journal import keep
from tests.store.book.entering import START


def write(path: Path, name: str, said: int) -> None:
    """Enter records for ever, and say each one once it is acknowledged."""
    with open_book(path) as book:
        for number in range(1_000_000):
            record = f"{name}-{number:06d}"
            entry = Entry(record, "strain", {"name": name, "species": "b"})
            keep(book, Step(f"s-{record}", START.isoformat(), "A", "d", "t", (entry,)), START)
            os.write(said, f"{record}\n".encode())
            time.sleep(0.002)  # so that the other three get their turn


def one_turn(path: Path, turn: int, seconds: float) -> str:
    """Let four write, at least one entry each, then kill them; gives what they said."""
    writers = {}
    for number in range(4):
        hears, says = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                write(path, f"t{turn}w{number}", says)
            finally:
                os._exit(1)
        os.close(says)
        writers[child] = hears
    for hears in writers.values():
        select.select([hears], [], [], 60)
    time.sleep(seconds)
    for child in writers:
        os.kill(child, signal.SIGKILL)
    said = ""
    for child, hears in writers.items():
        _, status = os.waitpid(child, 0)
        assert os.WTERMSIG(status) == signal.SIGKILL, "a writer ended by itself"
        with os.fdopen(hears) as rest:
            said += rest.read()
    return said


if __name__ == "__main__":
    longest = float(sys.argv[3]) if len(sys.argv) > 3 else 0.06
    turns = int(sys.argv[2])
    open_book(Path(sys.argv[1])).close()  # loads what the writers need
    for turn in range(turns):
        print(one_turn(Path(sys.argv[1]), turn, longest * (turn % 7) / 6), end="")
