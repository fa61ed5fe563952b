"""What may be wrong with the record book."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import book_option


@answer.command("doctor", example="doctor")
@click.option("--all-records", is_flag=True, help="Compare every record with its history.")
@book_option
def command(all_records: bool, named: str | None) -> answer.Answer:
    """Look the record book over: file, form, records, links, codes, backups, disk.

    Nothing is changed. Up to 20,000 records are compared with their history; --all-records
    compares all. Exit code 1: a problem was found, and it is said what would do.
    """
    from spawnwright.actions.book.files import examine_book, now_utc

    path, found = examine_book(named, now_utc(), all_records)
    problems = [each for each in found if each.is_problem]
    page = answer.Answer(
        {
            "book": str(path),
            "problems": [{"what": each.what, "says": each.says} for each in problems],
            "findings": [
                {"what": each.what, "says": each.says, "is_problem": each.is_problem}
                for each in found
            ],
        },
        exit_code=int(bool(problems)),
    )
    page.table(
        ("", "what", "found"),
        [("PROBLEM" if each.is_problem else "", each.what, each.says) for each in found],
        title=str(path),
    )
    many = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
    return page.text(f"{many} found." if problems else "Nothing is wrong.")
