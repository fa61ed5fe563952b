"""An invented grower's wish as a record, for the plan made by hand in `plan_checker.example`."""

from pathlib import Path

import tomli_w

from spawnwright.records.plan import Plan
from spawnwright.records.wish import Wish
from spawnwright.store.wish_file import parse_wish
from tests.plan_checker import example


def plan_and_wish(runs: int = 2) -> tuple[Plan, Wish]:
    """A feasible plan of that many runs, and the wish that it answers."""
    text = tomli_w.dumps(example.wish_toml(runs))
    return example.plan(runs), parse_wish(text, "wish.toml", example.NOW, Path())
