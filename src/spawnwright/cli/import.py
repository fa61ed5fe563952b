"""A file into the record book, shown first."""  # noqa: N999 - the command's name

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import book_option, warn_of_place

if TYPE_CHECKING:
    from datetime import datetime

    from spawnwright.actions.book.importing import Imported
    from spawnwright.actions.book.trace import TraceChoices


@answer.command("import", example="import docs/examples/notebook.csv --jar quart")
@click.argument("source", type=click.Path(path_type=Path))
@click.option("--yes", "do", is_flag=True, help="Do it; without this it is only shown.")
@click.option(
    "--dates",
    type=click.Choice(["day-first", "month-first"]),
    help="How the file writes dates, if not as 2026-11-25.",
)
@click.option("--jar", help="Kind of the jars in a notebook that the book does not have yet.")
@click.option("--who", help="Who takes it in; your login name if not said.")
@click.option("--run", help="The run that a logger's file is of: last, its day, or its id.")
@click.option(
    "--began",
    type=click.DateTime(["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"]),
    help="When the logger's first row was written; else when the heat was put on.",
)
@click.option("--core", help="Its column that measures the core of a jar.")
@click.option("--vessel", help="Its column that measures the steam in the canner.")
@click.option("--unit", type=click.Choice(("C", "F")), help="Of its temperatures.")
@click.option("--decimal", type=click.Choice((".", ",")), help="Its decimal sign.")
@click.option("--separator", type=click.Choice((",", ";", "tab")), help="Between its columns.")
@click.option("--time-column", help="Name of its time's column, or its number from 1.")
@click.option(
    "--time-unit",
    type=click.Choice(("seconds", "minutes", "hours")),
    help="Of its plain numbers for the time.",
)
@book_option
def command(
    source: Path, do: bool, dates: str | None, jar: str | None, who: str | None, named: str | None,
    **log: Any,
) -> answer.Answer:  # fmt: skip
    """Take a file into the record book; without --yes it is only shown what that would do.

    An export (.json) adds the steps that the book lacks, by their ids, and nothing twice; into an
    empty book it gives the same book. A notebook (.csv) has the columns jar, date and note: each
    line becomes a look at that jar, found by its code or by the name written on it. A watched run
    (.jsonl) becomes a sterilizer run with its events. What a logger wrote (.csv with --run) becomes
    the traces of that run, with the lethality at the core of a jar: measured there, or a band
    worked out from the steam if the book knows the jars of the run, their grain and the elevation.

    What a phone could not send and saved (.unsent.json) goes to the pages that it was entered on,
    each entry once; one that is refused is told and keeps no other out.

    A backup is made before. Exit code 1: something in the file contradicts the book; nothing of
    it was taken, or of unsent entries not those that are named.
    """
    import getpass
    import platform

    from spawnwright.actions.book.files import now_utc
    from spawnwright.actions.book.importing import NotebookChoices, import_file
    from spawnwright.actions.book.unsent import is_unsent
    from spawnwright.actions.catalogs import look_up

    warn_of_place(named)
    jar_key = look_up("jars", jar).key if jar else None
    choices = NotebookChoices(
        who or getpass.getuser(), platform.node() or "laptop", dates, jar_key,
        _trace(dates, **log),
    )  # fmt: skip
    if is_unsent(source):
        from spawnwright.web.unsent import take_unsent

        found = take_unsent(named, source, now_utc(), do=do)
    else:
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
            "core_f0_min": found.f0_min,
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


def _trace(
    dates: Any, run: str | None, began: datetime | None, core: str | None, vessel: str | None,
    separator: str | None, **reading: Any,
) -> TraceChoices | None:  # fmt: skip
    if run is None:
        told = {"--began": began, "--core": core, "--vessel": vessel, "--separator": separator}
        told |= {f"--{name.replace('_', '-')}": value for name, value in reading.items()}
        for name, value in told.items():
            if value is not None:
                raise click.UsageError(f"{name} is about a logger's file; say --run as well.")
        return None
    from spawnwright.actions.book.trace import TraceChoices
    from spawnwright.records.readings import ReadingChoices

    between = "\t" if separator == "tab" else separator
    choices = ReadingChoices(dates=dates, separator=between, **reading)
    return TraceChoices(run, began and began.astimezone(), core, vessel, choices)


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
