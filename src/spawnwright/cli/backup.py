"""A checked copy of the record book."""

from __future__ import annotations

from pathlib import Path

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import book_option, warn_of_place


@answer.command("backup", example="backup")
@click.argument("target", required=False, type=click.Path(path_type=Path))
@book_option
def command(target: Path | None, named: str | None) -> answer.Answer:
    """Copy the record book, also while it is in use, and check the copy.

    Without TARGET the copy goes to the folder `backups` beside the book. There the last copies of
    7 days, 4 weeks and 12 months are kept, and what was made within a day of the newest. A copy
    on another disk is worth having too: name a TARGET there.
    """
    from spawnwright.actions.book.files import backup_book, now_utc

    warn_of_place(named)
    book, copy = backup_book(named, target, now_utc())
    page = answer.Answer({"book": str(book), "file": str(copy), "size_b": copy.stat().st_size})
    return page.text(f"The copy is whole: {copy}")
