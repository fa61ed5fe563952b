"""The batch sheet: one page for the wall, with everything that a plan says to do."""

from __future__ import annotations

import os
from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import replace
from io import BytesIO
from typing import TYPE_CHECKING, Any, Literal

from spawnwright.errors import Unusable
from spawnwright.paper.sheet_content import Content, content_of
from spawnwright.records.plan import Plan
from spawnwright.records.wish import Wish

if TYPE_CHECKING:
    from spawnwright.paper.sheet_layout import LooksAs
    from spawnwright.paper.sheet_parts import Fit

Paper = Literal["A4", "Letter"]

# Type size, gap, line to write on and box for a look, from generous to tight; then what is
# printed more shortly when even the tightest is too high.
_FITS = (
    (9.5, 3.4, 15, 17), (9.5, 2.8, 14, 16), (9.0, 2.6, 14, 15), (9.0, 2.0, 13, 14),
    (8.5, 2.0, 13, 14), (8.5, 1.5, 12.5, 13), (8.0, 1.5, 12, 12.5), (8.0, 1.1, 12, 12),
    (7.5, 1.1, 11.5, 11.5), (7.5, 0.8, 11, 11), (7.5, 0.4, 10, 10.5),
)  # fmt: skip
_TIGHTEST = (*_FITS, (7.0, 0.4, 9.5, 9.5), (7.0, 0.2, 9, 8.5))


# Where Letter is the usual paper; from memory, after the Unicode locale data.
_LETTER_LANDS = ("US", "CA", "MX", "PH", "PR", "CL", "CO", "CR", "DO", "GT", "NI", "PA", "SV", "VE")


def usual_paper(environment: Mapping[str, str] = os.environ) -> Paper:
    """The paper that is usual in the country of the locale: Letter in North America, else A4."""
    for name in ("LC_ALL", "LC_PAPER", "LANG"):
        if locale := environment.get(name):
            land = locale.partition(".")[0].partition("@")[0].rpartition("_")[2]
            return "Letter" if land in _LETTER_LANDS else "A4"
    return "A4"


def batch_sheet_pdf(plan: Plan, wish: Wish, paper: Paper = "A4") -> bytes:
    """The sheet of a feasible plan as a PDF of one page, the same bytes each time.

    Raises `Unusable` for a plan that is not feasible, or that no page of this size takes at a
    legible type.
    """
    if not plan.feasible:
        raise Unusable("There is no batch to print: the wish cannot be met as it stands.")
    from reportlab.lib import pagesizes
    from reportlab.pdfgen.canvas import Canvas

    from spawnwright.paper import typeface

    typeface.register()
    content = content_of(plan, wish)
    page = pagesizes.A4 if paper == "A4" else pagesizes.LETTER
    file = BytesIO()
    canvas = Canvas(file, pagesize=page, invariant=1, pageCompression=1)
    canvas.setTitle(f"{content.title}, {wish.now:%Y-%m-%d}")
    canvas.setAuthor("Spawnwright")
    canvas.setSubject("Batch sheet")
    _draw(canvas, content, page)
    canvas.save()
    return file.getvalue()


def _draw(canvas: Any, content: Content, page: tuple[float, float]) -> None:
    from reportlab.lib.units import mm

    from spawnwright.paper.sheet_layout import draw_footer, parts

    margin, foot = 11 * mm, 14.0
    width, room = page[0] - 2 * margin, page[1] - 2 * margin - foot
    fit, looks_as, with_notes, spare = _fitting(content, width, room)
    if looks_as == "by jar" and content.looks.by_jar:  # more room to write in
        fit = replace(fit, look=min(20.0, fit.look + spare / (2 * len(content.looks.by_jar) + 2)))
    y = page[1] - margin
    for part in parts(content, fit, width, looks_as, with_notes):
        y -= part.wrap(width, room)[1]
        part.drawOn(canvas, margin, y)
    draw_footer(canvas, content.footer, margin, width)


def _fitting(content: Content, width: float, room: float) -> tuple[Fit, LooksAs, bool, float]:
    """The most generous way to print that the page takes, and the height that it leaves."""
    from spawnwright.paper.sheet_layout import parts
    from spawnwright.paper.sheet_parts import Fit

    ways: tuple[tuple[tuple[tuple[float, ...], ...], LooksAs, bool], ...] = (
        (_FITS, "by jar", True), (_FITS, "by jar", False), (_FITS, "by inoculation", False),
        (_TIGHTEST, "days", False),
    )  # fmt: skip
    for sizes, looks_as, with_notes in ways:
        fits = [Fit(*each) for each in sizes]

        def spare(fit: Fit, looks_as: LooksAs = looks_as, with_notes: bool = with_notes) -> float:
            found = parts(content, fit, width, looks_as, with_notes)
            return room - float(sum(part.wrap(width, room)[1] for part in found))

        # Each fit is lower than the one before, so the first that the page takes is found by
        # halving; the last one is tried first because it says whether there is any.
        if spare(fits[-1]) >= 0:
            place = bisect_left(fits, True, key=lambda fit: spare(fit) >= 0)
            return fits[place], looks_as, with_notes, spare(fits[place])
    raise Unusable(
        f"This plan has {len(content.looks.jars)} jars, more than one legible page takes; "
        "plan fewer at a time, or use the calendar."
    )
