"""A line of the shelf list: one active jar, as somebody with a pencil wants to know it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ShelfListLine:
    """One jar; texts are as they are to be read, empty where nothing is known."""

    code: str
    age_days: int
    """Whole days since it was inoculated, else since it was filled [d]."""
    look: str
    """Day of the last look and how far it was."""
    sign: str
    """What was seen then, in words."""
    strain: str
    batch: str
    where: str
    marks: tuple[str, ...] = ()
    """What sets it apart: control, in doubt, not inoculated."""
