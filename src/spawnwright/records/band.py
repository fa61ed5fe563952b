"""A band: what an uncertain number may be."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.errors import Unusable


@dataclass(frozen=True)
class Band:
    """5th percentile, median and 95th percentile of an uncertain number."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.likely <= self.high:
            raise Unusable(
                f"A band must rise: {self.low:g}, {self.likely:g}, {self.high:g} does not."
            )

    @classmethod
    def exactly(cls, value: float) -> Band:
        """The band of a number that is known."""
        return cls(value, value, value)

    def times(self, factor: float) -> Band:
        """The band in another unit, or of a fixed multiple; `factor` is not negative [-]."""
        return Band(self.low * factor, self.likely * factor, self.high * factor)

    @property
    def width(self) -> float:
        """Distance from the 5th to the 95th percentile."""
        return self.high - self.low

    def as_dict(self) -> dict[str, float]:
        """The three numbers under the names that every output uses."""
        return {"low": self.low, "likely": self.likely, "high": self.high}
