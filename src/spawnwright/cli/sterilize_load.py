"""Options of `sterilize` that say what stands in the canner: jars, several kinds, bags."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from spawnwright.cli.options import FillOption, Listed
from spawnwright.errors import Contradiction, SpawnwrightError


class AlsoOption(click.ParamType[Any]):
    """More jars for the same load: "5 pint 60%"."""

    name = "count, jar, fill"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """A `records.sterilizing.Jars`."""
        if not isinstance(value, str):
            return value
        from spawnwright.actions.sterilizing.sterilize_load import read_jars

        try:
            return read_jars(value)
        except SpawnwrightError as problem:
            raise click.UsageError(f"--also: {problem}") from problem


def load_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Jars, or bags, and what else is in the load."""
    for option in (
        click.option(
            "--spoiled",
            "is_spoiled",
            is_flag=True,
            help="Spoiled jars, sterilized shut, alone and from cold, before anybody opens them. "
            "Their grain counts as smearing, the slowest: nobody can look.",
        ),
        click.option(
            "--contents",
            type=click.Choice(("grain", "liquid-culture", "agar")),
            default="grain",
            show_default=True,
            help="Liquids are at most two thirds full, and need no --grain.",
        ),
        click.option(
            "--lying/--standing",
            "is_lying",
            default=None,
            help="How the bags are put in. Lying they are thinner, and heat much faster.",
        ),
        click.option("--bags", type=click.IntRange(1, 1000), help="How many bags in this load."),
        click.option(
            "--bag",
            type=Listed("bags"),
            help="Filter-patch bags instead of jars, by the kilograms of wet grain in one: "
            '"2.5 kg"; as in `./run bags`, or a file of your own. Takes --bags and --lying or '
            "--standing.",
        ),
        click.option(
            "--also",
            type=AlsoOption(),
            multiple=True,
            help='More jars of another kind in the same load: "5 pint 60%" is count, jar and '
            "fill, of the same grain. May be given more than once.",
        ),
        click.option("--jars", type=click.IntRange(1, 1000), help="In this load."),
        click.option(
            "--fill",
            type=FillOption(),
            help='Share of the jar\'s nominal volume, or "3 cm below the rim", or grams of wet '
            "grain.",
        ),
        click.option("--jar", type=Listed("jars"), help="As in `./run jars`."),
    ):
        function = option(function)
    return function


def load_from(asked: dict[str, Any]) -> dict[str, Any]:
    """The fields of a `SterilizeQuestion` that say what stands in the canner."""
    containers = _containers(asked)
    if asked["contents"] != "grain":
        _refuse_grain_of_liquid(asked)
    elif asked["grain"] is None:
        raise click.UsageError("Missing --grain: which grain is in the jars?")
    elif asked["spores_per_ml"] is not None:
        raise Contradiction("--spores-per-ml is for liquids; grain takes --spores-per-gram.")
    return containers | {name: asked[name] for name in ("contents", "is_spoiled")}


def spores_from(asked: dict[str, Any]) -> float | None:
    """Spores in a gram of dry grain, or in a milliliter of a liquid, which weighs a gram."""
    given = "spores_per_gram" if asked["contents"] == "grain" else "spores_per_ml"
    count: float | None = asked[given]
    return count


def _refuse_grain_of_liquid(asked: dict[str, Any]) -> None:
    of_grain = ("grain", "moisture", "transport", "bag", "spores_per_gram")
    given = [name for name in of_grain if asked[name] is not None]
    if asked["grain_state"] != "unknown":
        given.append("grain_state")
    if given:
        options = ", ".join(f"--{name.replace('_', '-')}" for name in given)
        raise Contradiction(
            f"{options} is about grain, and the jars hold {asked['contents']}; leave it out. "
            "Spores of a liquid are said with --spores-per-ml."
        )


def _containers(asked: dict[str, Any]) -> dict[str, Any]:
    if asked["bag"] is not None:
        return _bags(asked)
    for option in ("bags", "is_lying"):
        if asked[option] is not None:
            written = "--bags" if option == "bags" else "--lying and --standing"
            raise Contradiction(f"{written} belong to --bag; jars take --jar, --fill and --jars.")
    missing = [f"--{name}" for name in ("jar", "fill", "jars") if asked[name] is None]
    if missing:
        raise click.UsageError(
            f"Missing {', '.join(missing)}. What goes into the canner is said with --jar, --fill "
            "and --jars, or with --bag, --bags and --lying or --standing."
        )
    return {name: asked[name] for name in ("jar", "fill", "jars", "also")}


def _bags(asked: dict[str, Any]) -> dict[str, Any]:
    from spawnwright.records.fill import Fill

    for option in ("jar", "fill", "jars", "also"):
        if asked[option]:
            raise Contradiction(
                f"--{option} belongs to jars and --bag to bags; a load is one or the other."
            )
    if asked["bags"] is None:
        raise click.UsageError("Missing --bags: how many bags are in this load?")
    if asked["is_lying"] is None:
        raise click.UsageError("Missing --lying or --standing: how are the bags put in?")
    bag, is_lying = asked["bag"], asked["is_lying"]
    return {
        "bag": bag,
        "is_lying": is_lying,
        "jar": bag.as_jar(is_lying),
        "fill": Fill("mass", float(bag.grain_kg)),
        "jars": asked["bags"],
    }
