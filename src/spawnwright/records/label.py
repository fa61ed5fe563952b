"""A sheet of labels, what stands on a label, and the address behind its QR code."""

from __future__ import annotations

import re
from dataclasses import dataclass
from ipaddress import ip_address
from typing import Literal

from spawnwright.errors import Unusable

Paper = Literal["A4", "Letter"]
PAPER_M: dict[Paper, tuple[float, float]] = {"A4": (0.210, 0.297), "Letter": (0.2159, 0.2794)}
"""Width and height [m]: ISO 216, and 8½ by 11 inches."""
PORT = 8377
"""Where `serve` shows the pages if not told otherwise."""
SMALLEST_WIDTH_M, SMALLEST_HEIGHT_M = 0.030, 0.018
"""A smaller label has no room for a code that can be read beside a QR code that can be."""
STEP_M = 0.0005
"""Offsets are multiples of this: no printer at home feeds paper more exactly."""
_MOST = 40  # columns or rows
_SLACK_M = 5e-5  # sums of sheets are given to 0.1 mm


@dataclass(frozen=True)
class LabelSheet:
    """A grid of labels on a page, measured from its upper left corner; all lengths [m]."""

    key: str
    paper: Paper
    columns: int
    rows: int
    width_m: float
    height_m: float
    left_m: float
    top_m: float
    gap_x_m: float = 0.0
    gap_y_m: float = 0.0
    source: str = ""
    where: str = ""

    def __post_init__(self) -> None:
        """Raises `Unusable` for a grid that is none, or that no page of this paper holds."""
        for what, count in (("columns", self.columns), ("rows", self.rows)):
            if not 1 <= count <= _MOST:
                raise Unusable(f"{count} {what} of labels cannot be; 1 to {_MOST} can.")
        if self.width_m < SMALLEST_WIDTH_M or self.height_m < SMALLEST_HEIGHT_M:
            raise Unusable(
                f"A label of {_mm(self.width_m)} by {_mm(self.height_m)} is too small for a QR "
                f"code and a code to read; {_mm(SMALLEST_WIDTH_M)} by {_mm(SMALLEST_HEIGHT_M)} "
                "is the least."
            )
        if min(self.left_m, self.top_m, self.gap_x_m, self.gap_y_m) < 0:
            raise Unusable(f"Margins and gaps of the sheet {self.key!r} must not be below zero.")
        for what, end, whole in zip(
            ("width", "height"), self.end_m, PAPER_M[self.paper], strict=True
        ):
            if end > whole + _SLACK_M:
                raise Unusable(
                    f"The labels of the sheet {self.key!r} end at {_mm(end)}, but the {what} of "
                    f"{self.paper} is {_mm(whole)}; measure again, or name the other paper."
                )

    @property
    def count(self) -> int:
        """Labels on a page."""
        return self.columns * self.rows

    @property
    def end_m(self) -> tuple[float, float]:
        """Right edge of the last column, lower edge of the last row [m]."""
        wide = self.columns * self.width_m + (self.columns - 1) * self.gap_x_m
        high = self.rows * self.height_m + (self.rows - 1) * self.gap_y_m
        return self.left_m + wide, self.top_m + high

    def corner_m(self, number: int) -> tuple[float, float]:
        """Upper left corner of a label [m], counted from 1 in the order of reading."""
        row, column = divmod(number - 1, self.columns)
        return (
            self.left_m + column * (self.width_m + self.gap_x_m),
            self.top_m + row * (self.height_m + self.gap_y_m),
        )


@dataclass(frozen=True)
class JarLabel:
    """What stands on the label of a jar."""

    code: str
    content: str
    """What the QR code says."""
    jar_kind: str
    filled: str
    """The day of filling, as it is to be read."""
    name: str = ""
    """Of the strain, else of the culture."""
    batch: str = ""
    is_control: bool = False
    largest_qr_m: float = 0.024
    """Edge of the QR code without its quiet zone, at most [m]."""


def pages_address(said: str) -> str:
    """The address of the pages that a label leads to, from a name such as "spawn.local".

    A port, "spawn.local:8400", and "https://" before it are kept.

    Raises
    ------
    Unusable
        If it is no name: a number that a router hands out to somebody else one day would make
        every label lead astray, and whatever is secret would be handed over with the jar.
    """
    text = said.strip().rstrip("/")
    scheme, mark, rest = text.rpartition("://")
    scheme = scheme.lower() or "http"
    if scheme not in ("http", "https") or (mark and not rest):
        raise Unusable(f"{said!r} is no name of a machine; write it like spawn.local.")
    if re.search(r"[/?#@\s]", rest):
        raise Unusable(
            f"{said!r} is more than a name and a port; a label is handed over with its jar, so "
            "nothing else goes on it. Write it like spawn.local."
        )
    name, _, port = rest.partition(":")
    if _is_number(rest) or _is_number(name):
        raise Unusable(
            f"{said!r} is an address that the router hands out and may give to another machine; "
            "labels live longer. Give this machine's name, like spawn.local, or leave it out and "
            "the QR code says the jar's code alone."
        )
    if name.lower() == "localhost" or name.lower().endswith(".localhost"):
        raise Unusable(f"{said!r} is a phone's name for itself; give this machine's own name.")
    if not _is_name(name):
        raise Unusable(
            f"{said!r} is no name of a machine; it has letters a to z, digits, hyphens and dots, "
            "like spawn.local."
        )
    if ":" in rest and not (port.isdecimal() and 1 <= int(port) <= 65535):
        raise Unusable(f"The port in {said!r} must be a number from 1 to 65535.")
    return f"{scheme}://{name.lower()}:{int(port) if port else PORT}"


def qr_content(code: str, address: str | None) -> str:
    """What a jar's QR code says: the address of its page, or its code where there is none."""
    return code if address is None else f"{address}/j/{code}"


def _is_number(name: str) -> bool:
    """Whether it is an address of digits, of the fourth or the sixth version."""
    if re.fullmatch(r"[\d.]+", name):
        return True
    try:
        ip_address(name.strip("[]").partition("]")[0])
    except ValueError:
        return name.startswith("[")
    return True


def _is_name(name: str) -> bool:
    parts = name.split(".")
    return 0 < len(name) <= 253 and all(
        re.fullmatch(r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?", part) for part in parts
    )


def _mm(length_m: float) -> str:
    return f"{1000 * length_m:.6g} mm"
