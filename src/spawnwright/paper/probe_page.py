"""A probe run as one page to file: what was read, the curve, what is left, what it says."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any, Literal
from xml.sax.saxutils import escape

from spawnwright.records.probe import STRAIGHT_J, Interval, ProbeAnswer

_MARGIN, _SIZE, _SMALL = 40.0, 9.0, 7.5
_AXIS = 34.0  # room left of a chart for its numbers
_READ_HIGH, _LEFT_HIGH = 230.0, 110.0


def probe_pdf(found: ProbeAnswer, source: str, paper: Literal["A4", "Letter"] = "A4") -> bytes:
    """The run as a PDF of one page, black on white, the same bytes each time."""
    from reportlab.lib import pagesizes
    from reportlab.pdfgen.canvas import Canvas

    from spawnwright.paper import typeface

    typeface.register()
    page = pagesizes.A4 if paper == "A4" else pagesizes.LETTER
    file = BytesIO()
    canvas = Canvas(file, pagesize=page, invariant=1, pageCompression=1)
    canvas.setTitle(f"Probe run, {source}")
    canvas.setAuthor("Spawnwright")
    canvas.setSubject("Probe run")
    width, y = page[0] - 2 * _MARGIN, page[1] - _MARGIN
    y = _put(canvas, f"<b>Probe run</b>: {escape(source)}", y, width, 13.0)
    for text in _said(found):
        y = _put(canvas, text, y, width)
    y = _chart(
        canvas, y, width, _READ_HIGH, "°C: circles were read, the line is the fitted curve",
        found.time_s, found.measured_c, found.fitted_c,
    )  # fmt: skip
    y = _chart(
        canvas, y, width, _LEFT_HIGH, "K: readings less the curve", found.time_s,
        found.residual_k, [0.0] * len(found.time_s),
    )  # fmt: skip
    for text in found.cautions:
        y = _put(canvas, escape(text), y, width, _SMALL)
    canvas.save()
    return file.getvalue()


def _said(found: ProbeAnswer) -> list[str]:
    question, transport = found.question, found.transport
    where = f"{transport.pressure_pa / 1000:.0f} kPa absolute"
    fits = "The model describes the readings."
    if not found.fits:
        reasons = "; ".join(found.misfits)
        fits = f"<b>The model does not describe the readings:</b> {escape(reasons)}."
    vapor, creeping = 1 - transport.chance_of_conduction, transport.chance_of_conduction
    lines = [
        f"{question.jar.key} jar of {question.grain.key}, {question.way}, {where}. {fits}",
        f"Vapor in the pores, chance {vapor:.3f}: conductivity at rest "
        f"{_interval(found.conductivity_w_mk)} W/(m K), pore factor "
        f"{_interval(found.pore_factor)}. Conduction alone, chance "
        f"{creeping:.3f}: conductivity "
        f"{_interval(found.resting_conductivity_w_mk)} W/(m K). Median and 95 % interval.",
        f"fh {_interval(found.fh_min)} min, j {_j(found.j)}, at {where} only.",
    ]
    if found.diffusivity_m2_s is not None:
        ends = found.diffusivity_m2_s
        shown = Interval(1e6 * ends.low, 1e6 * ends.likely, 1e6 * ends.high)
        lines.append(f"By conduction alone, diffusivity {_interval(shown)} mm²/s at {where}.")
    real = found.real_run
    if real is not None:
        before, after = real.f0_before_min, real.f0_after_min
        lines.append(
            f"{real.jars} such jars held {real.at_hold_s / 60:.0f} min: "
            f"F0 {before.low:.0f} to {before.high:.0f} min without this run, "
            f"{after.low:.0f} to {after.high:.0f} min with it (5th to 95th percentile)."
        )
    return lines


def _interval(interval: Interval) -> str:
    return f"{interval.likely:.3g} ({interval.low:.3g} to {interval.high:.3g})"


def _j(interval: Interval) -> str:
    return _interval(interval) if interval.likely < STRAIGHT_J else "large (no straight line)"


def _put(canvas: Any, markup: str, y: float, width: float, size: float = _SIZE) -> float:
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    from spawnwright.paper.typeface import REGULAR

    style = ParagraphStyle("", fontName=REGULAR, fontSize=size, leading=size * 1.25)
    part = Paragraph(markup, style)
    height = part.wrap(width, 1e4)[1]
    part.drawOn(canvas, _MARGIN, y - height)
    return float(y - height - 4)


def _chart(
    canvas: Any,
    y: float,
    width: float,
    height: float,
    title: str,
    time_s: Sequence[float],
    marks: Sequence[float],
    line: Sequence[float],
) -> float:
    """Marks and a line over minutes below `y`; gives where the next part begins [points]."""
    from spawnwright.paper.typeface import REGULAR

    left, bottom = _MARGIN + _AXIS, y - height + 14
    wide, high = width - _AXIS, height - 30
    low, most = min(*marks, *line), max(*marks, *line)
    room = 0.06 * (most - low) or 1.0
    low, most, last = low - room, most + room, time_s[-1]
    places = [
        (left + wide * time / last, bottom + high * (at - low) / (most - low), drawn)
        for time, at, drawn in zip(time_s, marks, line, strict=True)
    ]
    canvas.setFont(REGULAR, _SMALL)
    canvas.drawString(left, bottom + high + 4, title)
    canvas.setLineWidth(0.5)
    canvas.rect(left, bottom, wide, high)
    for level in _ticks(low, most):
        canvas.drawRightString(
            left - 3, bottom + high * (level - low) / (most - low) - 2.5, f"{level:g}"
        )
    for minute in _ticks(0.0, last / 60):
        canvas.drawCentredString(left + wide * minute * 60 / last, bottom - 9, f"{minute:g}")
    canvas.drawRightString(left + wide, bottom - 17, "minutes from the first reading")
    path = canvas.beginPath()
    for count, (x, _, drawn) in enumerate(places):
        at = bottom + high * (drawn - low) / (most - low)
        (path.lineTo if count else path.moveTo)(x, at)
    canvas.drawPath(path)
    for x, at, _ in places:
        canvas.circle(x, at, 1.6, stroke=1, fill=0)
    return y - height - 10


def _ticks(low: float, high: float) -> list[float]:
    """Round numbers between two, four to ten of them."""
    from math import ceil, floor, log10

    size = 10.0 ** floor(log10((high - low) / 4))
    step = next(size * each for each in (5, 2, 1) if (high - low) / (size * each) >= 4)
    return [round(step * count, 9) for count in range(ceil(low / step), floor(high / step) + 1)]
