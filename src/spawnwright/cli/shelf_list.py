"""The jars on the shelf on paper."""

from __future__ import annotations

from typing import Any

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import book_option


@answer.command(
    "shelf-list", example="shelf-list --file docs/examples/record-book.json --pdf shelf.pdf"
)
@click.option("--pdf", metavar="FILE", required=True,
              help="Where to write; an older file is replaced.")  # fmt: skip
@click.option("--batch", help="Only the jars of this batch.")
@click.option("--paper", type=click.Choice(["A4", "Letter"]),
              help="Left out: what is usual in your country.")  # fmt: skip
@book_option
def command(pdf: str, batch: str | None, paper: Any, named: str | None) -> answer.Answer:
    """The jars on the shelf on paper, to walk along with: a box to tick, room to write.

    Each jar that has no outcome yet: its code, age, last look with its sign in words, strain,
    batch and place. By place, the oldest first. Days count from inoculation, or from filling
    where a jar was not inoculated. --file may name an export (.json) as well.
    """
    from pathlib import Path

    from spawnwright.actions.book.files import now_utc
    from spawnwright.actions.printing.shelf_list import write_shelf_list

    made = write_shelf_list(named, Path(pdf), now_utc(), paper, batch)
    answer.note(f"Written: {pdf}")
    page = answer.Answer({
        "file": pdf, "paper": made.paper, "pages": made.pages, "jars": list(made.jars),
    })  # fmt: skip
    return page.rows(
        ("jars", str(len(made.jars)), "" if made.jars else "no jar is on the shelf"),
        ("pages", str(made.pages), made.paper),
    )
