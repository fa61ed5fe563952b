"""The what-if table as a page: the hold for each value, drawn beside what the trade does."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any, Literal
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color, black
from reportlab.platypus import Flowable

from spawnwright.paper.sheet_parts import HAIR, THICK, THIN
from spawnwright.paper.typeface import REGULAR
from spawnwright.records.what_if import HEADS, WhatIf, WhatIfBlock, WhatIfRow, cells
from spawnwright.units import written_duration

_MARGIN, _SIZE, _SMALL = 36.0, 8.8, 7.8
_SHARES = (0.16, 0.085, 0.2, 0.145, 0.145, 0.135, 0.13)
_GRAY, _PALE = Color(0.72, 0.72, 0.72), Color(0.9, 0.9, 0.9)


class HoldBar(Flowable):  # type: ignore[misc]
    """The recommended hold as a mark on a line of minutes, the customary one as a gray bar."""

    def __init__(self, row: WhatIfRow, hold_s: float, most_s: float, height: float) -> None:
        super().__init__()
        self.row, self.hold_s, self.most_s, self.height = row, hold_s, most_s, height

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Its size in a column of that width."""
        self.width = width - 8
        return width, self.height

    def draw(self) -> None:
        """Put it on the page."""
        canvas, row, middle = self.canv, self.row, self.height / 2
        scale = self.width / self.most_s
        canvas.setStrokeColor(black)
        canvas.setLineWidth(HAIR)
        canvas.line(0, middle, self.width, middle)
        low, high = row.customary_low_s * scale, row.customary_high_s * scale
        canvas.setFillColor(_GRAY)
        canvas.rect(low - 1, middle - 2.4, high - low + 2, 4.8, stroke=0, fill=1)
        end = min(row.longest_hold_s * scale, self.width)
        canvas.setLineWidth(THIN)
        canvas.line(end, middle - 3.5, end, middle + 3.5)
        canvas.setFillColor(black)
        canvas.circle(self.hold_s * scale, middle, 2.3, stroke=0, fill=1)


def what_if_pdf(table: WhatIf, paper: Literal["A4", "Letter"] = "A4") -> bytes:
    """The table as a PDF of one page, black on white, the same bytes each time."""
    from reportlab.lib import pagesizes
    from reportlab.pdfgen.canvas import Canvas

    from spawnwright.paper import typeface

    typeface.register()
    page = pagesizes.A4 if paper == "A4" else pagesizes.LETTER
    file = BytesIO()
    canvas = Canvas(file, pagesize=page, invariant=1, pageCompression=1)
    canvas.setTitle("What if: the hold, one thing different at a time")
    canvas.setAuthor("Spawnwright")
    canvas.setSubject("What-if table")
    width, y = page[0] - 2 * _MARGIN, page[1] - _MARGIN
    for part in (*_above(table), *_tables(table, width), *_below(table)):
        height = part.wrap(width, 1e4)[1]
        part.drawOn(canvas, _MARGIN, y - height)
        y -= height + 5
    canvas.save()
    return file.getvalue()


def _paragraph(markup: str, size: float = _SIZE) -> Any:
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    style = ParagraphStyle("", fontName=REGULAR, fontSize=size, leading=size * 1.22)
    return Paragraph(markup, style)


def _above(table: WhatIf) -> list[Any]:
    hold = written_duration(table.hold_s)
    return [
        _paragraph("<b>What if?</b> The hold, one thing different at a time", 14),
        _paragraph(f"<b>{escape(table.run)}</b>; grain: {escape(table.grain_state)}.", 9.5),
        _paragraph(
            f"The hold brings the chance of a survivor in a jar to {100 * table.target:g}%. F0 and "
            f"water are for {hold} in every row, {escape(table.hold_is)}; F0 is minutes at "
            "121.11 °C with z 10 °C, cooling counted. In brackets the 5th and the 95th percentile."
        ),
        _paragraph(
            "On the line of minutes: ● the hold, the gray bar what is customary for that jar, "
            "| the longest for which there is water."
        ),
    ]


def _tables(table: WhatIf, width: float) -> list[Any]:
    rows = [row for block in table.blocks for row in block.rows]
    most = 1.08 * max(
        [1.0, *(row.customary_high_s for row in rows), *(row.longest_hold_s for row in rows)]
    )
    return [_table(block, width, most) for block in table.blocks]


def _table(block: WhatIfBlock, width: float, most_s: float) -> Any:
    from reportlab.platypus import Table

    heads = [block.said, HEADS[1], f"0 to {most_s / 60:.0f} min", *HEADS[3:]]
    lines: list[list[Any]] = [[_paragraph(f"<b>{escape(head)}</b>", _SMALL) for head in heads]]
    shaded = []
    for place, row in enumerate(block.rows, 1):
        lines.append(_line(row, most_s))
        if row.is_own:
            shaded.append(("BACKGROUND", (0, place), (-1, place), _PALE))
    return Table(
        lines, [width * share for share in _SHARES],
        style=[
            ("LINEABOVE", (0, 0), (-1, 0), THICK, black),
            ("LINEBELOW", (0, 0), (-1, 0), THIN, black),
            ("LEFTPADDING", (0, 0), (-1, -1), 2), ("RIGHTPADDING", (0, 0), (-1, -1), 3),
            ("TOPPADDING", (0, 0), (-1, -1), 1.6), ("BOTTOMPADDING", (0, 0), (-1, -1), 2.0),
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"), *shaded,
        ],
    )  # fmt: skip


def _line(row: WhatIfRow, most_s: float) -> list[Any]:
    """Value, hold, drawing and bands; what would do stands where no hold can be drawn."""
    said, hold, _, *bands = cells(row)
    if row.recommended_hold_s is None:
        hold = "none"
        drawn = _paragraph(escape(row.none_because or _cut(row.refused)), _SMALL)
    else:
        drawn = HoldBar(row, row.recommended_hold_s, most_s, 9.0)
    return [_paragraph(escape(said)), _paragraph(f"<b>{hold}</b>"), drawn,
            *(_paragraph(escape(each)) for each in bands)]  # fmt: skip


def _cut(text: str) -> str:
    return text if len(text) <= 60 else text[:56].rstrip() + " ..."


def _below(table: WhatIf) -> Sequence[Any]:
    return [
        *(_paragraph(escape(each.replace("`", "")), _SMALL) for each in table.notes),
        _paragraph(f"<b>Mind.</b> {escape(' '.join(table.cautions))}", _SMALL),
    ]
