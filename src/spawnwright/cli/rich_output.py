"""Answers on a terminal that can show more than plain text; the only place that imports Rich."""

from __future__ import annotations

from typing import Literal

from rich.console import Console
from rich.table import Table
from rich.text import Text

from spawnwright.cli.answer import Answer, Block, is_numeric


def show_rich(answer: Answer) -> None:
    """Write an answer with quiet styling: bold values, dim notes, no boxes."""
    console = Console(highlight=False)
    for place, block in enumerate(answer.blocks):
        if place:
            console.print()
        if block.title:
            console.print(Text(block.title, style="bold"))
        if block.kind == "verbatim":
            console.print(Text(block.cells[0][0]), soft_wrap=True)
        elif block.kind == "text":
            console.print(Text(block.cells[0][0]))
        else:
            console.print(_table(block))


def _table(block: Block) -> Table:
    labelled = block.kind == "rows"
    table = Table(box=None, show_header=not labelled, pad_edge=False, header_style="dim")
    heads = [""] * len(block.cells[0]) if labelled else block.cells[0]
    for column, head in enumerate(heads):
        style = ("", "bold", "dim")[min(column, 2)] if labelled else ""
        flush: Literal["left", "right"] = (
            "right" if not labelled and is_numeric(block.cells, column) else "left"
        )
        table.add_column(head, style=style, justify=flush, overflow="fold")
    for row in block.cells if labelled else block.cells[1:]:
        table.add_row(*(Text(cell) for cell in row))
    return table
