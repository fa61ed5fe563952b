"""The benchmark of the pages runs, on a small book: every page answers, looks are kept."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_the_pages_are_measured_on_a_small_book():
    """A page that does not answer ends it; no time is asserted, but what is in the server is."""
    told = subprocess.run(
        [sys.executable, "benchmarks/pages.py", "--small"], cwd=ROOT, capture_output=True,
        env=os.environ | {"PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"}, text=True,
        timeout=120,
    )  # fmt: skip

    assert told.returncode == 0, told.stderr
    pages = re.findall(r"^(/\S*) +\d+ ", told.stdout, re.MULTILINE)
    assert {"/", "/shelf", "/j/CODE", "/batches/ID", "/runs/ID", "/doubt", "/stock"} <= set(pages)
    assert re.search(r"^a look kept, full sync +40 ", told.stdout, re.MULTILINE)
    assert "numpy or scipy in the server: none" in told.stdout
