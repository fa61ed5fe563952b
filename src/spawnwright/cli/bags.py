"""The filter-patch bags, and the source of each number."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.catalog_page import catalog_page


@answer.command("bags", example="bags 2.5-kg")
@click.argument("name", required=False)
def command(name: str | None) -> answer.Answer:
    """The filter-patch bags that are known, or everything about the one called NAME.

    All sizes are our own estimates from the mass of wet grain. Width and height of the grain in
    yours, measured with a tape as it stands, are better; docs/models/bags.md says how.
    """
    return catalog_page("bags", name, ("grain_kg", "standing_radius_m", "lying_radius_m"))
