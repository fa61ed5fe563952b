"""A probe run: how heat moves in the grower's own grain."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from spawnwright.cli import answer
from spawnwright.cli.log_options import left_out_values, reads_log_only, say_what_was_read
from spawnwright.cli.options import FillOption, Listed, Quantity, Share, outside_air_options

if TYPE_CHECKING:
    from spawnwright.records.probe import ProbeQuestion


@answer.command(
    "probe",
    example="probe docs/examples/probe.csv --column 2 --vessel-column 3 --jar quart --fill 70% "
    '--grain rye --grain-state pours --way atmospheric --elevation "450 m"',
)
@reads_log_only
@click.option("--jar", type=Listed("jars"), required=True, help="As in `./run jars`.")
@click.option("--fill", type=FillOption(), required=True, help="How full that jar was.")
@click.option("--grain", type=Listed("grains"), required=True, help="As in `./run grains`.")
@click.option(
    "--grain-state",
    type=click.Choice(("pours", "sticks", "smears", "unknown")),
    default="unknown",
    show_default=True,
    help="What the filled grain does: pours through your fingers, sticks to the hand, smears.",
)
@click.option("--moisture", type=Share(), help="Of the filled grain.")
@click.option(
    "--way",
    type=click.Choice(("atmospheric", "canner")),
    required=True,
    help="atmospheric: a kitchen thermocouple through the filter hole, in steam without pressure, "
    "jar not immersed, lid of the canner loose. canner: under pressure, ONLY with a self-contained "
    "logger rated for at least 140 °C and the pressure, or a feed-through made by the canner's "
    "maker; never a wire under the gasket or a drilled lid.",
)
@click.option("--gauge", type=Quantity("gauge pressure"),
              help='For --way canner: the pressure of the hold, "15 psi".')  # fmt: skip
@outside_air_options
@click.option("--start", type=Quantity("temperature"),
              help="Grain at the first reading. Left out: as that reading says.")  # fmt: skip
@click.option("--steam-after", type=Quantity("duration"),
              help="From the first reading to the steady jet of steam.")  # fmt: skip
@click.option("--pressure-after", type=Quantity("duration"),
              help="From the first reading to full pressure, for --way canner.")  # fmt: skip
@click.option("--heat-off", type=Quantity("duration"),
              help="From the first reading to the burner off; later readings are left out."
              )  # fmt: skip
@click.option("--vessel-column", help="Column of a second sensor that reads the steam.")
@click.option("--probe-depth", type=Quantity("length"),
              help="How deep the tip was set below the top of the grain. Left out: half the depth."
              )  # fmt: skip
@click.option("--probe-error", type=Quantity("length"), default="7 mm", show_default=True,
              help="How far the tip may be from there, each way (one standard deviation)."
              )  # fmt: skip
@click.option("--real-gauge", type=Quantity("gauge pressure"),
              help="Pressure of the real run that is compared. Left out: --gauge, or 15 psi."
              )  # fmt: skip
@click.option("--pdf", metavar="FILE", help="Write the run as a page with both plots.")
@click.option("--save", metavar="FILE", help="Keep the answer for `sterilize --probe`.")
def command(
    path: Any, choices: Any, vessel_column: str | None, save: str | None,
    real_gauge: float | None, pdf: str | None, **asked: Any,
) -> answer.Answer:  # fmt: skip
    """How heat moves in your own grain, from a probe in one jar, and what that is worth.

    Log from the moment the burner is lit until the core is close to the steam, a reading a minute
    or so. Heat may creep by conduction alone (one diffusivity), or vapor may carry it through the
    pores (conductivity at rest and pore factor); both are fitted and weighed, with 95 % intervals.
    In steam without pressure vapor carries several times more than under pressure, so from such a
    run no diffusivity is reported, only what carries over.

    fh and j are the canning trade's: fh the minutes in which the difference to the steam falls to
    a tenth, j from the straight line's value at time zero (58 % of the come-up). They hold at the
    pressure they were measured at, and for nothing else. Where vapor carries the heat the line is
    not straight; then j says little.

    In a canner under pressure only a self-contained logger rated for at least 140 C and for the
    pressure, or a feed-through made by the canner's maker: never a wire under the gasket, never a
    drilled lid.
    """
    from pathlib import Path

    from spawnwright.actions.sterilizing.probe import ProbeLog, keep, probe, write_pdf
    from spawnwright.cli.probe_text import page_of, values_of

    found, readings = probe(
        ProbeLog(path, choices, vessel_column), _question(asked), real_gauge_pa=real_gauge
    )
    say_what_was_read(readings)
    for note in found.notes:
        answer.note(note)
    if pdf is not None:
        write_pdf(found, Path(pdf), path)
        answer.note(f"Written: {pdf}")
    if save is not None:
        keep(found, Path(save), path)
        answer.note(f"Written: {save}")
    return page_of(answer.Answer(values_of(found) | left_out_values(readings)), found)


def _question(asked: dict[str, Any]) -> ProbeQuestion:
    from spawnwright.actions.steam import outside_air
    from spawnwright.errors import Contradiction
    from spawnwright.records.probe import ProbeQuestion

    is_canner = asked["way"] == "canner"
    if is_canner and asked["gauge"] is None:
        raise Contradiction(
            '--way canner needs --gauge, the pressure of the hold, such as "15 psi".'
        )
    if is_canner and asked["heat_off"] is None:
        raise Contradiction(
            "--way canner needs --heat-off, when the burner was turned off, counted from the first "
            'reading, such as "2 h": a slow core still warms while the steam cools.'
        )
    if not is_canner:
        for name in ("gauge", "pressure_after"):
            if asked[name] is not None:
                option = "--" + name.replace("_", "-")
                raise Contradiction(
                    f"{option} belongs to --way canner; steam without pressure has neither weight "
                    "nor gauge. For the real run's pressure there is --real-gauge."
                )
    ambient, given = outside_air(asked["elevation"], asked["ambient"], asked["boils_at"])
    return ProbeQuestion(
        jar=asked["jar"],
        fill=asked["fill"],
        grain=asked["grain"],
        way=asked["way"],
        ambient_pa=ambient,
        gauge_pa=asked["gauge"] or 0.0,
        is_ambient_measured=given != "elevation",
        grain_state=asked["grain_state"],
        moisture=asked["moisture"],
        start_c=asked["start"],
        steam_after_s=asked["steam_after"],
        pressure_after_s=asked["pressure_after"],
        heat_off_s=asked["heat_off"],
        probe_depth_m=asked["probe_depth"],
        placement_m=asked["probe_error"],
    )
