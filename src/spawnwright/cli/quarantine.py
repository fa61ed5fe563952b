"""Put something in doubt, lift that, or list what is in doubt."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import back_up, book_option, day_of, hand_of, who_option


@answer.command("quarantine", example="quarantine --file docs/examples/record-book.json")
@click.argument("name", required=False)
@click.option("--why", help="What speaks against it, or why the doubt is over.")
@click.option("--lift", "is_lifted", is_flag=True, help="The doubt is over.")
@who_option
@book_option
def command(
    name: str | None, why: str | None, is_lifted: bool, who: str | None, named: str | None
) -> answer.Answer:
    """Put something in doubt, with all that came or will come from it; or lift that.

    NAME as in `recall`: a jar's code, the name of a lot, culture or batch, "last run", an id. What
    is in doubt is shown so on every page, and is not used unless you say that you mean it.
    Without NAME, what is in quarantine is listed.
    """
    if name is None:
        if why or is_lifted:
            raise click.UsageError("Say what is meant: NAME is missing.")
        return _listed(named)
    if not is_lifted and not why:
        raise click.UsageError("--why is missing: say what speaks against it.")
    return _entered(name, why, is_lifted, who, named)


def _listed(named: str | None) -> answer.Answer:
    from spawnwright.actions.book.doubt import in_doubt
    from spawnwright.actions.book.opening import reading

    with reading(named) as book, book.read() as connection:
        found = in_doubt(connection)
    page = answer.Answer(
        {
            "quarantines": [
                {
                    "id": each.quarantine["id"],
                    "name": each.name,
                    "kind": each.kind,
                    "why": each.quarantine["why"],
                    "at": each.quarantine["at"],
                    "jars": each.recall.jars,
                    "still_here": each.recall.still_here,
                }
                for each in found
            ]
        }
    )
    if not found:
        return page.text("Nothing is in quarantine.")
    return page.table(
        ("in quarantine", "since", "why", "jars still here"),
        [
            (each.name, day_of(each.quarantine["at"]), each.quarantine["why"],
             ", ".join(each.recall.still_here))
            for each in found
        ],
    )  # fmt: skip


def _entered(
    name: str, why: str | None, is_lifted: bool, who: str | None, named: str | None
) -> answer.Answer:
    import tzlocal

    from spawnwright.actions.book.doubt import lift, mock_recall, quarantine
    from spawnwright.actions.book.files import now_utc
    from spawnwright.actions.book.opening import writing

    now = now_utc()
    with writing(named) as book:
        with book.read() as connection:
            found = mock_recall(connection, name, tzlocal.get_localzone())
        record = found.recall.record
        if is_lifted:
            step = lift(book, hand_of(who, now), record, why, now).step
        else:
            step = quarantine(book, hand_of(who, now), record, why or "", now).kept.step
        back_up(book, now)
    here = [jar["code"] for jar in found.jars if jar["outcome"] is None]
    page = answer.Answer(
        {
            "name": found.name, "record": record, "is_in_quarantine": not is_lifted,
            "still_here": here, "step": step,
        }
    )  # fmt: skip
    if is_lifted:
        page.text(f"{found.name} is no longer in quarantine.")
    else:
        page.text(f"{found.name} is in quarantine, and what came from it.")
        page.text(f"Jars still here: {', '.join(here) or 'none'}")
    return page.text(f"To take this back: undo {step}")
