"""A jar as a drawing: grain, and on it as much white as forecast or seen.

The picture is a plan and no picture of a certain jar: growth spreads evenly from where the culture
usually comes to lie, drawn so that the white share of the grain is the share that is meant. What is
white even in a slow jar is solid, what only a quick one has is hatched.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from math import hypot

from markupsafe import Markup

WIDE, HIGH = 100, 152
LEFT, RIGHT, BOTTOM, FULL_AT = 9.0, 91.0, 145.0, 30.0
"""Edges of the inside of the jar, and the height that a full jar is filled to [drawing units]."""
_FINE = 3.0
_DROPS = {
    "spread": (
        (0.46, 0.02), (0.45, 0.16), (0.47, 0.31), (0.46, 0.47), (0.14, 0.22), (0.82, 0.13),
        (0.74, 0.58), (0.2, 0.66), (0.9, 0.84), (0.5, 0.9),
    ),
    "top": ((0.5, 0.0), (0.2, 0.0), (0.78, 0.0), (0.36, 0.01), (0.64, 0.01)),
    "wall": tuple(
        (across, down) for across in (0.02, 0.36, 0.66, 0.98) for down in (0.04, 0.28, 0.52, 0.76)
    ),
    "through": tuple(
        (0.5 + 0.49 * ((place * 0.618034) % 1.0 - 0.5) * 2, (place + 0.5) / 34)
        for place in range(34)
    ),
}  # fmt: skip
"""Where culture comes to lie by the way of inoculation: across and down, shares of the grain."""


@dataclass(frozen=True)
class Drawn:
    """What a template needs to draw a jar, in drawing units.

    The height of the grain's top, the places of the drops as a path, for low, likely and high how
    thick each drop is, and where a sign is drawn.
    """

    top: float
    path: str
    thick: tuple[float, float, float]
    sign_at: tuple[float, float]


@lru_cache(maxsize=512)
def drawn(way: str, fill: float, percent: tuple[float, float, float], place: str = "") -> Drawn:
    """The drawing of a jar.

    Parameters
    ----------
    way : str
        How the culture was brought in; after a shake "through".
    fill : float
        How full the jar is, a share of it.
    percent : tuple of float
        Low, likely and high share that is white [%].
    place : str
        Where in the jar a sign was seen, as it was written.
    """
    top = BOTTOM - min(max(fill, 0.15), 1.0) * (BOTTOM - FULL_AT)
    known = way if way in _DROPS else "spread"
    drops = _places(known, top)
    path = "".join(f"M{x:.0f} {y:.0f}h.1" for x, y in drops)
    thick = tuple(2 * _radius(known, top, each) for each in percent)
    return Drawn(round(top, 1), path, (thick[0], thick[1], thick[2]), _sign_at(place, top))


def rounded(percent: tuple[float, float, float]) -> tuple[float, float, float]:
    """Percentages to the nearest five, so that a page of jars shares a few drawings."""
    low, likely, high = (5.0 * round(each / 5) for each in percent)
    return low, likely, high


def rounded_fill(fill: float | None) -> float:
    """How full a jar is, to a twentieth; two thirds if it is not known."""
    return round(20 * (fill or 0.67)) / 20


def _places(way: str, top: float) -> list[tuple[float, float]]:
    wide, high = RIGHT - LEFT, BOTTOM - top
    return [(LEFT + across * wide, top + down * high) for across, down in _DROPS[way]]


def _radius(way: str, top: float, percent: float) -> float:
    """How far growth has come if that share of the grain's picture is white [drawing units]."""
    if percent < 0.5:
        return 0.0
    near = _distances(way, top)
    place = min(len(near) - 1, int(percent / 100 * len(near)))
    return near[place] + (_FINE if percent >= 99.5 else 0.0)


@lru_cache(maxsize=128)
def _distances(way: str, top: float) -> tuple[float, ...]:
    """Distance of each spot of the grain's picture to the nearest drop, in rising order."""
    drops = _places(way, top)
    across = [LEFT + _FINE * (each + 0.5) for each in range(int((RIGHT - LEFT) / _FINE))]
    down = [top + _FINE * (each + 0.5) for each in range(int((BOTTOM - top) / _FINE))]
    return tuple(
        sorted(min(hypot(x - dx, y - dy) for dx, dy in drops) for x in across for y in down)
    )


def share_white(way: str, fill: float, thick: float) -> float:
    """The share of the grain's picture within half a thickness of a drop: what is really drawn."""
    top = BOTTOM - fill * (BOTTOM - FULL_AT)
    near = _distances(way, top)
    return bisect_right(near, thick / 2) / len(near)


def _sign_at(place: str, top: float) -> tuple[float, float]:
    """Where a sign is drawn: at the lid, low, or in the middle, as its words say."""
    words = place.lower()
    middle = (LEFT + RIGHT) / 2
    if any(each in words for each in ("lid", "top", "surface", "port", "filter")):
        return middle, top + 12
    if any(each in words for each in ("bottom", "below", "low")):
        return middle, BOTTOM - 14
    return middle, (top + BOTTOM) / 2


def said(percent: tuple[float, float, float] | None) -> str:
    """The shares of a forecast in words: "30 to 70 % white, likely 50 %"."""
    if percent is None:
        return ""
    low, likely, high = (round(each) for each in percent)
    if high <= 0:
        return "nothing to be seen yet"
    if likely <= 0:
        return f"hardly any white yet, {high}\u00a0% at most"
    if low == high:
        return f"{low}\u00a0% white"
    return f"{low} to {high}\u00a0% white, likely {likely}\u00a0%"


def glyph_key(way: str, fill: float, percent: tuple[float, float, float], sign: str) -> str:
    """A name for a small drawing, the same for jars that look the same."""
    numbers = "-".join(f"{each:.0f}" for each in (100 * fill, *percent))
    return f"g-{way}-{numbers}-{sign}"


@lru_cache(maxsize=1024)
def use(key: str, words: str) -> Markup:
    """A small drawing that the page defines once, and says in words."""
    return Markup(
        '<svg class="glyph" viewBox="0 0 100 152" width="40" height="61" role="img" '
        'aria-label="{words}"><use href="#{key}"/></svg>'
    ).format(key=key, words=words)
