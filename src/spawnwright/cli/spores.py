"""Published resistance of spores, and the source of each number."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.catalog_page import catalog_page


@answer.command("spores", example="spores")
@click.argument("name", required=False)
def command(name: str | None) -> answer.Answer:
    """The spores whose resistance to moist heat was published, or the one called NAME.

    D is the time at 121.11 C that leaves a tenth alive, z the temperature difference that changes
    D tenfold. They are what `survivors` asks for. `sterilize` does not use them: its spores are a
    stated guess that lies among these.
    """
    return catalog_page("spores", name, ("d_121_min", "z_c"))
