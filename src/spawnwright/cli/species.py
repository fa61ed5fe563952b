"""The species, and the source of each number."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.catalog_page import catalog_page


@answer.command("species", example='species "blue oyster"')
@click.argument("name", required=False)
def command(name: str | None) -> answer.Answer:
    """The species that are known, or everything about the one called NAME.

    Each number is shown with its likely spread (5th to 95th percentile), the work that it is from
    and the place in it. Most rates are our own estimates: strains differ as much as species do,
    and two dated looks at your own jars are worth more than any of these.
    """
    return catalog_page("species", name, ("topt_c", "tmax_c", "rate_grain_mm_per_day"))
