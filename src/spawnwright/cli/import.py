"""A file into the record book, shown first."""  # noqa: N999 - the command's name

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import book_option, warn_of_place

if TYPE_CHECKING:
    from spawnwright.actions.book_files import Imported


@answer.command("import", example="import docs/examples/notebook.csv --jar quart")
@click.argument("source", type=click.Path(path_type=Path))
@click.option("--yes", "do", is_flag=True, help="Do it; without this it is only shown.")
@click.option(
    "--dates",
    type=click.Choice(["day-first", "month-first"]),
    help="How a notebook writes dates, if not as 2026-11-25.",
)
@click.option("--jar", help="Kind of the jars in a notebook that the book does not have yet.")
@click.option("--who", help="Who takes it in; your login name if not said.")
@book_option
def command(
    source: Path, do: bool, dates: str | None, jar: str | None, who: str | None, named: str | None
) -> answer.Answer:
    """Take a file into the record book; without --yes it is only shown what that would do.

    An export (.json) adds the steps that the book lacks, by their ids, and nothing twice; into an
    empty book it gives the same book. A notebook (.csv) has the columns jar, date and note: each
    line becomes a look at that jar, found by its code or by the name written on it. A watched run
    (.jsonl) becomes a sterilizer run with its events.

    A backup is made before. Exit code 1: something in the file contradicts the book, and nothing
    was taken.
    """
    import getpass
    import platform

    from spawnwright.actions.book_files import NotebookChoices, import_file, now_utc
    from spawnwright.actions.catalogs import look_up

    warn_of_place(named)
    jar_key = look_up("jars", jar).key if jar else None
    choices = NotebookChoices(who or getpass.getuser(), platform.node() or "laptop", dates, jar_key)
    found = import_file(named, source, choices, now_utc(), do=do)
    page = answer.Answer(
        {
            "done": found.is_done,
            "source": found.source,
            "steps": found.steps,
            "new_steps": found.new_steps,
            "new_records": found.records,
            "new_pictures": found.new_pictures,
            "new_jars": found.new_jars,
            "problems": found.problems,
            "notes": found.notes,
            "backup": found.backup and str(found.backup),
        },
        exit_code=int(bool(found.problems)),
    )
    for problem in found.problems:
        page.text(f"Not taken: {problem}")
    _say_what_is_new(page, found, do)
    for each in found.notes:
        page.text(each)
    if found.backup:
        page.text(f"The book as it was before: {found.backup}")
    return page


def _say_what_is_new(page: answer.Answer, found: Imported, do: bool) -> None:
    if found.problems:
        return
    if not found.new_steps and not found.new_pictures:
        page.text("The book has all of it already; nothing to do.")
        return
    many = "1 step" if found.new_steps == 1 else f"{found.new_steps} steps"
    page.text(
        f"Taken into the book: {many}." if do else
        f"This would add {many}; nothing was done yet. Say --yes to do it, after a backup."
    )  # fmt: skip
    page.table(("kind", "new records"), [(kind, str(n)) for kind, n in found.records.items()])
    if found.new_pictures:
        page.text(f"Pictures that are new: {found.new_pictures}.")
    if found.new_jars:
        page.table(("jar in the notebook", "its code"), sorted(found.new_jars.items()))
