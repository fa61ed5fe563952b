"""The run record: one page to file, with the curve, what it was worth, and what was left out."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from itertools import pairwise
from typing import Any, Literal
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from spawnwright.records.band import Band
from spawnwright.records.run_record import Channel, RunRecord

Floats = NDArray[np.float64]
_MARGIN, _SIZE, _SMALL = 40.0, 9.0, 7.5
_MOST_POINTS = 400
_MOST_CHANNELS = 8
_DASHES: tuple[list[float] | None, ...] = (None, [5, 2], [1.5, 1.5], [6, 2, 1.5, 2])
_GRAYS = (0.0, 0.0, 0.0, 0.0, 0.45, 0.45, 0.45, 0.45)
_REFERENCE_C = 121.11
_MOST_MARKS = 200
_STATES = {
    "pours": "For grain that pours",
    "sticks": "For grain that sticks to the hand",
    "smears": "For grain that smears",
    "unknown": "For grain of which that is not known",
}


def run_record_pdf(record: RunRecord, paper: Literal["A4", "Letter"] = "A4") -> bytes:
    """The record as a PDF of one page, black on white, the same bytes each time."""
    from reportlab.lib import pagesizes
    from reportlab.pdfgen.canvas import Canvas

    from spawnwright.paper import typeface

    typeface.register()
    page = pagesizes.A4 if paper == "A4" else pagesizes.LETTER
    file = BytesIO()
    canvas = Canvas(file, pagesize=page, invariant=1, pageCompression=1)
    canvas.setTitle(f"Sterilizer run, record, {record.source}")
    canvas.setAuthor("Spawnwright")
    canvas.setSubject("Run record")
    width, y = page[0] - 2 * _MARGIN, page[1] - _MARGIN
    for part in _texts_above(record, width):
        y = _put(canvas, part, y, width)
    below = _texts_below(record, width)
    needed = sum(part.wrap(width, 1e4)[1] + 4 for part in below)
    height = max(150.0, min(420.0, y - _MARGIN - needed - 10))
    _draw_curve(canvas, record.channels[:_MOST_CHANNELS], _MARGIN, y - height, width, height)
    y -= height + 6
    for part in below:
        y = _put(canvas, part, y, width)
    canvas.save()
    return file.getvalue()


def _put(canvas: Any, part: Any, y: float, width: float) -> float:
    height = part.wrap(width, 1e4)[1]
    part.drawOn(canvas, _MARGIN, y - height)
    return float(y - height - 4)


def _paragraph(markup: str, size: float = _SIZE) -> Any:
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    from spawnwright.paper.typeface import REGULAR

    return Paragraph(
        markup, ParagraphStyle("", fontName=REGULAR, fontSize=size, leading=size * 1.25)
    )


def _texts_above(record: RunRecord, width: float) -> list[Any]:
    measured = "measured" if record.is_measured else "estimated from the vessel"
    found = (
        "not known" if record.core_f0_min is None else f"{_band(record.core_f0_min)} ({measured})"
    )
    return [
        _paragraph(f"<b>Sterilizer run: {escape(record.source)}</b>", 15),
        _paragraph(
            f"<b>{escape(record.verdict.capitalize())}.</b> F0 at the core {found}; "
            f"wanted {record.target_min:g} min.", 11,
        ),
        _paragraph(escape(record.why)),
    ]  # fmt: skip


def _texts_below(record: RunRecord, width: float) -> list[Any]:
    parts = [_table(record, width)]
    if len(record.channels) > _MOST_CHANNELS:
        more = [each.readings.column for each in record.channels[_MOST_CHANNELS:]]
        parts.append(_paragraph(escape(_cut(f"Not shown: {', '.join(more)}.", 200)), _SMALL))
    if record.by_model is not None:
        found = record.by_model
        parts.append(
            _paragraph(
                f"<b>The core of a {escape(found.jar)} jar, from the vessel.</b> If heat only "
                f"creeps from kernel to kernel: F0 {_band(found.by_conduction)}. If vapor moves "
                f"between the kernels: F0 {_band(found.by_vapor)}. "
                f"{_STATES[found.grain_state]}: F0 {_band(found.by_state)}.",
                _SMALL + 0.5,
            )
        )
    read, *others = record.channels[0].readings.account[:2]
    account = " ".join([f"{record.source}: {read.rpartition(': ')[2]}", *others])
    faults = [
        f"{each.readings.column}: {each.readings.account[-1]}"
        for each in record.channels
        if len(each.readings.left_out)
    ]
    parts.append(_paragraph(f"<b>Read.</b> {escape(_cut(' '.join([account, *faults])))}", _SMALL))
    parts.append(_paragraph(f"<b>Mind.</b> {escape(' '.join(record.cautions))}", _SMALL))
    parts.append(
        _paragraph(
            "F0 is minutes at 121.11 °C with z 10 °C, straight lines between readings, cooling "
            "counted. Bands run from the 5th to the 95th percentile of what is uncertain.", _SMALL,
        )
    )  # fmt: skip
    return parts


def _cut(text: str, most: int = 1500) -> str:
    return text if len(text) <= most else text[: most - 4] + " ..."


def _table(record: RunRecord, width: float) -> Any:
    from reportlab.lib.colors import black
    from reportlab.platypus import Table

    heads = ("sensor", "measures", "peak", "at or above 121.11 °C", "F0", "of it in cooling",
             "readings", "left out")  # fmt: skip
    rows = [[_paragraph(f"<b>{head}</b>", _SMALL) for head in heads]]
    for each in record.channels[:_MOST_CHANNELS]:
        cells = (
            each.readings.column, each.role, f"{each.peak_c:.1f} °C",
            f"{each.minutes_above_reference:.1f} min", f"{each.lethality_min:.1f} min",
            f"{each.cooling_min:.1f} min", str(len(each.readings.time_s)),
            str(len(each.readings.left_out)),
        )  # fmt: skip
        rows.append([_paragraph(escape(_cut(cell, 40)), _SMALL) for cell in cells])
    shares = (0.2, 0.1, 0.11, 0.15, 0.12, 0.12, 0.1, 0.1)
    return Table(
        rows, [width * share for share in shares],
        style=[
            ("LINEBELOW", (0, 0), (-1, 0), 0.6, black), ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("TOPPADDING", (0, 0), (-1, -1), 1), ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ],
    )  # fmt: skip


def _draw_curve(
    canvas: Any, channels: Sequence[Channel], x: float, y: float, width: float, height: float
) -> None:
    """Temperatures over time, with the reference temperature, in lines told apart without color."""
    from reportlab.graphics import renderPDF
    from reportlab.graphics.charts.lineplots import LinePlot
    from reportlab.graphics.shapes import Drawing, Line, String
    from reportlab.lib.colors import Color, black

    from spawnwright.paper.typeface import REGULAR

    drawing, plot = Drawing(width, height), LinePlot()
    plot.x, plot.y, plot.width, plot.height = 30, 42, width - 40, height - 52
    curves = [_thinned(each.readings.time_s / 60, each.readings.temperature_c) for each in channels]
    last = max(curve[-1][0] for curve in curves)
    plot.data = [*curves, [(0.0, _REFERENCE_C), (last, _REFERENCE_C)]]
    low = min(each[1] for curve in curves for each in curve)
    high = max(_REFERENCE_C, *(each[1] for curve in curves for each in curve))
    plot.xValueAxis.valueMin, plot.xValueAxis.valueMax = 0, last
    plot.yValueAxis.valueMin = 10 * np.floor(min(low, 100.0) / 10)
    plot.yValueAxis.valueMax = 10 * np.ceil((high + 2) / 10)
    plot.yValueAxis.valueStep = 10 if high - low < 90 else 20
    for axis in (plot.xValueAxis, plot.yValueAxis):
        axis.labels.fontName, axis.labels.fontSize = REGULAR, _SMALL
        axis.labelTextFormat = "%g"
    for place in range(len(curves)):
        gray = _GRAYS[place % len(_GRAYS)]
        plot.lines[place].strokeColor = Color(gray, gray, gray)
        plot.lines[place].strokeWidth = 1.0
        plot.lines[place].strokeDashArray = _DASHES[place % len(_DASHES)]
    plot.lines[len(curves)].strokeColor = Color(0.5, 0.5, 0.5)
    plot.lines[len(curves)].strokeWidth = 0.4
    drawing.add(plot)
    scale = plot.width / last
    gone = [each for one in channels for each in one.readings.left_out.time_s.tolist()]
    for seconds in gone[:_MOST_MARKS]:
        x_mark = plot.x + scale * seconds / 60
        drawing.add(String(x_mark - 2, plot.y + 2, "×", fontName=REGULAR, fontSize=_SMALL))
    note = "121.11 °C: the thin line" + ("; × readings left out" if gone else "")
    drawing.add(String(plot.x, 18, note, fontName=REGULAR, fontSize=_SMALL))
    drawing.add(String(2, height - 8, "°C", fontName=REGULAR, fontSize=_SMALL))
    drawing.add(String(width - 30, 18, "minutes", fontName=REGULAR, fontSize=_SMALL))
    step = (width - 40) / max(len(curves), 1)
    for place, each in enumerate(channels):
        left, gray = 30 + place * step, _GRAYS[place % len(_GRAYS)]
        drawing.add(
            Line(left, 8, left + 24, 8, strokeColor=Color(gray, gray, gray), strokeWidth=1.0,
                 strokeDashArray=_DASHES[place % len(_DASHES)])
        )  # fmt: skip
        label = _cut(each.readings.column, max(8, int((step - 32) / 4)))
        drawing.add(
            String(left + 28, 5.5, label, fontName=REGULAR, fontSize=_SMALL, fillColor=black)
        )
    renderPDF.draw(drawing, canvas, x, y)


def _thinned(minutes: Floats, celsius: Floats) -> list[tuple[float, float]]:
    """Lowest and highest of each stretch, so that no peak is lost."""
    if len(minutes) <= _MOST_POINTS:
        return list(zip(minutes.tolist(), celsius.tolist(), strict=True))
    edges = np.linspace(0, len(minutes), _MOST_POINTS // 2 + 1).astype(int)
    kept = {0, len(minutes) - 1}
    for start, end in pairwise(edges.tolist()):
        kept.add(start + int(np.argmin(celsius[start:end])))
        kept.add(start + int(np.argmax(celsius[start:end])))
    places = np.array(sorted(kept))
    return list(zip(minutes[places].tolist(), celsius[places].tolist(), strict=True))


def _band(band: Band) -> str:
    if band.low == band.high:
        return f"{band.likely:.1f} min"
    return f"{band.likely:.1f} min ({band.low:.1f} to {band.high:.1f})"
