"""The jars, and the source of each number."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.catalog_page import catalog_page


@answer.command("jars", example="jars quart")
@click.argument("name", required=False)
def command(name: str | None) -> answer.Answer:
    """The jars that are known, or everything about the one called NAME.

    NAME may also be a volume ("0.5 L") or three measurements of your own jar: water to the brim,
    a string round the outside, height inside ("980 g, 30.1 cm, 16.2 cm"). Printed sizes of jars
    contradict each other; your own three measurements are better than any of these.
    """
    return catalog_page("jars", name, ("nominal_volume_m3", "inner_radius_m", "inside_height_m"))
