"""A mock recall from the record book."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import book_option, day_of

if TYPE_CHECKING:
    from spawnwright.actions.book.doubt import MockRecall


@answer.command("recall", example='recall "LC 1" --file docs/examples/record-book.json')
@click.argument("name")
@book_option
def command(name: str, named: str | None) -> answer.Answer:
    """All that came from one thing, and where it is now. Nothing is changed.

    NAME is the code of a jar; the name of a lot, culture, strain, lid batch, batch, block or
    bucket; "last run"; the day of a run, as in "run of 2026-01-10"; or an id. What came from it
    through cultures, jars and grain-to-grain is walked to the end.

    --file may name an export (.json) as well. To put it in doubt, use `quarantine`.
    """
    import tzlocal

    from spawnwright.actions.book.doubt import mock_recall
    from spawnwright.actions.book.opening import reading

    with reading(named) as book, book.read() as connection:
        found = mock_recall(connection, name, tzlocal.get_localzone())
    page = answer.Answer(
        {
            "name": found.name,
            "kind": found.recall.kind,
            "record": found.recall.record,
            "descendants": found.recall.counts,
            "jars_in_all": found.jars_in_all,
            "still_here": [jar["code"] for jar in found.jars if jar["outcome"] is None],
            "jars": found.jars,
            "blocks": found.blocks,
        }
    )
    return _text(page, found)


def _text(page: answer.Answer, found: MockRecall) -> answer.Answer:
    here = [jar["code"] for jar in found.jars if jar["outcome"] is None]
    gone = found.jars_in_all - len(here)
    if not found.recall.counts and not found.jars:
        return page.text(f"Nothing came from {found.name}.")
    page.text(
        f"From {found.name} ({found.recall.kind}): {found.jars_in_all} jars, {len(here)} of them "
        f"still here and {gone} gone; {len(found.blocks)} blocks and buckets."
    )
    if found.jars:
        page.table(
            ("jar", "where", "outcome", "on", "note"),
            [
                (
                    jar["code"],
                    jar["stored_where"] or "",
                    jar["outcome"] or "still here",
                    day_of(jar["outcome_at"]),
                    jar["outcome_note"] or "",
                )
                for jar in found.jars
            ],
        )
    if len(found.jars) < found.jars_in_all:
        page.text("Listed are the jars still here and those given away; the others are gone.")
    if found.blocks:
        page.table(
            ("block or bucket", "harvested kg", "ended"),
            [(each["name"], f"{each['harvest_kg']:.2f}", each["ended_on"] or "")
             for each in found.blocks],
        )  # fmt: skip
    return page
