"""How fast a species grows at a temperature."""

from __future__ import annotations

import click

from spawnwright.cli import answer
from spawnwright.cli.explain import add_inputs
from spawnwright.cli.options import Listed, Quantity
from spawnwright.records.species import Species


@answer.command("growth-rate", example='growth-rate --species "blue oyster" --temperature "20 C"')
@click.option("--species", type=Listed("species"), help="Latin or common name.")
@click.option("--temperature", type=Quantity("temperature"), required=True, help="Of the mycelium.")
@click.option("--tmin", type=Quantity("temperature"), help="Below it nothing grows.")
@click.option("--topt", type=Quantity("temperature"), help="At it growth is fastest.")
@click.option("--tmax", type=Quantity("temperature"), help="Above it nothing grows.")
@click.option("--best", type=Quantity("speed"), help='Rate at --topt, such as "5 mm/day".')
@click.option(
    "--on",
    type=click.Choice(("grain", "agar")),
    default="grain",
    show_default=True,
    help="Speed of the front in grain at rest, or of a colony's radius on agar.",
)
@click.option("--explain", is_flag=True, help="List every uncertain number and its source.")
def command(
    species: Species | None,
    temperature: float,
    tmin: float | None,
    topt: float | None,
    tmax: float | None,
    best: float | None,
    on: str,
    explain: bool,
) -> answer.Answer:
    """How fast a species grows at a temperature, in millimeters a day.

    Give a species, or the four numbers of your own curve; a number given beside a species replaces
    the species' own and is taken as known. rate_mm_per_day is the cardinal temperature model with
    inflection (Rosso 1993) at the likely numbers; rate_band_mm_per_day is its band, which is
    widest in the cold. Outside tmin and tmax the rate is 0.
    """  # fmt: skip
    from spawnwright.actions.growing.growth_rate import growth_rate

    found = growth_rate(
        species,
        temperature,
        tmin_c=tmin,
        topt_c=topt,
        tmax_c=tmax,
        best_mm_per_day=best,
        on_agar=on == "agar",
    )
    band, kind = found.rate_band_mm_per_day, found.species
    page = answer.Answer(
        {
            "rate_mm_per_day": found.rate_mm_per_day,
            "rate_band_mm_per_day": band,
            "relative_rate": found.relative_rate,
            "species": kind.latin,
            "on": on,
            "note": found.note,
        }
    )
    exact = all(each.shape == "fixed" for each in found.inputs)
    page.rows(
        ("rate", f"{found.rate_mm_per_day:.2f} mm/day", f"in {on}" if on == "grain" else "on agar"),
        ("band", "none" if exact else f"{band.low:.2f} to {band.high:.2f} mm/day",
         "the numbers were given as known" if exact else "5 to 95 %"),
        ("of its best", f"{found.relative_rate:.0%}", f"at {kind.topt_c:g} °C"),
        title=f"{kind.common[0].upper()}{kind.common[1:]} at {temperature:.4g} °C",
    )  # fmt: skip
    if found.note:
        page.text(found.note)
    return add_inputs(page, found.inputs) if explain else page
