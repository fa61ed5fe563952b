"""Option types: quantities with units, shares, plain numbers; each names itself in its error."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from spawnwright import units
from spawnwright.errors import NotAQuantity


class _Parsed(click.ParamType[float]):
    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        if isinstance(value, float):
            return value
        try:
            return self.read(str(value))
        except NotAQuantity as problem:
            name = param.opts[-1] if param and param.opts else "A value"
            raise click.UsageError(f"{name}: {problem}") from problem

    def read(self, text: str) -> float:
        raise NotImplementedError


class Quantity(_Parsed):
    """A quantity of one kind of `units.KINDS`, given to the command in that kind's unit."""

    def __init__(self, kind: str, *, zero_needs_no_unit: bool = False) -> None:
        self.name, self.zero_needs_no_unit = kind, zero_needs_no_unit

    def read(self, text: str) -> float:
        """Parse with the unit that the text must have."""
        return units.parse(text, self.name, zero_needs_no_unit=self.zero_needs_no_unit)


class Share(_Parsed):
    """A share such as 70% or 2/3, given to the command as a fraction."""

    name = "share"

    def read(self, text: str) -> float:
        """Parse a percentage or a fraction."""
        return units.parse_share(text)


class Plain(_Parsed):
    """A plain number, behind which its own unit may stand."""

    def __init__(self, what: str = "a number", unit: str = "") -> None:
        self.name, self.unit = what, unit

    def read(self, text: str) -> float:
        """Parse a bare number."""
        return units.parse_plain(text, self.name, self.unit)


class Listed(click.ParamType[Any]):
    """A name from a catalog, or a TOML file of the grower's own; gives the record."""

    def __init__(self, catalog: str) -> None:
        self.catalog = catalog
        self.name = f"name from `{catalog}`"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Look the name up; an unknown one is refused with the nearest names."""
        if not isinstance(value, str):
            return value
        from spawnwright.actions.catalogs import look_up

        return look_up(self.catalog, value)


class FillOption(click.ParamType[Any]):
    """How full a jar is, given to the command as a `records.fill.Fill`."""

    name = "fill"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Read a share, a distance below the rim or a mass of wet grain."""
        if not isinstance(value, str):
            return value
        from spawnwright.actions.grain.fill import read_fill

        try:
            return read_fill(value)
        except NotAQuantity as problem:
            raise click.UsageError(f"--fill: {problem}") from problem


def outside_air_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """The three ways to say how thick the air outside is: --elevation, --ambient, --boils-at."""
    for option in (
        click.option(
            "--boils-at",
            type=Quantity("temperature"),
            help="Where water boils in an open pot there, as your own thermometer shows it.",
        ),
        click.option(
            "--ambient",
            type=Quantity("absolute pressure"),
            help="Air pressure measured at the place itself; not a weather report's, which is "
            "reduced to sea level. Wins over --elevation.",
        ),
        click.option(
            "--elevation",
            type=Quantity("elevation", zero_needs_no_unit=True),
            help='Of the kitchen: "0 m", "4900 ft".',
        ),
    ):
        function = option(function)
    return function
