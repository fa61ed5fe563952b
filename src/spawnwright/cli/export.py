"""The record book as a file for other programs."""

from __future__ import annotations

from pathlib import Path

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import book_option


@answer.command("export", example="export")
@click.argument("target", required=False, type=click.Path(path_type=Path))
@click.option("--kind", help="The kind of record for a .csv, such as jar or look.")
@click.option("--mark", is_flag=True, help="Begin a CSV with a byte-order mark; some need it.")
@book_option
def command(target: Path | None, kind: str | None, mark: bool, named: str | None) -> answer.Answer:
    """The record book as a file for other programs.

    TARGET decides what is written: all of it as .json, which `import` and `restore` take back and
    which gives the same book again; a CSV for each kind of record in a .zip; or one --kind as
    .csv. In a CSV, text that a spreadsheet would take for a formula begins with an apostrophe.
    Without TARGET, what there is to export is counted; with --json, the whole book is printed.
    """
    from spawnwright.actions.book.files import export_book, whole_book

    done = export_book(named, target, kind, mark)
    whole = {} if target else whole_book(named)
    page = answer.Answer(
        whole | {"file": target and str(target), "records": done.records, "rows": done.rows}
        | ({} if whole else {"steps": done.steps})
    )  # fmt: skip
    if target is None:
        page.text("Nothing was written: name a file that ends with .json, .zip or .csv.")
    elif done.rows is not None:
        page.text(f"{done.rows} records of the kind {kind} are in {target}.")
    else:
        steps = "1 step" if done.steps == 1 else f"{done.steps} steps"
        page.text(f"{steps} and {sum(done.records.values())} records are in {target}.")
    if done.records and done.rows is None:
        page.table(("kind", "records"), [(kind, str(n)) for kind, n in done.records.items()])
    return page
