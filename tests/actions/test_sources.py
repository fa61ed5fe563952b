"""What every number rests on: no module that makes one is passed over."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from spawnwright.actions.sources import ROOMS_WITH_NUMBERS, source_pages

ROOT = Path(__file__).parents[2] / "src" / "spawnwright"
MAKES = re.compile(r"= (Constant|Estimate|Coefficients)\(")
MODULES = [
    path.relative_to(ROOT).as_posix()
    for room in ROOMS_WITH_NUMBERS
    for path in sorted((ROOT / room).rglob("*.py"))
    if MAKES.search(path.read_text(encoding="utf-8"))
]


@pytest.mark.parametrize("module", MODULES)
def test_the_numbers_of_a_module_are_listed(module):
    """Those in folders of folders too."""
    used_in = {number.used_in for page in source_pages() for number in page.numbers}

    assert any(each.startswith(f"{module} ") for each in used_in)


def test_there_are_such_modules():
    """Else the test above could not fail."""
    assert len(MODULES) > 30
