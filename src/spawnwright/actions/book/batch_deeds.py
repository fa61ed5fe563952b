"""What is done at each kind of step of a batch: by a form of its own, on another page, or said."""

from __future__ import annotations

from typing import Literal

Deed = Literal["fill", "weigh", "run", "inoculate", "round", "shelf", "say"]

_DEEDS: dict[str, Deed] = {
    "weigh": "weigh", "fill": "fill", "load": "run", "heat_up": "run", "vent": "run",
    "hold": "run", "pressure_drop": "run", "unload": "run", "inoculate": "inoculate",
    "look": "round", "shake": "round", "ready": "shelf", "use": "shelf",
}  # fmt: skip
AT_THE_CANNER = ("load", "heat_up", "vent", "hold", "pressure_drop", "unload", "cool_down")


def deed_of(kind: str) -> Deed:
    """How a step of this kind is entered; "say" if saying that it is done is all."""
    return _DEEDS.get(kind, "say")


def is_at_the_canner(kind: str) -> bool:
    """Whether a step belongs to a run of the canner, which keeps its times by itself."""
    return kind in AT_THE_CANNER
