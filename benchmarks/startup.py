"""How long people wait: help and every command's example, each as a process of its own.

Prints the best and the median of several starts, and their ratio to an empty interpreter.
With --fresh it also copies the checkout, sets it up there, and prints time and size.
Run: .venv/bin/python benchmarks/startup.py [--fresh]
"""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "src"))

from spawnwright import cli  # noqa: E402
from spawnwright.cli import answer  # noqa: E402
from spawnwright.cli.commands import COMMANDS  # noqa: E402

TIMES = 7
ENVIRONMENT = os.environ | {"PYTHONPATH": str(ROOT / "src")}


def seconds(folder: str, *command: str) -> list[float]:
    """Times of several starts of a program, shortest first; its output is thrown away."""
    taken = []
    for _ in range(TIMES):
        begin = time.perf_counter()
        done = subprocess.run(command, cwd=folder, env=ENVIRONMENT, capture_output=True)
        taken.append(time.perf_counter() - begin)
        assert done.returncode in (0, 1), done.stderr.decode()
    return sorted(taken)


def show(what: str, taken: list[float], empty: float) -> None:
    best, usual = 1000 * taken[0], 1000 * median(taken)
    print(f"{what:24}{best:8.0f} ms {usual:8.0f} ms {taken[0] / empty:8.1f} x")


def fresh() -> None:
    """Set up a copy of the tracked files, as after a clone."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["git", "clone", "-q", ROOT, f"{folder}/clone"], check=True)
        begin = time.perf_counter()
        subprocess.run([f"{folder}/clone/run", "--version"], check=True, capture_output=True)
        taken = time.perf_counter() - begin
        files = [each for each in Path(folder, "clone/.venv").rglob("*") if not each.is_symlink()]
        size = sum(each.stat().st_size for each in files if each.is_file())
        print(f"fresh clone, set up     {taken:8.1f} s, .venv {size / 1e6:.0f} MB")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        for name in ("docs", "src"):  # for examples that read a file
            Path(folder, name).symlink_to(ROOT / name)
        empty = seconds(folder, sys.executable, "-c", "")
        print(f"{'':24}{'best':>11} {'median':>11} {'to empty':>10}")
        show("empty interpreter", empty, empty[0])
        program = (sys.executable, "-P", "-m", "spawnwright")
        show("--help", seconds(folder, *program, "--help"), empty[0])
        show("plan --help", seconds(folder, *program, "plan", "--help"), empty[0])
        for name in COMMANDS:
            cli.spawnwright.get_command(None, name)
            example = shlex.split(answer.EXAMPLES[name])
            show(name, seconds(folder, *program, *example, "--json"), empty[0])
    if "--fresh" in sys.argv[1:]:
        fresh()


if __name__ == "__main__":
    main()
