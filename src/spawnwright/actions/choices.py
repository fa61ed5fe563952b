"""What a form offers to choose from: names of the catalogs, and records of the book."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.actions.book.culture import CultureLine

Choice = tuple[str, str]
"""What is sent, and what is read."""


def species_choices() -> list[Choice]:
    """The species, each with its common and Latin name."""
    from spawnwright.records.species import Species
    from spawnwright.store.catalog import catalog

    return [
        (key, f"{each.names[1]} ({each.names[0]})" if len(each.names) > 1 else each.names[0])
        for key, each in catalog(Species, "species").items()
    ]


def jar_choices() -> list[Choice]:
    """The kinds of jar."""
    from spawnwright.records.jar import Jar
    from spawnwright.store.catalog import catalog

    return [(key, _said(key)) for key in catalog(Jar, "jars")]


def grain_choices() -> list[Choice]:
    """The grains."""
    from spawnwright.records.grain import Grain
    from spawnwright.store.catalog import catalog

    return [(key, _said(key)) for key in catalog(Grain, "grains")]


def canner_choices() -> list[Choice]:
    """The canners, each with how many jars go into it, by which its owner knows it."""
    from spawnwright.records.canner import Canner
    from spawnwright.store.catalog import catalog

    return [
        (key, _said(key) + _loads(each.holds)) for key, each in catalog(Canner, "canners").items()
    ]


def _loads(holds: tuple[str, ...]) -> str:
    loads = [text.rsplit(" ", 1) for text in holds]
    told = " or ".join(f"{count} {jar.replace('-', ' ')}" for jar, count in loads)
    return f" ({told} jars)" if told else ""


def _said(key: str) -> str:
    return key.replace("-", " ")


def culture_choices(lines: list[CultureLine]) -> list[Choice]:
    """Cultures that can be used, each with what is left of it."""
    return [
        (line.row["id"], line.row["name"] + _left(line.left_ml))
        for line in lines
        if line.row["ended_on"] is None and line.row["test"] != "spoiled"
    ]


def _left(left_ml: float | None) -> str:
    return "" if left_ml is None else f", {left_ml:.0f} mL left"


def strain_choices(connection: Connection) -> list[Choice]:
    """The strains of the book by name."""
    from spawnwright.store.book.cultures import strains_by_id

    rows = strains_by_id(connection).values()
    return sorted(((row["id"], row["name"]) for row in rows), key=lambda each: each[1].casefold())
