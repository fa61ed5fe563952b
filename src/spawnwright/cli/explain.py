"""What `--explain` shows: the uncertain numbers behind a band, and where each is from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from spawnwright.cli.answer import Answer

if TYPE_CHECKING:
    from spawnwright.model.scenarios import Input


def add_inputs(
    page: Answer, inputs: Sequence[Input], left: Mapping[str, float] | None = None
) -> Answer:
    """Add the inputs to an answer: a table for people, the key `inputs` for JSON.

    `left` gives for an input the share of the band's width that would be left if it were known.
    """
    page.values["inputs"] = [each.as_dict() for each in inputs]
    heads = ["input", "5 %", "likely", "95 %", "unit", "shape", "source"]
    rows = [
        [each.name, *(f"{value:.3g}" for value in (each.low, each.likely, each.high)),
         each.unit, each.shape, each.source]
        for each in inputs
    ]  # fmt: skip
    if left:
        page.values["width_left"] = dict(left)
        heads.insert(1, "width left if known")
        for row in rows:
            row.insert(1, f"{left[row[0]]:.0%}" if row[0] in left else "")
    return page.table(heads, rows, title="What the band is made from")
