"""A page to hold against a sheet of labels: where each label is taken to be, and what to do."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from spawnwright.paper.labels import PT_M, box_pt, check_offset, keep_size, page_pt
from spawnwright.paper.labels_text import LEADING, wide, wrapped
from spawnwright.paper.typeface import BOLD, REGULAR
from spawnwright.records.label import STEP_M, LabelSheet

_SAID = (
    "Print at 100 %, no fit to page. Then each ruler here is 100 mm long.",
    "Print on plain paper. Hold it behind a sheet of labels, against the light.",
    "Frames too far left by 1 mm: --offset-x \"1 mm\". Too high by 1 mm: --offset-y \"1 mm\". "
    "The other way: -1 mm.",
    "If frames fit at one end of the page and not at the other, it is another sheet, or the "
    "printer fits to the page.",
    "Numbers are those of --start-at. When scanning, turn the jar so that its code faces you.",
)  # fmt: skip
_RULER_M, _TICK_M = 0.1, 0.01
_INSET = 4.0


def alignment_pdf(sheet: LabelSheet, offset_x_m: float = 0.0, offset_y_m: float = 0.0) -> bytes:
    """The page as a PDF, the same bytes each time: frames, numbers, rulers of 100 mm.

    The offsets [m] are those that the labels are to be printed with. Raises `Unusable` if they
    would push labels off the page.
    """
    from reportlab.pdfgen.canvas import Canvas

    from spawnwright.paper import typeface

    check_offset(sheet, offset_x_m, offset_y_m)
    typeface.register()
    file = BytesIO()
    canvas = Canvas(file, pagesize=page_pt(sheet), invariant=1, pageCompression=1)
    canvas.setTitle(f"Alignment page for the label sheet {sheet.key}")
    canvas.setAuthor("Spawnwright")
    canvas.setSubject("Print at 100 %, no fit to page")
    keep_size(canvas)
    for number in range(1, sheet.count + 1):
        box = box_pt(sheet, number, offset_x_m, offset_y_m)
        said = _SAID[number - 1 : number] if number < sheet.count else _SAID[number - 1 :]
        _draw_frame(canvas, f"{number}", " ".join(said), *box)
    _draw_rulers(canvas, page_pt(sheet), sheet)
    canvas.save()
    return file.getvalue()


def _draw_frame(
    canvas: Any, number: str, text: str, x: float, y: float, width: float, height: float
) -> None:
    canvas.setLineWidth(0.5)
    canvas.rect(x, y, width, height, stroke=1, fill=0)
    size = 6.5 if height < 0.03 / PT_M else 8.0
    base = y + height - _INSET - size
    canvas.setFont(BOLD, size)
    canvas.drawString(x + _INSET, base, number)
    if not text:
        return
    canvas.setFont(REGULAR, size)
    most = max(1, int((height - 2 * _INSET) / (size * LEADING)) - 1)
    for line in wrapped(text, REGULAR, size, width - 2 * _INSET, most):
        base -= size * LEADING
        canvas.drawString(x + _INSET, base, line)


def _draw_rulers(canvas: Any, page: tuple[float, float], sheet: LabelSheet) -> None:
    """One across and one down, in the lower half, with a tick every 10 mm."""
    long, tick = _RULER_M / PT_M, _TICK_M / PT_M
    x, y = (page[0] - long) / 2, page[1] * 0.3
    down = y + long / 2 + 10
    canvas.setLineWidth(0.8)
    canvas.line(x, y, x + long, y)
    canvas.line(x, down, x, down - long)
    for step in range(round(_RULER_M / _TICK_M) + 1):
        reach = 6.0 if step % 5 == 0 else 3.5
        canvas.line(x + step * tick, y - reach / 2, x + step * tick, y + reach / 2)
        canvas.line(x - reach / 2, down - step * tick, x + reach / 2, down - step * tick)
    _say(canvas, x + long + 5, y - 2.5, "100 mm")
    _say(canvas, x + 5, down - 2, f"100 mm; offsets go in steps of {1000 * STEP_M:g} mm")


def _say(canvas: Any, x: float, y: float, text: str) -> None:
    """A text that can be read although a frame passes under it."""
    canvas.setFillGray(1)
    canvas.rect(x - 1, y - 2, wide(text, BOLD, 7.5) + 2, 9, stroke=0, fill=1)
    canvas.setFillGray(0)
    canvas.setFont(BOLD, 7.5)
    canvas.drawString(x, y, text)
