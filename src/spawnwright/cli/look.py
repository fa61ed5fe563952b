"""A look at a jar, entered in one line."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.book_options import back_up, book_option, hand_of, who_option
from spawnwright.cli.options import Share
from spawnwright.records.book.grown import SIGNS


@answer.command("look", example="look")
@click.argument("code", required=False)
@click.option("--percent", type=Share(), help='How much is white: "30%".')
@click.option("--sign", type=click.Choice(SIGNS), metavar="SIGN", help="What was seen.")
@click.option("--where", "place", help="Where in the jar: at the bottom, under the lid.")
@click.option("--smell", help="Only if it was noticed without trying; never where mold may be.")
@click.option("--note", help="Anything else.")
@who_option
@book_option
def command(
    code: str | None, percent: float | None, sign: str | None, place: str | None,
    smell: str | None, note: str | None, who: str | None, named: str | None,
) -> answer.Answer:  # fmt: skip
    """Enter a look at the jar of a code; without CODE, the signs that can be named are listed.

    For instance: look CT36 --percent 30% --sign white. A wrong sign of a code is always noticed.
    """
    if code is None:
        page = answer.Answer({"signs": list(SIGNS)})
        page.text("What a look can name as its sign:")
        page.verbatim("\n".join(f"  {each}" for each in SIGNS))
        return page.text("./run look CODE --percent 30% --sign white enters a look.")
    from spawnwright.actions.book.files import now_utc
    from spawnwright.actions.book.find import jar_of_typed
    from spawnwright.actions.book.looks import add_look
    from spawnwright.actions.book.opening import writing

    said = {
        "percent": None if percent is None else round(100 * percent, 6),
        "sign": sign, "place": place, "smell": smell, "note": note,
    }  # fmt: skip
    about = {name: value for name, value in said.items() if value is not None}
    now = now_utc()
    with writing(named) as book:
        with book.read() as connection:
            jar = jar_of_typed(connection, code)
        made = add_look(book, hand_of(who, now), jar, about, now)
        back_up(book, now)
    page = answer.Answer({"look": made.record, "jar": jar, "step": made.kept.step})
    return page.text(f"Kept. To take this back: undo {made.kept.step}")
