"""The batch sheet: one page for the wall, with everything that a plan says to do."""

from __future__ import annotations

import os
from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass, replace
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

# Type size, gap, line to write on and box for a look, from generous to tight.
_FITS = (
    (9.5, 3.4, 15, 17), (9.5, 2.8, 14, 16), (9.0, 2.6, 14, 15), (9.0, 2.0, 13, 14),
    (8.5, 2.0, 13, 14), (8.5, 1.5, 12.5, 13), (8.0, 1.5, 12, 12.5), (8.0, 1.1, 12, 12),
    (7.5, 1.1, 11.5, 11.5), (7.5, 0.8, 11, 11), (7.5, 0.4, 10, 10.5),
    (7.0, 0.4, 9.5, 9.5), (7.0, 0.2, 9, 8.5),
)  # fmt: skip
_EASY, _LEGIBLE = 8, 11  # so many of them have type of 8 points, of 7.5 points or more


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
    page = pagesizes.A4 if paper == "A4" else pagesizes.LETTER
    file = BytesIO()
    canvas = Canvas(file, pagesize=page, invariant=1, pageCompression=1)
    canvas.setTitle(f"Grain spawn, batch sheet, {wish.now:%Y-%m-%d}")
    canvas.setAuthor("Spawnwright")
    canvas.setSubject("Batch sheet")
    _draw(canvas, plan, wish, page)
    canvas.save()
    return file.getvalue()


def _draw(canvas: Any, plan: Plan, wish: Wish, page: tuple[float, float]) -> None:
    from reportlab.lib.units import mm

    from spawnwright.paper.sheet_layout import draw_footer, draw_note_lines

    margin, foot = 11 * mm, 14.0
    width, room = page[0] - 2 * margin, page[1] - 2 * margin - foot
    printed = _fitting(plan, wish, width, room)
    days = len(printed.content.looks.by_jar)
    if printed.looks_as == "by jar" and days:  # more room to write in
        look = printed.fit.look + (room - printed.height(width)) / (2 * days + 2)
        printed = replace(printed, fit=replace(printed.fit, look=min(20.0, look)))
    y = page[1] - margin
    for part in printed.parts(width):
        y -= part.wrap(width, room)[1]
        part.drawOn(canvas, margin, y)
    draw_note_lines(canvas, y, margin, width, margin + foot)
    draw_footer(canvas, printed.content.footer, margin, width)


@dataclass(frozen=True)
class _Way:
    """One way to print a plan."""

    content: Content
    looks_as: LooksAs
    with_notes: bool
    fit: Fit

    def parts(self, width: float) -> list[Any]:
        from spawnwright.paper.sheet_layout import parts

        return parts(self.content, self.fit, width, self.looks_as, self.with_notes)

    def height(self, width: float) -> float:
        return float(sum(part.wrap(width, 1e4)[1] for part in self.parts(width)))


def _fitting(plan: Plan, wish: Wish, width: float, room: float) -> _Way:
    """The way to print that says most and is most legible among those that the page takes."""
    from spawnwright.paper.sheet_parts import Fit

    full = content_of(plan, wish, in_full=True)
    short = content_of(plan, wish, in_full=False)
    fits = [Fit(*sizes) for sizes in _FITS]
    ways: tuple[tuple[Content, LooksAs, bool, int], ...] = (
        (full, "by jar", True, _EASY), (short, "by jar", True, _EASY),
        (short, "by jar", False, _LEGIBLE), (short, "by inoculation", False, _LEGIBLE),
        (short, "days", False, len(fits)),
    )  # fmt: skip
    for content, looks_as, with_notes, most in ways:
        way = _Way(content, looks_as, with_notes, fits[most - 1])
        if way.height(width) > room:
            continue
        # Each fit is lower than the one before, so the first that the page takes is found by
        # halving.
        place = bisect_left(
            fits, True, hi=most - 1, key=lambda fit: replace(way, fit=fit).height(width) <= room
        )
        return replace(way, fit=fits[place])
    raise Unusable(
        f"This plan has {len(short.looks.jars)} jars, more than one legible page takes; "
        "plan fewer at a time, or use the calendar."
    )
