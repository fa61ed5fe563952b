"""The canners, and the source of each number."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.catalog_page import catalog_page


@answer.command("canners", example="canners two-layer")
@click.argument("name", required=False)
def command(name: str | None) -> answer.Answer:
    """The canners that are known, or everything about the one called NAME.

    These are sizes, not makes, and none states a rated pressure: that stands in the manual of
    yours. Five measurements of your own canner are better than any of these; docs/own-kit.md
    says which.
    """
    return catalog_page("canners", name, ("mass_kg", "inner_diameter_m", "inside_height_m"))
