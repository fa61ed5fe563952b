"""The last steps of the record book, and how to take one back."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import back_up, book_option, hand_of, who_option


@answer.command("undo", example="undo --file docs/examples/record-book.json")
@click.argument("step", required=False)
@who_option
@book_option
def command(step: str | None, who: str | None, named: str | None) -> answer.Answer:
    """Take back a step of the record book; without STEP, the last twenty are listed.

    Nothing is deleted: the undoing is a step of its own, and can be undone. A step that later ones
    rest on is undone after those.
    """
    return _listed(named) if step is None else _undone(step, who, named)


def _listed(named: str | None) -> answer.Answer:
    from datetime import datetime

    from spawnwright.actions.book.opening import reading
    from spawnwright.actions.book.past import recent_steps

    with reading(named) as book, book.read() as connection:
        found = recent_steps(connection)
    page = answer.Answer(
        {
            "steps": [
                {
                    "id": each.step.id, "at": each.step.at, "received": each.step.received,
                    "who": each.step.who, "device": each.step.device, "title": each.step.title,
                    "is_undone": each.is_undone, "can_be_undone": each.why_not == "",
                    "why_not": each.why_not or None,
                }
                for each in found
            ]
        }
    )  # fmt: skip
    if not found:
        return page.text("Nothing was entered yet.")
    return page.table(
        ("step", "at", "who", "what", ""),
        [
            (
                each.step.id,
                f"{datetime.fromisoformat(each.step.at).astimezone():%Y-%m-%d %H:%M}",
                each.step.who,
                each.step.title,
                "undone" if each.is_undone else "others rest on it" if each.why_not else "",
            )
            for each in found
        ],
    )


def _undone(step: str, who: str | None, named: str | None) -> answer.Answer:
    from spawnwright.actions.book.files import now_utc
    from spawnwright.actions.book.jars import undo
    from spawnwright.actions.book.opening import writing

    now = now_utc()
    with writing(named) as book:
        kept = undo(book, hand_of(who, now), step, now)
        back_up(book, now)
    page = answer.Answer({"undone": step, "step": kept.step})
    return page.text(f"Undone. To bring it back: undo {kept.step}")
