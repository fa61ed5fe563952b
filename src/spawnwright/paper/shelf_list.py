"""The shelf list as a PDF: a line for each active jar, with a box to tick and room to write."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from io import BytesIO
from typing import Any

from spawnwright.errors import Unusable
from spawnwright.paper.dates import day_of_year
from spawnwright.paper.labels_text import LEADING, cut, largest, printable, wrapped
from spawnwright.paper.typeface import BOLD, REGULAR
from spawnwright.records.label import PAPER_M, Paper
from spawnwright.records.shelf_list import ShelfListLine

_PT_M = 0.0254 / 72
_MARGIN = 34.0
_SIZE, _CODE, _SMALL = 8.0, 11.0, 6.5
_ROW, _HEADS, _TITLE, _FOOT = 25.0, 15.0, 34.0, 22.0
_GAP = 5.0
_COLUMNS = (
    ("", 2.2), ("jar", 8.5), ("days", 4.5), ("last look", 19.0), ("strain", 14.0),
    ("batch", 13.5), ("where", 12.0), ("now", 12.0),
)  # fmt: skip
_FOOTNOTE = (
    "Days count from inoculation, else from filling. A jar with mold stays shut and is not smelled "
    "at: carry it out of the room of the others."
)


def shelf_list_pdf(
    lines: Sequence[ShelfListLine], printed_on: date, paper: Paper = "A4", of: str = ""
) -> bytes:
    """The list as a PDF with the heads on each page and "page 1 of 3", the same bytes each time.

    Parameters
    ----------
    lines : sequence of ShelfListLine
        In the order in which they are printed; none is an empty shelf, and says so.
    printed_on : date
        The day to which ages refer.
    paper : str
        A4 or Letter.
    of : str
        What the list is restricted to, such as a batch's name.
    """
    from reportlab.pdfgen.canvas import Canvas

    from spawnwright.paper import typeface

    if paper not in PAPER_M:
        raise Unusable(f"{paper!r} is no paper of the shelf list; it can be A4 or Letter.")
    typeface.register()
    width, height = (each / _PT_M for each in PAPER_M[paper])
    file = BytesIO()
    canvas = Canvas(file, pagesize=(width, height), invariant=1, pageCompression=1)
    canvas.setTitle(f"Shelf list, {printed_on.isoformat()}")
    canvas.setAuthor("Spawnwright")
    canvas.setSubject("Shelf list")
    fit = rows_on_page(paper)
    pages = page_count(len(lines), paper)
    for page in range(pages):
        if page:
            canvas.showPage()
        top = _draw_head(canvas, width, height, _title(lines, of), day_of_year(printed_on))
        shown = lines[page * fit : (page + 1) * fit]
        for place, line in enumerate(shown, 1):
            _draw_row(canvas, line, width, top - place * _ROW)
        if not shown:
            canvas.setFont(REGULAR, 11)
            canvas.drawString(_MARGIN, top - 30, "No jar is on the shelf. Fill some, or look "
                              "whether the right book was asked.")  # fmt: skip
        _draw_foot(canvas, width, page + 1, pages)
    canvas.save()
    return file.getvalue()


def rows_on_page(paper: Paper) -> int:
    """How many jars a page has room for."""
    height = PAPER_M[paper][1] / _PT_M
    return int((height - 2 * _MARGIN - _TITLE - _HEADS - _FOOT) / _ROW)


def page_count(jars: int, paper: Paper) -> int:
    """How many pages a list of so many jars takes; an empty one takes a page too."""
    return max(1, -(-jars // rows_on_page(paper)))


def _title(lines: Sequence[ShelfListLine], of: str) -> str:
    jars = f"{len(lines) or 'No'} jar{'s' if len(lines) > 1 else ''}"
    return f"{jars} of {of}" if of else f"{jars} on the shelf"


def _places(width: float) -> list[tuple[str, float, float]]:
    """Head, left edge and width of each column [pt]."""
    whole = width - 2 * _MARGIN
    share = whole / sum(each for _, each in _COLUMNS)
    found, x = [], _MARGIN
    for head, part in _COLUMNS:
        found.append((head, x, part * share))
        x += part * share
    return found


def _draw_head(canvas: Any, width: float, height: float, title: str, day: str) -> float:
    """Title and heads of the columns; gives where the rows begin."""
    y = height - _MARGIN
    room = width - 2 * _MARGIN
    canvas.setFont(REGULAR, _SIZE)
    canvas.drawRightString(width - _MARGIN, y - 12, f"{day}; by place, the oldest first")
    canvas.setFont(BOLD, 13)
    canvas.drawString(_MARGIN, y - 12, cut(printable(title), BOLD, 13, room - 190))
    top = y - _TITLE - _HEADS
    canvas.setFont(BOLD, _SIZE)
    for head, x, _ in _places(width):
        canvas.drawString(x, top + 4, head)
    canvas.setLineWidth(1.0)
    canvas.line(_MARGIN, top, width - _MARGIN, top)
    return top


def _draw_row(canvas: Any, line: ShelfListLine, width: float, below: float) -> None:
    columns = {head: (x, wide - _GAP) for head, x, wide in _places(width)}
    canvas.setLineWidth(0.6)
    canvas.rect(columns[""][0], below + _ROW - 14, 8, 8)
    x, room = columns["jar"]
    code = printable(line.code)
    canvas.setFont(BOLD, largest(code, BOLD, room, _CODE))
    canvas.drawString(x, below + _ROW - 13, code)
    days, wide_days = columns["days"]
    _draw_whole(canvas, ", ".join(line.marks), x, below + 4, days + wide_days - x, _SMALL)
    canvas.setFont(REGULAR, _SIZE)
    canvas.drawRightString(days + wide_days - 2, below + _ROW - 12, f"{line.age_days}")
    x, room = columns["last look"]
    _draw_lines(canvas, line.look or "not looked at", x, below + _ROW - 11, room, 1)
    _draw_whole(canvas, line.sign, x, below + _ROW - 20.5, room, _SIZE)
    for head, text in (("strain", line.strain), ("batch", line.batch), ("where", line.where)):
        x, room = columns[head]
        _draw_lines(canvas, text, x, below + _ROW - 11, room, 2)
    canvas.setLineWidth(0.25)
    canvas.line(_MARGIN, below, width - _MARGIN, below)


def _draw_lines(canvas: Any, text: str, x: float, y: float, room: float, most: int) -> None:
    """A text from that base line on, in so many lines at most."""
    if not text:
        return
    canvas.setFont(REGULAR, _SIZE)
    for place, line in enumerate(wrapped(printable(text), REGULAR, _SIZE, room, most)):
        canvas.drawString(x, y - place * _SIZE * LEADING, line)


def _draw_whole(canvas: Any, text: str, x: float, y: float, room: float, size: float) -> None:
    """A bold text in one line, smaller rather than cut: what it says is a caution."""
    if text:
        whole = printable(text)
        canvas.setFont(BOLD, largest(whole, BOLD, room, size))
        canvas.drawString(x, y, whole)


def _draw_foot(canvas: Any, width: float, page: int, pages: int) -> None:
    canvas.setFont(REGULAR, 7)
    canvas.drawString(_MARGIN, _MARGIN - 4, _FOOTNOTE)
    canvas.drawRightString(width - _MARGIN, _MARGIN - 4, f"page {page} of {pages}")
