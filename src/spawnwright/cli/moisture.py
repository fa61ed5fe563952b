"""Mass and water from one moisture to another."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.options import Quantity, Share
from spawnwright.units import written_mass


@answer.command("moisture", example='moisture --mass "1 kg" --from 12% --to 48%')
@click.option("--mass", type=Quantity("mass"), required=True, help="Mass now.")
@click.option("--from", "before", type=Share(), required=True, help="Moisture now.")
@click.option("--to", "after", type=Share(), required=True, help="Moisture then.")
def command(mass: float, before: float, after: float) -> answer.Answer:
    """Mass and water from one moisture to another.

    Moisture is water as a share of the whole (wet basis). Only water comes and goes: what leaches
    into the cooking water is not counted here, `hydrate` does that. The water is negative when
    drying.
    """
    from spawnwright.actions.grain.moisture import change_moisture

    found = change_moisture(mass, before, after)
    page = answer.Answer(
        {
            "final_kg": found.final_kg,
            "water_kg": found.water_kg,
            "dry_matter_kg": found.dry_matter_kg,
        }
    )
    water = "water taken up" if found.water_kg >= 0 else "water given off"
    return page.rows(
        ("mass then", written_mass(found.final_kg), f"at {after:.1%}"),
        (water, written_mass(abs(found.water_kg)), ""),
        (
            "dry matter",
            written_mass(found.dry_matter_kg),
            f"water to dry matter from {found.before_db:.3f} to {found.after_db:.3f} kg/kg",
        ),
    )
