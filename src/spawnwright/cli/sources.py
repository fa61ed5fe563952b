"""Every source, weak ones first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from spawnwright.cli import answer

if TYPE_CHECKING:
    from spawnwright.actions.sources import RestingNumber, SourcePage

_STRENGTH = {
    "COMMON": "no source",
    "JUDGMENT": "our own estimate",
    "OWN": "your own",
}


@answer.command("sources", example="sources steam")
@click.argument("word", required=False, default="")
@click.option("--weak", is_flag=True, help="Only those that nobody here has seen in print.")
def command(word: str, weak: bool) -> answer.Answer:
    """Every source, weak ones first: what the program's numbers rest on.

    With WORD, the sources whose key, author, title or use contains it, each with all the numbers
    that rest on it and where they are used. Weak are our own estimates, common practice of the
    trade, and works quoted from memory or second hand: these are the numbers to replace first,
    and your own measurements win over them in your own catalog files.
    """
    from spawnwright.actions.sources import source_pages

    pages = [page for page in source_pages(word) if page.is_weak or not weak]
    given = answer.Answer({"sources": [_as_dict(page) for page in pages]})
    if not pages:
        return given.text(f"No source has {word!r} in its key, author, title or use.")
    return _full(given, pages) if word else _brief(given, pages)


def _as_dict(page: SourcePage) -> dict[str, object]:
    return {**vars(page.work), "weak": page.is_weak, "numbers": page.numbers,
            "cited_in": page.cited_in}  # fmt: skip


def _brief(given: answer.Answer, pages: list[SourcePage]) -> answer.Answer:
    rows = [[page.work.key, _strength(page), str(len(page.numbers)), _title(page)]
            for page in pages]  # fmt: skip
    given.table(["source", "how it was read", "numbers", "work"], rows)
    return given.text(
        "`./run sources WORD` shows the numbers and where they are used; "
        "docs/sources.md holds all of them."
    )


def _full(given: answer.Answer, pages: list[SourcePage]) -> answer.Answer:
    for page in pages:
        work = page.work
        printed = ". ".join(each for each in (work.published, work.address) if each)
        given.text(f"{work.key} ({_strength(page)}): {_title(page)}. {printed}".strip())
        if page.numbers:
            given.table(
                ["number", "where in it", "used in"],
                [[written(number), number.where, number.used_in] for number in page.numbers],
            )
        if page.cited_in:
            given.text(f"Cited in {', '.join(page.cited_in)}.")
    return given


def _strength(page: SourcePage) -> str:
    return _STRENGTH.get(page.work.key, page.work.read)


def _title(page: SourcePage) -> str:
    work = page.work
    by = f"{work.author} {work.year}".strip()
    return f"{by}: {work.title}" if by else work.title


def written(number: RestingNumber) -> str:
    """A number with its spread and unit, as short as it was entered."""
    if isinstance(number.value, tuple):
        return f"{len(number.value)} coefficients"
    unit = "" if number.unit in ("-", "") else f" {number.unit}"
    spread = "" if number.low is None else f" ({number.low:.6g} to {number.high:.6g})"
    return f"{number.value:.9g}{spread}{unit}"
