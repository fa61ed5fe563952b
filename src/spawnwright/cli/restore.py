"""A backup in the place of the record book."""

from __future__ import annotations

from pathlib import Path

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import book_option, warn_of_place


@answer.command("restore", example="restore docs/examples/record-book.json")
@click.argument("copy", type=click.Path(path_type=Path))
@book_option
def command(copy: Path, named: str | None) -> answer.Answer:
    """Put a backup, or an export as .json, in the place of the record book.

    The copy is checked first and stays where it is. The book that was there is kept beside the
    new one, with all that was entered since. Exit code 1: the copy is damaged, or the book is
    open somewhere; nothing was changed.
    """
    from spawnwright.actions.book.files import now_utc, restore_book

    warn_of_place(named)
    done = restore_book(named, copy, now_utc())
    page = answer.Answer(
        {
            "restored": not done.problem,
            "book": str(done.book),
            "old_book": done.old and str(done.old),
            "problem": done.problem or None,
        },
        exit_code=int(bool(done.problem)),
    )
    if done.problem:
        return page.text(f"Nothing was restored. {done.problem}")
    page.text(f"{copy} is now the record book {done.book}.")
    return page.text(f"The one before is kept: {done.old}") if done.old else page
