"""The drawn parts of a batch sheet: a time with its box and line, and the table of looks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.colors import black
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Flowable

from spawnwright.paper.sheet_content import Cell, Looks
from spawnwright.paper.typeface import BOLD, REGULAR

HAIR, THIN, THICK = 0.3, 0.5, 1.2
LEAST_SIZE = 7.0


@dataclass(frozen=True)
class Fit:
    """Type size, gap above and below a row, height of a line to write on, of a box for a look."""

    size: float
    gap: float
    line: float
    look: float

    @property
    def small(self) -> float:
        """Size of labels."""
        return max(LEAST_SIZE, self.size - 1)

    def style(self, size: float | None = None) -> ParagraphStyle:
        """A paragraph style of this size, or of another."""
        points = self.size if size is None else size
        return ParagraphStyle(
            "", fontName=REGULAR, fontSize=points, leading=points * 1.18, textColor=black
        )


class When(Flowable):  # type: ignore[misc]
    """A box to tick, day and hours, and a line to write on."""

    def __init__(self, cell: Cell, fit: Fit) -> None:
        super().__init__()
        self.cell, self.fit = cell, fit
        self.indent = fit.size * 1.35

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Its size in a column of that width."""
        self.width = width
        self.lines = self._lines(width - self.indent)
        self.height = len(self.lines) * self.fit.size * 1.18
        if any(self.cell.noted):
            self.height += self.fit.line
        return width, self.height

    def _lines(self, width: float) -> list[str]:
        """Day, hours and latest beginning, on as few lines as they take."""
        lines: list[str] = []
        for part in (self.cell.days, self.cell.hours, self.cell.latest):
            joined = f"{lines[-1]} {part}" if lines else part
            if part and lines and stringWidth(joined, REGULAR, self.fit.size) <= width:
                lines[-1] = joined
            elif part:
                lines += broken(part, width, self.fit.size)
        return lines

    def draw(self) -> None:
        """Put it on the page."""
        canvas, size = self.canv, self.fit.size
        box = size * 0.95
        canvas.setLineWidth(THIN)
        canvas.rect(0, self.height - box - 0.12 * size, box, box)
        canvas.setFont(REGULAR, size)
        for place, text in enumerate(self.lines):
            canvas.drawString(self.indent, self.height - size * (0.95 + 1.18 * place), text)
        if any(self.cell.noted):
            self._draw_line(*self.cell.noted)

    def _draw_line(self, before: str, behind: str) -> None:
        canvas, small = self.canv, self.fit.small
        base, right = 0.25 * self.fit.size, self.width - 4
        canvas.setFont(REGULAR, small)
        canvas.setLineWidth(HAIR)
        canvas.drawString(0, base, before)
        begin = stringWidth(before, REGULAR, small) + 2
        end = right - stringWidth(behind, REGULAR, small) - 1
        if behind == "to":  # two instants
            end = (begin + right) / 2 - 6
            canvas.line(end + 12, base, right, base)
            canvas.drawString(end + 2, base, behind)
        else:
            canvas.drawString(end + 1, base, behind)
        canvas.line(begin, base, end, base)


def broken(text: str, width: float, size: float) -> list[str]:
    """A text on lines of at most that width; a longer word has a line of its own."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and stringWidth(longer, REGULAR, size) > width:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


class LooksByJar(Flowable):  # type: ignore[misc]
    """A box for each jar on each day of looking, in bands where the jars are many."""

    NARROWEST, WIDEST = 17.0, 34.0

    def __init__(self, looks: Looks, fit: Fit) -> None:
        super().__init__()
        self.looks, self.fit = looks, fit

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Its size on a page of that width."""
        size, days = self.fit.size, self.looks.by_jar
        self.name_width = 4 + max(stringWidth(name, REGULAR, size) for name, _ in days)
        self.width = width
        bands = -(-len(self.looks.jars) // int((width - self.name_width) / self.NARROWEST))
        self.in_band = -(-len(self.looks.jars) // bands)
        self.band_height = size * 1.3 + len(days) * self.fit.look + self.fit.gap + 1
        self.height = bands * self.band_height
        return width, self.height

    def draw(self) -> None:
        """Put it on the page."""
        jars, top = self.looks.jars, self.height
        for first in range(0, len(jars), self.in_band):
            self._band(jars[first : first + self.in_band], top)
            top -= self.band_height

    def _band(self, jars: Sequence[str], top: float) -> None:
        canvas, size, look = self.canv, self.fit.size, self.fit.look
        wide = min(self.WIDEST, (self.width - self.name_width) / self.in_band)
        canvas.setFont(BOLD, size)
        for place, code in enumerate(jars):
            canvas.drawCentredString(self.name_width + (place + 0.5) * wide, top - size, code)
        canvas.setFont(REGULAR, size)
        canvas.setLineWidth(HAIR)
        for number, (name, on_shelf) in enumerate(self.looks.by_jar, 1):
            base = top - 1.3 * size - number * look
            canvas.drawString(0, base + 0.5 * (look - 0.7 * size), name)
            for place, code in enumerate(jars):
                if code in on_shelf:
                    canvas.rect(self.name_width + place * wide, base, wide, look)
