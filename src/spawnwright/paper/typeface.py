"""The typeface of printed sheets: it has the letters of names and the signs that are used."""

from __future__ import annotations

from importlib.resources import files

REGULAR, BOLD = "DejaVuSansCondensed", "DejaVuSansCondensed-Bold"


def register() -> None:
    """Make the typeface known to ReportLab, and bold the `<b>` of its paragraphs; once."""
    from reportlab.lib.fonts import addMapping
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    if REGULAR in pdfmetrics.getRegisteredFontNames():
        return
    for name in (REGULAR, BOLD):
        file = files("spawnwright").joinpath("paper", "fonts", f"{name}.ttf")
        with file.open("rb") as opened:
            pdfmetrics.registerFont(TTFont(name, opened))
    for bold, italic in ((0, 0), (0, 1), (1, 0), (1, 1)):
        addMapping(REGULAR, bold, italic, BOLD if bold else REGULAR)
