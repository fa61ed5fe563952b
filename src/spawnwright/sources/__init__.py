"""Numbers with their sources: a constant without one cannot be constructed.

`bibliography/*.toml` holds the works, a table each: author, year, title, where it was published,
address, and `read`, which is how the number got here: "itself", "abstract", "second hand" or
"from memory". Three keys need no entry:

COMMON    common practice of the trade, no source
JUDGMENT  this project's own estimate where nothing was published; meant to be replaced
OWN       measured or chosen by the grower, from the grower's own files
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Self

from spawnwright.errors import MissingSource

COMMON, JUDGMENT, OWN = "COMMON", "JUDGMENT", "OWN"
READ = ("itself", "abstract", "second hand", "from memory")

REGISTRY: list[Constant | Coefficients] = []
"""Every sourced number made so far, for the sources page."""


@dataclass(frozen=True)
class Work:
    """One entry of the bibliography."""

    key: str
    author: str
    year: str
    title: str
    published: str
    address: str
    read: str

    @property
    def is_weak(self) -> bool:
        """Whether nobody here has seen the printed number itself."""
        return self.read in ("second hand", "from memory")


_RESERVED = {
    COMMON: Work(COMMON, "", "", "Common practice of the trade, no source", "", "", "from memory"),
    JUDGMENT: Work(JUDGMENT, "", "", "This project's own estimate, no source", "", "", "itself"),
    OWN: Work(OWN, "", "", "The grower's own measurement or choice", "", "", "itself"),
}


@cache
def bibliography() -> dict[str, Work]:
    """All works by key; reads the shipped files once."""
    works = dict(_RESERVED)
    for file in sorted(files(__name__).joinpath("bibliography").iterdir(), key=lambda f: f.name):
        if not file.name.endswith(".toml"):
            continue
        for key, entry in tomllib.loads(file.read_text(encoding="utf-8")).items():
            if key in works:
                raise MissingSource(f"The work {key!r} is entered twice in the bibliography.")
            if entry.get("read") not in READ:
                raise MissingSource(f"The work {key!r} must say how it was read: {READ}.")
            works[key] = Work(key=key, **{name: str(text) for name, text in entry.items()})
    return works


def _check(source: str, where: str) -> None:
    if source not in bibliography():
        raise MissingSource(
            f"{source!r} is not in the bibliography; enter the work before its number."
        )
    if not where.strip():
        raise MissingSource(
            f"A number from {source!r} must say where in it, or what it stands for."
        )


def _module_of_maker() -> str:
    """The module in which the number being made stands."""
    frame = sys._getframe(1)
    while frame.f_back and frame.f_globals["__name__"] == __name__:
        frame = frame.f_back
    return str(frame.f_globals["__name__"])


class Constant(float):
    """A float with a unit and a source; arithmetic gives plain floats back."""

    unit: str
    source: str
    where: str
    made_in: str

    def __new__(cls, value: float, unit: str, *, source: str, where: str) -> Self:
        _check(source, where)
        self = super().__new__(cls, value)
        self.unit, self.source, self.where = unit, source, where
        self.made_in = _module_of_maker()
        REGISTRY.append(self)
        return self

    def __deepcopy__(self, _memo: object) -> Self:
        return self

    def __reduce__(self) -> tuple[type[float], tuple[float]]:
        """Pickled as a plain float: other processes compute, they do not cite."""
        return float, (float(self),)


class Estimate(Constant):
    """A constant with a stated spread: 5th and 95th percentile around a likely value."""

    low: float
    high: float

    def __new__(
        cls, value: float, unit: str, *, low: float, high: float, source: str, where: str
    ) -> Self:
        if not low <= value <= high:
            raise MissingSource(f"An estimate must lie in its own spread: {low}, {value}, {high}.")
        self = super().__new__(cls, value, unit, source=source, where=where)
        self.low, self.high = low, high
        return self


class Coefficients(tuple[float, ...]):
    """The coefficients of one published equation, in the source's order and letters."""

    source: str
    where: str
    made_in: str

    def __new__(cls, values: Iterable[float], *, source: str, where: str) -> Self:
        _check(source, where)
        self = super().__new__(cls, tuple(float(value) for value in values))
        self.source, self.where = source, where
        self.made_in = _module_of_maker()
        REGISTRY.append(self)
        return self
