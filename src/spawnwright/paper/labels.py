"""Labels of jars as a PDF: a QR code to scan, the code in large type, what is in the jar."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any

from spawnwright.errors import Unusable
from spawnwright.paper.labels_text import LEADING, Line, largest, printable, stacked
from spawnwright.paper.typeface import BOLD, REGULAR
from spawnwright.records.label import PAPER_M, STEP_M, JarLabel, LabelSheet

PT_M = 0.0254 / 72
QUIET = 4
"""Modules of white round a QR code (ISO/IEC 18004, from memory)."""
SMALLEST_MODULE_M = 0.00033
"""About four dots of a 300 dpi printer; finer modules run into each other."""
_PAD = 1.5e-3 / PT_M  # text keeps so far from the edge of its label
_QR_PAD = 1.0e-3 / PT_M
_TALL = 0.030 / PT_M  # from this height on the code stands above the QR code
_STRIP = 0.24  # of a tall label's height, for the code
_SIDE = 0.013 / PT_M  # least width of a column beside a QR code in the middle


def labels_pdf(
    labels: Sequence[JarLabel],
    sheet: LabelSheet,
    start_at: int = 1,
    offset_x_m: float = 0.0,
    offset_y_m: float = 0.0,
) -> bytes:
    """The labels as a PDF in the order of reading, the same bytes each time.

    Parameters
    ----------
    labels : sequence of JarLabel
        At least one.
    sheet : LabelSheet
        Where labels are on a page.
    start_at : int
        The first label that is still on the sheet, from 1; those before it stay empty.
    offset_x_m, offset_y_m : float
        How much farther right and down everything is printed [m].

    Raises
    ------
    Unusable
        If there is nothing to print, the sheet has no such label, or an offset would push labels
        off the page.
    """
    from reportlab.pdfgen.canvas import Canvas

    from spawnwright.paper import typeface

    if not labels:
        raise Unusable("There is no jar to print a label for.")
    check_start(sheet, start_at)
    check_offset(sheet, offset_x_m, offset_y_m)
    typeface.register()
    page = page_pt(sheet)
    file = BytesIO()
    canvas = Canvas(file, pagesize=page, invariant=1, pageCompression=1)
    canvas.setTitle("Labels of jars")
    canvas.setAuthor("Spawnwright")
    canvas.setSubject(f"Labels, sheet {sheet.key}, print at 100 %")
    keep_size(canvas)
    for place, label in enumerate(labels, start_at - 1):
        on_page = place % sheet.count
        if on_page == 0 and place >= start_at:
            canvas.showPage()
        draw_label(canvas, label, *box_pt(sheet, on_page + 1, offset_x_m, offset_y_m))
    canvas.save()
    return file.getvalue()


def check_start(sheet: LabelSheet, start_at: int) -> None:
    """Refuse a label that the sheet has not; raises `Unusable`."""
    if not 1 <= start_at <= sheet.count:
        raise Unusable(
            f"The sheet {sheet.key!r} has labels 1 to {sheet.count}; there is no label {start_at}."
        )


def check_offset(sheet: LabelSheet, offset_x_m: float, offset_y_m: float) -> None:
    """Refuse an offset between two steps, or one that pushes labels off the page; [m]."""
    for what, offset, low, end, whole in zip(
        ("right", "down"), (offset_x_m, offset_y_m), (sheet.left_m, sheet.top_m), sheet.end_m,
        PAPER_M[sheet.paper], strict=True,
    ):  # fmt: skip
        steps = offset / STEP_M
        if abs(steps - round(steps)) > 1e-6:
            raise Unusable(
                f"An offset of {1000 * offset:g} mm is no multiple of {1000 * STEP_M:g} mm, and "
                "no finer one would come out on paper."
            )
        if offset < -low - 1e-9 or offset > max(0.0, whole - end) + 1e-9:
            raise Unusable(
                f"Moved {1000 * offset:g} mm {what}, labels of the sheet {sheet.key!r} would "
                f"leave the page; {-1000 * low:.4g} mm to {1000 * max(0.0, whole - end):.4g} mm "
                "can be. Is it the right sheet?"
            )


def page_pt(sheet: LabelSheet) -> tuple[float, float]:
    """Width and height of the page [pt]."""
    width, height = PAPER_M[sheet.paper]
    return width / PT_M, height / PT_M


def keep_size(canvas: Any) -> None:
    """Ask the program that prints not to fit the page; not every one listens."""
    canvas.setViewerPreference("PrintScaling", "None")


def box_pt(
    sheet: LabelSheet, number: int, offset_x_m: float = 0.0, offset_y_m: float = 0.0
) -> tuple[float, float, float, float]:
    """Lower left corner, width and height of a label [pt]."""
    left, top = sheet.corner_m(number)
    width, height = sheet.width_m / PT_M, sheet.height_m / PT_M
    y = page_pt(sheet)[1] - (top + offset_y_m) / PT_M - height
    return (left + offset_x_m) / PT_M, y, width, height


def draw_label(
    canvas: Any, label: JarLabel, x: float, y: float, width: float, height: float
) -> None:
    """Draw one label with its lower left corner there [pt]; nothing leaves it."""
    modules = qr_modules(label.content)
    across = len(modules) + 2 * QUIET
    most = label.largest_qr_m / PT_M * across / len(modules)
    is_tall = height >= _TALL
    strip = _STRIP * height if is_tall else 0.0
    whole = min(most, height - strip - 2 * _QR_PAD)
    least = SMALLEST_MODULE_M / PT_M * across
    side = (width - whole) / 2 - _PAD
    if side < _SIDE and (width - least) / 2 - _PAD >= _SIDE and is_tall:
        whole, side = width - 2 * (_SIDE + _PAD), _SIDE
    is_middle = side >= _SIDE
    if not is_middle:
        whole = min(whole, width - _QR_PAD - 2 * _PAD - _SIDE)
    if whole < least - 1e-6:
        raise Unusable(
            f"The QR code of {label.content!r} would have modules of "
            f"{1000 * whole / across * PT_M:.2f} mm on this label, too fine to print; take larger "
            "labels or a shorter name."
        )
    from_left = (width - whole) / 2 if is_middle else _QR_PAD
    draw_qr(canvas, modules, x + from_left, y + (height - strip - whole) / 2, whole)
    if is_middle and is_tall:
        _draw_code_above(canvas, label.code, x + width / 2, y + height, width, strip)
    columns = _columns(label, is_middle, is_tall, height)
    room = height - 2 * _PAD - strip
    if is_middle:
        _draw_column(canvas, columns[0], x + _PAD, y + _PAD, side - 2, room)
        _draw_column(canvas, columns[1], x + from_left + whole + 2, y + _PAD, side - 2, room)
    else:
        column = [*columns[0][:2], *columns[1], *columns[0][2:]]
        left = _QR_PAD + whole + _PAD / 2
        _draw_column(canvas, column, x + left, y + _PAD, width - left - _PAD, height - 2 * _PAD)


def _columns(
    label: JarLabel, is_middle: bool, is_tall: bool, height: float
) -> tuple[list[Line], list[Line]]:
    """What stands left and right of the QR code, or all of it in one column beside it."""
    size = min(11.0, max(5.6, 0.082 * height))
    code = Line(printable(label.code), BOLD, min(30.0, 0.33 * height), 1, 0)
    control = Line("CONTROL" if label.is_control else "", BOLD, size, 1, 1, boxed=True)
    filled = Line(printable(label.filled), REGULAR, size, 2, 2)
    name = Line(printable(label.name), BOLD, size, 3, 3)
    kind = Line(printable(label.jar_kind), REGULAR, size, 1, 5)
    batch = Line(printable(label.batch), REGULAR, size, 3 if label.name else 4, 4)
    first = [code, control, kind, filled]
    if is_middle and is_tall:
        first = [control, kind, filled]
    return first, [name, batch]


def qr_modules(content: str) -> tuple[bytes, ...]:
    """The rows of a QR code of level M, 1 where a module is dark."""
    import segno

    code = segno.make(content, error="m", micro=False, boost_error=False)
    return tuple(bytes(row) for row in code.matrix)


def draw_qr(canvas: Any, modules: Sequence[bytes], x: float, y: float, whole: float) -> None:
    """Draw a QR code with its quiet zone in a square of `whole` points: one path, no seams."""
    step = whole / (len(modules) + 2 * QUIET)
    path = canvas.beginPath()
    top = y + whole - QUIET * step
    for down, row in enumerate(modules, 1):
        begin = None
        for across, dark in enumerate([*row, 0]):
            if dark and begin is None:
                begin = across
            elif not dark and begin is not None:
                left = x + (QUIET + begin) * step
                path.rect(left, top - down * step, (across - begin) * step, step)
                begin = None
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)


def _draw_code_above(
    canvas: Any, code: str, middle: float, top: float, width: float, strip: float
) -> None:
    text = printable(code)
    size = largest(text, BOLD, width - 2 * _PAD, min(34.0, (strip - _PAD) / 0.78))
    canvas.setFillGray(0)
    canvas.setFont(BOLD, size)
    canvas.drawCentredString(middle, top - _PAD - 0.74 * size, text)


def _draw_column(
    canvas: Any, items: list[Line], x: float, y: float, width: float, room: float
) -> None:
    """Pieces of text under each other, in the middle of the height."""
    fitted = [
        Line(each.text, each.font, _size(each, width), each.most, each.rank, each.boxed)
        for each in items
        if each.text
    ]
    kept = stacked(fitted, width, room)
    below = y + (room + sum(each.height(width) for each in kept)) / 2
    for each in kept:
        canvas.setFont(each.font, each.size)
        for line in each.lines(width):
            below -= each.size * LEADING
            _draw_line(canvas, each, line, x, below)
        below -= 2.0 if each.boxed else 0.0


def _size(line: Line, width: float) -> float:
    """Codes and marks are made smaller rather than cut."""
    if line.rank > 1:
        return line.size
    return largest(line.text, line.font, width - (4.0 if line.boxed else 0.0), line.size)


def _draw_line(canvas: Any, piece: Line, text: str, x: float, below: float) -> None:
    base = below + 0.24 * piece.size
    if not piece.boxed:
        canvas.setFillGray(0)
        canvas.drawString(x, base, text)
        return
    from spawnwright.paper.labels_text import wide

    canvas.setFillGray(0)
    wide_box = wide(text, piece.font, piece.size) + 4.0
    canvas.rect(x, below - 0.5, wide_box, piece.size * LEADING, stroke=0, fill=1)
    canvas.setFillGray(1)
    canvas.drawString(x + 2.0, base - 0.5, text)
    canvas.setFillGray(0)
