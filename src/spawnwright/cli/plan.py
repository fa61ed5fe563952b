"""From a wish to a dated batch: quantities, minutes, days, cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from spawnwright.cli import answer

if TYPE_CHECKING:
    from datetime import datetime

    from spawnwright.records.plan import Plan
    from spawnwright.records.wish import Wish


@answer.command(
    "plan", example="plan src/spawnwright/data/example_wish.toml --now 2026-11-25T18:00"
)
@click.argument("wish", metavar="WISH.toml", required=False)
@click.option("--pdf", metavar="FILE", help="Write the batch sheet, one page, as a PDF.")
@click.option(
    "--calendar",
    metavar="FILE",
    help="Write the steps as a calendar, .ics. Over the file of an older plan: events move, and "
    "what this plan has no more is called off.",
)
@click.option(
    "--now",
    metavar="TIME",
    help="Plan as of this instant, like 2026-11-25T18:00, in the wish's time zone unless it has "
    "an offset. Left out: the clock. To plan on when you are late, just plan again.",
)
@click.option("--example", is_flag=True, help="Print a wish file to start from, and nothing else.")
def command(
    wish: str | None, pdf: str | None, calendar: str | None, now: str | None, example: bool
) -> answer.Answer:
    """From a wish to a dated batch: quantities, minutes, days, cautions.

    The wish is a TOML file: what you would like, by when, with what, and in which hours;
    `--example` prints one, docs/wish.md says what each line means. The answer is the chain of
    dated steps. Steps with hands on them lie in your free hours, and somebody is present from
    heat on to zero pressure. With a ready_by the plan begins as late as it can and still meets
    the chance that you want; with a start, as soon as it can. water_l is the water that the grain
    takes up.

    If the wish cannot be met the exit code is 1, and the answer names the limits that bind and
    what would free each. Files are written whole, and only for a plan that can be met; an older
    file of the same name is replaced.
    """
    if example:
        from spawnwright.actions.planning.example import example_wish

        text = example_wish()
        return answer.Answer({"wish": text}).verbatim(text)
    if wish is None:
        raise click.UsageError(
            "Missing the wish file; `./run plan --example > wish.toml` makes one to start from."
        )
    from pathlib import Path

    from spawnwright.actions.planning.papers import check_places, write_papers
    from spawnwright.actions.planning.plan import plan, read

    path = Path(wish)
    places = (Path(pdf) if pdf else None, Path(calendar) if calendar else None)
    check_places(*places, wish=path)
    asked = read(path, _instant(now))
    found = plan(asked)
    if found.feasible:
        for written in write_papers(found, asked, *places):
            answer.note(f"Written: {written}")
    elif any(places):
        answer.note("Nothing was written: the wish cannot be met as it stands.")
    return _page(found, asked)


def _instant(now: str | None) -> datetime:
    from datetime import datetime

    if now is None:
        return datetime.now().astimezone()
    try:
        return datetime.fromisoformat(now)
    except ValueError as reason:
        raise click.UsageError(
            f"--now: {now!r} is no instant; write it like 2026-11-25T18:00."
        ) from reason


def _page(found: Plan, wish: Wish) -> answer.Answer:
    from spawnwright.cli.plan_page import add_page

    return add_page(
        answer.Answer(answer.plain(found), exit_code=0 if found.feasible else 1), found, wish
    )
