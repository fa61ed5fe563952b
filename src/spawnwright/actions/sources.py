"""What every number rests on: the works, weak ones first, and the numbers taken from each."""

from __future__ import annotations

import pkgutil
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from importlib.resources import files
from typing import TYPE_CHECKING

import spawnwright
from spawnwright.actions import catalogs
from spawnwright.sources import (
    COMMON,
    JUDGMENT,
    OWN,
    REGISTRY,
    Coefficients,
    Constant,
    Estimate,
    Work,
    bibliography,
)

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

ROOMS_WITH_NUMBERS = ("model", "records", "actions")
"""The rooms in whose code sourced numbers may stand; catalogs hold the others."""


@dataclass(frozen=True)
class RestingNumber:
    """One number that rests on a work."""

    value: float | tuple[float, ...]
    low: float | None
    high: float | None
    unit: str
    where: str
    used_in: str
    """Module and name in code, or catalog, entry and line."""


@dataclass(frozen=True)
class SourcePage:
    """A work, how strong it is, and all that rests on it."""

    work: Work
    numbers: tuple[RestingNumber, ...]
    cited_in: tuple[str, ...]
    """Modules whose text cites the work, for a method or a limit rather than a number."""

    @property
    def is_weak(self) -> bool:
        """Whether nobody here has seen the number in print."""
        return self.work.is_weak or self.work.key in (COMMON, JUDGMENT)


def source_pages(word: str = "") -> list[SourcePage]:
    """All works that something rests on, weak ones first.

    With a word, those alone whose key, author, year or title contains it, in any case; and of the
    others what is used where its name contains the word.
    """
    numbers: dict[str, list[RestingNumber]] = {}
    for source, number in [*_numbers_in_code(), *_numbers_in_catalogs()]:
        numbers.setdefault(source, []).append(number)
    cited = _citations()
    pages = []
    for key, work in bibliography().items():
        resting = sorted(numbers.get(key, ()), key=lambda each: (each.used_in, each.where))
        page = SourcePage(work, tuple(resting), tuple(cited.get(key, ())))
        if key == OWN and not resting:
            continue
        found = page if _names(work, word) else _used_where(page, word)
        pages += [found] if found else []
    return sorted(pages, key=_strength)


def _strength(page: SourcePage) -> tuple[int, str]:
    order = (JUDGMENT, COMMON, "from memory", "second hand", "abstract", "itself", OWN)
    work = page.work
    return order.index(work.key if work.key in order else work.read), work.key


def _names(work: Work, word: str) -> bool:
    named = " ".join((work.key, work.author, work.year, work.title))
    return word.casefold() in named.casefold()


def _used_where(page: SourcePage, word: str) -> SourcePage | None:
    """The page with only what stands in a module, catalog or entry whose name holds the word."""
    numbers = tuple(each for each in page.numbers if word.casefold() in each.used_in.casefold())
    cited_in = tuple(module for module in page.cited_in if word.casefold() in module)
    return SourcePage(page.work, numbers, cited_in) if numbers or cited_in else None


def _numbers_in_code() -> Iterator[tuple[str, RestingNumber]]:
    for room in ROOMS_WITH_NUMBERS:
        package = import_module(f"spawnwright.{room}")
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            import_module(module.name)
    rooms = tuple(f"spawnwright.{room}." for room in ROOMS_WITH_NUMBERS)
    for number in REGISTRY:
        if number.source != OWN and number.made_in.startswith(rooms):
            file = "/".join(number.made_in.split(".")[1:]) + ".py"
            name = _name_of(number)
            yield number.source, _resting(number, f"{file} {name}".rstrip())


def _name_of(number: Constant | Coefficients) -> str:
    """The name under which a number, or the collection that holds it, stands in its module."""
    for name, value in vars(import_module(number.made_in)).items():
        if value is number:
            return name.lstrip("_")
        held: Iterable[object] = ()
        if isinstance(value, dict):
            held = value.values()
        elif isinstance(value, tuple | list):
            held = value
        if any(each is number for each in held):
            return name.lstrip("_")
    return ""


def _numbers_in_catalogs() -> Iterator[tuple[str, RestingNumber]]:
    for name in catalogs.CATALOGS:
        for entry in catalogs.entries(name):
            for listed in entry.numbers:
                if listed.number.made_in.startswith("spawnwright.records."):
                    continue  # the default of all entries, listed once from the code
                used_in = f"{name}: {entry.key}, {listed.label}"
                yield listed.work.key, _resting(listed.number, used_in)


def _resting(number: Constant | Coefficients, used_in: str) -> RestingNumber:
    if isinstance(number, Coefficients):
        return RestingNumber(tuple(number), None, None, "", number.where, used_in)
    low, high = (number.low, number.high) if isinstance(number, Estimate) else (None, None)
    return RestingNumber(float(number), low, high, number.unit, number.where, used_in)


@cache
def _citations() -> dict[str, list[str]]:
    """Keys in square brackets in the text of the models, with the modules that they stand in."""
    cited: dict[str, list[str]] = {}
    for room in ROOMS_WITH_NUMBERS:
        for named, file in _modules_in(files(spawnwright).joinpath(room), room):
            text = file.read_text(encoding="utf-8")
            for key in dict.fromkeys(re.findall(r"\[([A-Za-z]\w*)\]", text)):
                if key in bibliography():
                    cited.setdefault(key, []).append(named)
    return cited


def _modules_in(folder: Traversable, named: str) -> Iterator[tuple[str, Traversable]]:
    """All modules of a folder and of the folders in it, with their paths."""
    for each in sorted(folder.iterdir(), key=lambda each: each.name):
        if each.is_dir():
            yield from _modules_in(each, f"{named}/{each.name}")
        elif each.name.endswith(".py"):
            yield f"{named}/{each.name}", each
