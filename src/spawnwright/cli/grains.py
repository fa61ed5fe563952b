"""The grains, and the source of each number."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.catalog_page import catalog_page


@answer.command("grains", example="grains rye")
@click.argument("name", required=False)
def command(name: str | None) -> answer.Answer:
    """The grains that are known, or everything about the one called NAME.

    Each number is shown with its likely spread (5th to 95th percentile), the work that it is from
    and the place in it. Barley, millet and oats exist hulled and in the hull, which soak, simmer
    and swell differently: they must be asked for in full.
    """
    return catalog_page("grains", name, ("dry_bulk_density_kg_m3", "simmer_time_s"))
