"""The jars on the shelf."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import book_option, day_of

if TYPE_CHECKING:
    from spawnwright.actions.book.listing import ShelfLine


@answer.command("shelf", example="shelf --file docs/examples/record-book.json")
@click.option("--batch", help="Only the jars of this batch.")
@click.option(
    "--most",
    type=click.IntRange(1, 1000),
    default=100,
    show_default=True,
    help="How many jars to list.",
)
@book_option
def command(batch: str | None, most: int, named: str | None) -> answer.Answer:
    """The jars that have no outcome yet, last filled first.

    Age counts from inoculation, or from filling where a jar was not inoculated. --file may name an
    export (.json) as well.
    """
    from spawnwright.actions.book.files import now_utc
    from spawnwright.actions.book.listing import shelf_lines
    from spawnwright.actions.book.opening import reading

    with reading(named) as book, book.read() as connection:
        lines = shelf_lines(connection, now_utc(), most + 1, batch)
    shown = lines[:most]
    page = answer.Answer({"jars": shown, "is_more": len(lines) > most})
    if not shown:
        return page.text("No jar is on the shelf.")
    page.table(
        ("jar", "kind", "age in days", "last look", "white", "sign", "where", ""),
        [_row(line) for line in shown],
    )
    if len(lines) > most:
        page.text(f"There are more; --most {min(1000, 2 * most)} lists more.")
    return page


def _row(line: ShelfLine) -> tuple[str, ...]:
    marks = [
        word
        for word, holds in (
            ("IN DOUBT", line.is_in_doubt),
            ("control", line.is_control),
            ("not inoculated", line.inoculated_at is None and not line.is_control),
        )
        if holds
    ]
    return (
        line.code,
        line.jar_kind,
        f"{line.age_days:.0f}",
        day_of(line.looked_at),
        "" if line.percent is None else f"{line.percent:.0f} %",
        line.sign or "",
        line.stored_where or "",
        ", ".join(marks),
    )
