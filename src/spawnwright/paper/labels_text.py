"""Text that stays in its place on paper: wrapped, then cut with an ellipsis."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, replace

from spawnwright.paper.typeface import REGULAR

ELLIPSIS = "…"
NO_GLYPH = "\N{REPLACEMENT CHARACTER}"
LEADING = 1.18


def printable(text: str) -> str:
    """The text in one line; a sign that the typeface has not is shown as one that it lacks."""
    from reportlab.pdfbase import pdfmetrics

    known = pdfmetrics.getFont(REGULAR).face.charToGlyph
    joined = " ".join(unicodedata.normalize("NFC", text).split())
    return "".join(sign if ord(sign) in known else NO_GLYPH for sign in joined)


def wide(text: str, font: str, size: float) -> float:
    """How wide a text is [pt]."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(text, font, size))


def cut(text: str, font: str, size: float, width: float) -> str:
    """The text, or as much of it as fits with an ellipsis behind it."""
    if wide(text, font, size) <= width:
        return text
    low, high = 0, len(text)  # the longest beginning that fits
    while low < high:
        middle = (low + high + 1) // 2
        if wide(text[:middle].rstrip() + ELLIPSIS, font, size) <= width:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + ELLIPSIS


def wrapped(text: str, font: str, size: float, width: float, most: int) -> list[str]:
    """The text in lines of whole words, at most so many; the last one is cut."""
    lines: list[str] = []
    words = text.split(" ")
    while words:
        if len(lines) == most - 1:
            return [*lines, cut(" ".join(words), font, size, width)]
        line = words.pop(0)
        if wide(line, font, size) > width:  # a word without end goes on in the next line
            fits = max(1, len(cut(line, font, size, width)) - 1)
            words.insert(0, line[fits:])
            line = line[:fits]
        else:
            while words and wide(f"{line} {words[0]}", font, size) <= width:
                line = f"{line} {words.pop(0)}"
        lines.append(line)
    return lines


def largest(text: str, font: str, width: float, most: float) -> float:
    """The largest type in which a text fits, at most so large [pt]."""
    return min(most, 0.999 * width / wide(text, font, 1.0))


@dataclass(frozen=True)
class Line:
    """One piece of text of a column: what, in which type, in how many lines, how dear it is.

    `rank` 0 is dearest; what is `boxed` stands white on black.
    """

    text: str
    font: str
    size: float
    most: int
    rank: int
    boxed: bool = False

    def lines(self, width: float) -> list[str]:
        """As it is broken in a column of that width."""
        return wrapped(self.text, self.font, self.size, width, self.most)

    def height(self, width: float) -> float:
        """How high it is in a column of that width [pt]."""
        return len(self.lines(width)) * self.size * LEADING + (2.0 if self.boxed else 0.0)


def stacked(items: list[Line], width: float, room: float) -> list[Line]:
    """The pieces that a column has room for: first the least dear lose lines, then they go."""
    kept = [each for each in items if each.text]
    while sum(each.height(width) for each in kept) > room and len(kept) > 1:
        longest = max(kept, key=lambda each: (len(each.lines(width)) > 1, each.rank))
        place = kept.index(longest)
        lines = len(longest.lines(width))
        if lines > 1:
            kept[place] = replace(longest, most=lines - 1)
        else:
            kept.remove(max(kept, key=lambda each: each.rank))
    return kept
