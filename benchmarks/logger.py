"""A million readings: the logger reader, and a plain loop over the csv module.

Prints the time of both for plain numbers and for dates with clocks, their ratio, whether they read
the same numbers, and what the whole command takes in a process of its own (limit: 3 s, 500 MB).
Run: PYTHONPATH=src python benchmarks/logger.py
"""

from __future__ import annotations

import csv
import resource
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from spawnwright.store.logger_file import read_logger_file

ROWS = 1_000_000
START = datetime(2027, 1, 1, tzinfo=UTC)


def write(path: Path, dated: bool) -> None:
    temperatures = 70 + 51 * np.sin(np.arange(ROWS) * (3 / ROWS))
    with path.open("w") as file:
        file.write("time_s,core_c\n")
        for second, temperature in enumerate(temperatures):
            moment = (START + timedelta(seconds=second)).isoformat() if dated else second
            file.write(f"{moment},{temperature:.2f}\n")


def plainly(path: Path, dated: bool) -> tuple[np.ndarray, np.ndarray]:
    """What one would write in five lines, without any check."""
    times, temperatures = [], []
    with path.open(newline="") as file:
        rows = csv.reader(file)
        next(rows)
        for moment, temperature in rows:
            times.append(datetime.fromisoformat(moment).timestamp() if dated else float(moment))
            temperatures.append(float(temperature))
    return np.array(times) - times[0], np.array(temperatures)


def compare(folder: Path, dated: bool) -> None:
    path = folder / ("dated.csv" if dated else "plain.csv")
    write(path, dated)
    start = time.perf_counter()
    found = read_logger_file(path)
    middle = time.perf_counter()
    times, temperatures = plainly(path, dated)
    end = time.perf_counter()
    same = np.allclose(found.time_s, times) and np.array_equal(found.temperature_c, temperatures)
    name = "dates with clocks" if dated else "plain numbers"
    print(f"{name}, {ROWS:,} rows, {path.stat().st_size / 1e6:.0f} MB")
    print(f"  reader         {middle - start:6.2f} s")
    print(f"  csv module     {end - middle:6.2f} s")
    print(f"  ratio          {(end - middle) / (middle - start):6.2f}   same numbers: {same}")
    whole_command(path)


def whole_command(path: Path) -> None:
    """Time of `lethality --json` with the start of Python, and the most memory of any child."""
    command = [sys.executable, "-m", "spawnwright", "lethality", str(path), "--json"]
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    took = time.perf_counter() - start
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    megabytes = most / (1e6 if sys.platform == "darwin" else 1e3)
    print(f"  whole command  {took:6.2f} s, {megabytes:.0f} MB at most")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        for dated in (False, True):
            compare(Path(folder), dated)


if __name__ == "__main__":
    main()
