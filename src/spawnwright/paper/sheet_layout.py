"""How the parts of a batch sheet stand on the page, from top to bottom, black on white.

Sizes are in points. A `Fit` says how large type and gaps are; `batch_sheet` looks for the most
generous one that fits the page.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any, Literal
from xml.sax.saxutils import escape

from reportlab.lib.colors import black
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Flowable, Paragraph, Table

from spawnwright.paper.sheet_content import Cell, Content, Lines, Looks, Row, Section
from spawnwright.paper.sheet_parts import HAIR, THICK, Fit, LooksByJar, When
from spawnwright.paper.typeface import BOLD, REGULAR

LooksAs = Literal["by jar", "by inoculation", "days"]
_SIGNS = "✓ clean, growing · S slow · ? in doubt · X spoiled: away with it, unopened · ( ) control"


def parts(
    content: Content, fit: Fit, width: float, looks_as: LooksAs, with_notes: bool
) -> list[Flowable]:
    """The sheet from top to bottom, but for the footer."""
    page = Page(fit, width, max(len(section.columns) for section in content.sections))
    found: list[Flowable] = [
        page.title(content),
        page.figures(content.figures),
        page.paragraph("Have ready", content.have_ready),
    ]
    for place, section in enumerate(content.sections):
        is_last_without_times = (
            not content.sections[place + 1 :][:1] or content.sections[place + 1].columns
        )
        found += [page.heading(section), page.rows(section)]
        if content.lines and not section.columns and is_last_without_times:
            found += [page.bar("Times", "A line for each run, from its soak on."),
                      page.lines(content.lines)]  # fmt: skip
    if content.looks.days:
        found += page.looks(content.looks, looks_as)
    if with_notes and content.notes:
        found.append(page.paragraph("Taken for granted", " · ".join(content.notes)))
    return found


def draw_footer(canvas: Any, text: str, margin: float, width: float) -> None:
    """The last lines of the page."""
    style = ParagraphStyle("", fontName=REGULAR, fontSize=7, leading=8.2)
    paragraph = Paragraph(escape(text), style)
    paragraph.wrap(width, 30)
    paragraph.drawOn(canvas, margin, margin - 6)


def draw_note_lines(canvas: Any, top: float, left: float, width: float, bottom: float) -> None:
    """Lines for notes on what is left of the page, if that is worth it."""
    apart = 20.0
    if top - bottom < 3 * apart:
        return
    canvas.setFont(BOLD, 9)
    canvas.drawString(left, top - apart, "Notes")
    canvas.setLineWidth(HAIR)
    y = top - 2 * apart
    while y >= bottom:
        canvas.line(left, y, left + width, y)
        y -= apart


class Page:
    """Makes the parts of one page, all of one fit."""

    def __init__(self, fit: Fit, width: float, columns: int) -> None:
        self.fit, self.width = fit, width
        self.columns = columns
        """Columns of the section that has most."""
        self.small = replace(fit, size=min(7.2, fit.small))
        """For times in many narrow columns."""

    def text(self, markup: str, size: float | None = None) -> Paragraph:
        """A paragraph; bold where the markup says so."""
        return Paragraph(markup, self.fit.style(size))

    def bold(self, text: str, size: float | None = None) -> Paragraph:
        """A paragraph, all bold."""
        return self.text(f"<b>{escape(text)}</b>", size)

    def title(self, content: Content) -> Table:
        """What the batch is."""
        size = self.fit.size
        wide = stringWidth(content.title, BOLD, size + 8) + 14
        return _table(
            [[self.bold(content.title, size + 8), self.text(escape(content.subtitle), size + 0.5)]],
            (wide, self.width - wide),
            [("VALIGN", (0, 0), (-1, -1), "BOTTOM"), ("BOTTOMPADDING", (0, 0), (-1, -1), 3)],
        )

    def figures(self, figures: Sequence[tuple[str, str, str]]) -> Table:
        """The numbers of the batch in a frame."""
        small, large = self.fit.small, self.fit.size + 2.5
        shares = [
            max(
                stringWidth(label, REGULAR, small), stringWidth(value, BOLD, large),
                0.8 * stringWidth(more, REGULAR, small),
            )
            for label, value, more in figures
        ]  # fmt: skip
        inner = self.width - 9 * len(figures)
        return _table(
            [
                [self.text(escape(label), small) for label, _, _ in figures],
                [self.bold(value, large) for _, value, _ in figures],
                [self.text(escape(more), small) for _, _, more in figures],
            ],
            [9 + inner * share / sum(shares) for share in shares],
            [
                ("BOX", (0, 0), (-1, -1), THICK, black),
                ("LINEAFTER", (0, 0), (-2, -1), HAIR, black),
                ("LEFTPADDING", (0, 0), (-1, -1), 5), ("RIGHTPADDING", (0, 0), (-1, -1), 3),
                ("TOPPADDING", (0, 0), (-1, 0), 2), ("BOTTOMPADDING", (0, -1), (-1, -1), 3),
            ],
        )  # fmt: skip

    def paragraph(self, title: str, text: str) -> Table:
        """A titled paragraph across the page."""
        gap = self.fit.gap + 1
        return _table(
            [[self.text(f"<b>{escape(title)}</b>  {escape(text)}")]], (self.width,),
            [("TOPPADDING", (0, 0), (-1, -1), gap), ("BOTTOMPADDING", (0, 0), (-1, -1), gap)],
        )  # fmt: skip

    def heading(self, section: Section) -> Table:
        """A section's title, over the names of its columns."""
        cells = [self.bold(section.title, self.fit.size + 1.5)]
        cells += [self.bold(head) for head in section.columns]
        return _table(
            [cells], self._widths(section),
            [*self._underlined(), ("LEFTPADDING", (1, 0), (-1, -1), 4)],
        )  # fmt: skip

    def bar(self, title: str, more: str) -> Table:
        """A title with a remark beside it."""
        return _table(
            [[self.bold(title, self.fit.size + 1.5), self.text(escape(more))]],
            (self.width * 0.26, self.width * 0.74), self._underlined(),
        )  # fmt: skip

    def _underlined(self) -> list[Any]:
        return [
            ("LINEBELOW", (0, 0), (-1, -1), THICK, black), ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
            ("TOPPADDING", (0, 0), (-1, -1), self.fit.gap + 2.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ]  # fmt: skip

    def rows(self, section: Section) -> Table:
        """A row for each kind of step: what to do, then its time in each column."""
        return _table(
            [[self.text(_what(row)), *self._whens(row.cells)] for row in section.rows],
            self._widths(section),
            [
                *self._ruled(),
                ("RIGHTPADDING", (0, 0), (0, -1), 6), ("LEFTPADDING", (1, 0), (-1, -1), 4),
            ],
        )  # fmt: skip

    def lines(self, lines: Lines) -> Table:
        """A line for each run: short times, with a box each."""
        first = 26.0
        rows: list[list[Any]] = [["", *(self.bold(head, self.fit.small) for head in lines.heads)]]
        rows += [
            [self.bold(name, self.fit.small), *self._whens(cells)] for name, cells in lines.rows
        ]
        wide = (self.width - first) / len(lines.heads)
        return _table(rows, (first, *[wide] * len(lines.heads)), self._ruled())

    def looks(self, looks: Looks, looks_as: LooksAs) -> list[Flowable]:
        """The days of looking, in one of three ways."""
        if looks_as == "by jar":
            return [self.bar("Looks, jar by jar", _SIGNS), LooksByJar(looks, self.fit)]
        if looks_as == "days":
            return [self.paragraph("Look at the jars", looks.days)]
        first, most = 78.0, max(len(days) for _, days in looks.by_inoculation)
        rows = [
            [self.text(escape(name), self.fit.small),
             *self._whens((Cell(each, "", "", ("", "")) for each in days), self.small),
             *[""] * (most - len(days))]
            for name, days in looks.by_inoculation
        ]  # fmt: skip
        table = _table(rows, (first, *[(self.width - first) / most] * most), self._ruled())
        return [self.bar("Looks", "Write down how many are not clean, and which."), table]

    def _ruled(self) -> list[Any]:
        return [
            ("TOPPADDING", (0, 0), (-1, -1), self.fit.gap),
            ("BOTTOMPADDING", (0, 0), (-1, -1), self.fit.gap),
            ("LINEBELOW", (0, 0), (-1, -1), HAIR, black),
            ("LINEBEFORE", (1, 0), (-1, -1), HAIR, black),
            ("LEFTPADDING", (1, 0), (-1, -1), 2),
        ]

    def _whens(self, cells: Iterable[Cell | None], fit: Fit | None = None) -> list[Any]:
        return ["" if cell is None else When(cell, fit or self.fit) for cell in cells]

    def _widths(self, section: Section) -> list[float]:
        """Columns of times are wide enough to write in, the rest is for the words."""
        count = len(section.columns)
        if count == 1:
            wide = (54 if self.columns == 1 else 72) * mm
        else:
            wide = {2: 36 * mm, 3: 31 * mm}.get(count, 27 * mm)
        return [self.width - wide * count, *[wide] * count]


def _what(row: Row) -> str:
    cautions = "".join(f"  <b>⚠</b>\u00a0{escape(each)}" for each in row.cautions)
    detail = f"  {escape(row.detail)}" if row.detail else ""
    return f"<b>{escape(row.title)}.</b>{detail}{cautions}"


def _table(rows: Sequence[Sequence[Any]], widths: Iterable[float], style: list[Any]) -> Table:
    plain = [
        ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 0), ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ]  # fmt: skip
    # Else a table measures itself only as far as the height that it is offered.
    return Table(
        [list(row) for row in rows],
        colWidths=list(widths),
        style=plain + style,
        longTableOptimize=0,
    )
