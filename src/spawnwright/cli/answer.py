"""What a command gives back, and how it is shown: one JSON object, or text for people.

Standard output carries the answer only. Rich is imported only when writing to a terminal that
can show it; elsewhere the same content comes out as plain aligned text.
"""

from __future__ import annotations

import functools
import json
import os
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from math import isfinite
from typing import Any

import click

from spawnwright.cli.streams import is_utf8, write
from spawnwright.records.band import Band

Row = tuple[str, str, str]  # label, value, note

WIDEST_LINE = 96
NARROWEST_COLUMN = 16

EXAMPLES: dict[str, str] = {}
"""What stands behind `./run` in the example of each command loaded so far; a test runs them."""


@dataclass
class Answer:
    """A command's answer: `values` for `--json`, blocks of text for people, an exit code."""

    values: dict[str, Any]
    blocks: list[Block] = field(default_factory=list)
    exit_code: int = 0

    def rows(self, *rows: Row, title: str = "") -> Answer:
        """Add labelled values, each with an optional note."""
        self.blocks.append(Block("rows", title, [list(row) for row in rows]))
        return self

    def table(self, heads: Sequence[str], rows: Iterable[Sequence[str]], title: str = "") -> Answer:
        """Add a table; columns whose cells are numbers are set flush right."""
        self.blocks.append(Block("table", title, [list(heads), *(list(row) for row in rows)]))
        return self

    def text(self, text: str, title: str = "") -> Answer:
        """Add a paragraph."""
        self.blocks.append(Block("text", title, [[text]]))
        return self

    def verbatim(self, text: str, title: str = "") -> Answer:
        """Add lines that are set already: nothing is wrapped or aligned."""
        self.blocks.append(Block("verbatim", title, [[text]]))
        return self


@dataclass
class Block:
    """One piece of text output."""

    kind: str
    title: str
    cells: list[list[str]]


def command(name: str, example: str) -> Callable[[Callable[..., Answer]], click.Command]:
    """Make a command of a function that returns an `Answer`; adds `--json` and the example.

    `example` is what stands behind `./run`; a test runs it.
    """

    def make(function: Callable[..., Answer]) -> click.Command:
        @functools.wraps(function)
        def run(*args: Any, as_json: bool, **options: Any) -> int:
            answer = function(*args, **options)
            if as_json:
                escaped = not is_utf8(sys.stdout.encoding)
                write(json.dumps(plain(answer.values), ensure_ascii=escaped, allow_nan=False))
            else:
                show(answer)
            return answer.exit_code

        with_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
        as_command = click.command(name, epilog=f"\b\nExample:\n  ./run {example}")
        made = as_command(with_json(run))
        EXAMPLES[name] = example
        return made

    return make


def plain(value: Any) -> Any:
    """The value with bands, records and array types turned into what JSON has; inf becomes null."""
    if isinstance(value, Band):
        return plain(value.as_dict())
    if is_dataclass(value) and not isinstance(value, type):
        return {each.name: plain(getattr(value, each.name)) for each in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(each) for key, each in value.items()}
    if hasattr(value, "tolist"):
        numbers = value.tolist()
        return numbers if _are_finite(numbers) else plain(numbers)
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    if isinstance(value, float):
        return float(value) if isfinite(value) else None
    if hasattr(value, "isoformat"):
        return value.isoformat()
    return value


def _are_finite(numbers: Any) -> bool:
    """Whether an array's numbers can be printed as they are; quick, for a million of them."""
    return isinstance(numbers, list) and all(
        type(number) is float and isfinite(number) for number in numbers
    )


def note(text: str) -> None:
    """Say something beside the answer: a warning, progress, what was read."""
    print(text, file=sys.stderr)


def show(answer: Answer) -> None:
    """Write the text of an answer to standard output."""
    if _is_rich_terminal():
        from spawnwright.cli.rich_output import show_rich

        show_rich(answer)
        return
    parts = ["\n".join([block.title] * bool(block.title) + _plain_lines(block))
             for block in answer.blocks]  # fmt: skip
    write("\n\n".join(parts))


def _is_rich_terminal() -> bool:
    dumb = os.environ.get("TERM", "dumb") == "dumb" or os.environ.get("NO_COLOR")
    return sys.stdout.isatty() and not dumb


def _plain_lines(block: Block) -> list[str]:
    if block.kind == "verbatim":
        return block.cells[0][0].splitlines()
    if block.kind == "text":
        import textwrap

        return [
            line
            for part in block.cells[0][0].splitlines()
            for line in (textwrap.wrap(part, WIDEST_LINE, break_on_hyphens=False) or [""])
        ]
    right = [
        block.kind == "table" and is_numeric(block.cells, column)
        for column in range(len(block.cells[0]))
    ]
    widths = _fitted_widths(block.cells, right)
    return [line for row in block.cells for line in _wrapped_row(row, widths, right)]


def _fitted_widths(cells: list[list[str]], right: list[bool]) -> list[int]:
    """Widths of the columns; the widest ones of words are narrowed until a line fits."""
    widths = [max(len(row[column]) for row in cells) for column in range(len(cells[0]))]
    words = [column for column, flush in enumerate(right) if not flush]
    while words and sum(widths) + 2 * len(widths) - 2 > WIDEST_LINE:
        widest = max(words, key=lambda column: widths[column])
        if widths[widest] <= NARROWEST_COLUMN:
            break
        widths[widest] -= 1
    return widths


def _wrapped_row(row: list[str], widths: list[int], right: list[bool]) -> list[str]:
    import textwrap
    from itertools import zip_longest

    columns = [textwrap.wrap(cell, width, break_on_hyphens=False) if len(cell) > width else [cell]
               for cell, width in zip(row, widths, strict=True)]  # fmt: skip
    return [
        "  ".join(
            cell.rjust(width) if flush else cell.ljust(width)
            for cell, width, flush in zip(line, widths, right, strict=True)
        ).rstrip()
        for line in zip_longest(*columns, fillvalue="")
    ]


def is_numeric(cells: list[list[str]], column: int) -> bool:
    """Whether every filled cell below the head of a column begins with a digit or a sign."""
    body = [row[column] for row in cells[1:] if row[column]]
    return bool(body) and all(cell.lstrip("-−+<>≈")[:1].isdigit() for cell in body)
