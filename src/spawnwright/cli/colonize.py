"""When a jar is colonized, when to shake it, when it is ready."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

import click

from spawnwright.cli import answer
from spawnwright.cli.explain import add_inputs
from spawnwright.cli.options import FillOption, Listed, Plain, Quantity, Share
from spawnwright.records.band import Band

if TYPE_CHECKING:
    from spawnwright.actions.growing.colonize import ColonizeAnswer


@answer.command(
    "colonize",
    example='colonize --species "blue oyster" --jar quart --fill 70% --dose "2 mL" '
    '--temperature "24 C"',
)
@click.option("--species", type=Listed("species"), required=True, help="Latin or common name.")
@click.option("--jar", type=Listed("jars"), required=True, help="As in `./run jars`.")
@click.option(
    "--fill",
    type=FillOption(),
    required=True,
    help='Share of the jar\'s nominal volume, or "3 cm below the rim", or grams of wet grain.',
)
@click.option("--temperature", type=Quantity("temperature"), required=True, help="Of the shelf.")
@click.option(
    "--dose",
    type=Quantity("volume"),
    help="Liquid culture for this jar. Default: 2 mL to a liter of jar, at least 1 mL.",
)
@click.option(
    "--inoculation",
    type=click.Choice(("spread", "top", "wall", "through")),
    default="spread",
    show_default=True,
    help="spread: the liquid runs down through the bed, as it does in loose "
    "grain; top: all stays on top; wall: four streaks down the glass; through: all over the bed, "
    "as in a tumbled jar.",
)
@click.option(
    "--drops-per-ml",
    type=Plain("a number of drops"),
    help="Drops of a milliliter that come to "
    "lie apart and grow. Not known: 5 to 50 stand in the band, 20 in its middle.",
)
@click.option(
    "--starting-points",
    type=click.IntRange(1, 100_000),
    help="White spots, if you counted them in such a jar; dose and drops do not matter then.",
)
@click.option(
    "--shake-at",
    type=Share(),
    help="Shake once at this share, such as 30%; the days count it "
    "then. Without it no shake is counted.",
)
@click.option(
    "--grain",
    type=Listed("grains"),
    default="rye",
    show_default=True,
    help="Only the number of kernels, after a shake, and a fill in grams depend on it.",
)
@click.option("--explain", is_flag=True, help="List every uncertain number and its source.")
def command(explain: bool, **asked: Any) -> answer.Answer:
    """When a jar is colonized, when to shake it, when it is ready.

    Days count from inoculation. Colonized: growth has reached the last corner, the lag before it
    starts included. Shake day: growth has reached 30 %, or --shake-at, or less for a species that
    must be shaken earlier. Ready: the inside of the kernels is colonized too. A null day in the
    JSON means that it never comes. The band holds the strain, the shelf, the drops and chance;
    your own looks narrow it.
    """
    from spawnwright.actions.growing.colonize import ColonizeQuestion, colonize

    question = ColonizeQuestion(
        species=asked["species"],
        jar=asked["jar"],
        fill=asked["fill"],
        grain=asked["grain"],
        temperature_c=asked["temperature"],
        dose_m3=asked["dose"],
        pattern=asked["inoculation"],
        drops_per_ml=asked["drops_per_ml"],
        starting_points=asked["starting_points"],
        shake_at=asked["shake_at"],
    )
    found = colonize(question)
    values = {
        "days_to_colonized": found.days_to_colonized,
        "shake_day": found.shake_day,
        "ready_day": found.ready_day,
        "curve": found.curve,
        "species": question.species.latin,
        "shake_share": found.shake_share,
        "rate_mm_per_day": found.rate_mm_per_day,
        "starting_points": found.starting_points,
        "bed_depth_m": found.filled.depth_m,
        "widest_cause": found.widest_cause,
        "narrow_it_with": found.narrow_it_with,
        "notes": found.notes,
        "cautions": found.cautions,
    }
    page = _text(answer.Answer(values), question.species, found)
    return add_inputs(page, found.inputs, found.width_left) if explain else page


def _text(page: answer.Answer, species: Any, found: ColonizeAnswer) -> answer.Answer:
    depth = f"{found.filled.depth_m * 100:.1f} cm of grain"
    latin = f" ({species.latin})" if species.latin != species.common else ""
    shaken = f"{found.shake_share:.0%} colonized. {species.shake_note}"
    page.rows(
        ("shake", _days(found.shake_day), shaken),
        ("colonized", _days(found.days_to_colonized), "white in the last corner"),
        ("ready", _days(found.ready_day), "white inside the kernels too"),
        ("growth", _numbers(found.rate_mm_per_day, "mm a day"), "in grain, on this shelf"),
        ("starting points", _numbers(found.starting_points, ""), "drops that grow"),
        title=f"{species.common[0].upper()}{species.common[1:]}{latin}, {depth}",
    )
    if isfinite(found.days_to_colonized.low):
        _add_curve(page, found)
    for each in found.notes:
        page.text(each)
    if found.widest_cause:
        page.text(
            f"Most of the width comes from: {found.widest_cause}. What would narrow it most: "
            f"{found.narrow_it_with}."
        )
    return page.text("\n".join(found.cautions))


def _add_curve(page: answer.Answer, found: ColonizeAnswer) -> None:
    curve = found.curve
    step = max(1, round(len(curve.day) / 8))
    page.table(
        ["day", "slow jar", "likely", "quick jar"],
        [[str(curve.day[place]), *(f"{each[place]:.0f} %" for each in
          (curve.percent_low, curve.percent_likely, curve.percent_high))]
         for place in range(step, len(curve.day), step)],
        title="Share that is white",
    )  # fmt: skip


def _days(band: Band) -> str:
    if not isfinite(band.low):
        return "never"
    return f"day {_day(band.low)} to {_day(band.high)}, likely {_day(band.likely)}"


def _day(day: float) -> str:
    if not isfinite(day):
        return "never"
    return f"{day:.0f}" if day < 365 else "over a year"


def _numbers(band: Band, unit: str) -> str:
    low, likely, high = (
        f"{each:.0f}" if each >= 10 else f"{each:.2g}"
        for each in (band.low, band.likely, band.high)
    )
    if low == high:
        return f"{likely} {unit}".rstrip()
    return f"{low} to {high}, likely {likely} {unit}".rstrip()
