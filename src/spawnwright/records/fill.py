"""How full a jar is, as a grower says it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Fill:
    """A share of the jar's nominal volume, a distance below its rim, or a mass of wet grain."""

    kind: Literal["share", "below rim", "mass"]
    value: float
    """Share [-], distance [m] or mass [kg]."""
    written: str = ""
