"""The record of a logged run."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from spawnwright.cli import answer
from spawnwright.cli.log_options import left_out_values, reads_log_only, say_what_was_read
from spawnwright.cli.options import FillOption, Listed, Quantity, Share
from spawnwright.cli.sterilize import StartOption

if TYPE_CHECKING:
    from spawnwright.records.band import Band
    from spawnwright.records.run_record import RunRecord
    from spawnwright.records.sterilizing import SterilizeQuestion


@answer.command(
    "run-record",
    example="run-record docs/examples/channels.csv --jar quart --fill 70% --elevation "
    '"450 m" --grain-state pours',
)
@reads_log_only
@click.option("--core", help="Column that measures the core of a jar, if its name does not say.")
@click.option("--vessel", help="Column that measures the steam in the canner, likewise.")
@click.option("--target", type=Quantity("duration"), default="15 min", show_default=True,
              help="F0 wanted at the core.")  # fmt: skip
@click.option("--pdf", metavar="FILE", help="Write the record as a page with the curve.")
@click.option("--jar", type=Listed("jars"), help="The jar whose core is to be estimated.")
@click.option("--fill", type=FillOption(), default="70%", show_default=True, help="How full.")
@click.option("--grain", type=Listed("grains"), default="rye", show_default=True,
              help="What is in it.")  # fmt: skip
@click.option(
    "--grain-state",
    type=click.Choice(("pours", "sticks", "smears", "unknown")),
    default="unknown",
    show_default=True,
    help="What the filled grain does in the hand.",
)
@click.option("--moisture", type=Share(), help="Of the filled grain.")
@click.option("--start", type=StartOption(), default="cold", show_default=True,
              help="Grain at the start; cold: as the first reading says.")  # fmt: skip
@click.option("--elevation", type=Quantity("elevation", zero_needs_no_unit=True),
              help="Needed with --jar.")  # fmt: skip
def command(
    path: Any, choices: Any, core: str | None, vessel: str | None, target: float,
    pdf: str | None, **asked: Any,
) -> answer.Answer:  # fmt: skip
    """What a logged run did: every sensor, the core's lethality, a verdict.

    All temperature columns are read; core, vessel and the like in their names say what they
    measure. F0 is minutes at 121.11 C with z 10 C, cooling counted. With a sensor in the core of
    a jar, core_f0_min is what it measured. With the vessel alone and --jar, it is a band by both
    ways in which heat may move through the grain, mixed as its state has them.

    The verdict is enough, too little, or cannot tell: the whole band must be on one side of the
    target. Faults of a sensor are left out with their count; see `lethality --help`.
    """  # fmt: skip
    from pathlib import Path

    from spawnwright.actions.sterilizing.run_record import (
        Roles,
        check_pdf_place,
        run_record,
        write_pdf,
    )

    if pdf is not None:
        check_pdf_place(Path(pdf), path)
    record = run_record(path, choices, Roles(core, vessel), _question(asked), target / 60)
    for channel in record.channels:
        say_what_was_read(channel.readings)
    if pdf is not None:
        write_pdf(record, Path(pdf))
        answer.note(f"Written: {pdf}")
    return _text(answer.Answer(_values(record)), record)


def _question(asked: dict[str, Any]) -> SterilizeQuestion | None:
    if asked["jar"] is None:
        return None
    from spawnwright.actions.steam import outside_air
    from spawnwright.actions.sterilizing.sterilize_checks import assumed_canner
    from spawnwright.records.sterilizing import SterilizeQuestion
    from spawnwright.units import PSI_PA

    ambient, _ = outside_air(asked["elevation"], None, None)
    return SterilizeQuestion(
        jar=asked["jar"], fill=asked["fill"], jars=1, grain=asked["grain"],
        canner=assumed_canner(asked["jar"], 1), gauge_pa=15 * PSI_PA, ambient_pa=ambient,
        moisture=asked["moisture"], grain_state=asked["grain_state"], start=asked["start"],
    )  # fmt: skip


def _values(record: RunRecord) -> dict[str, Any]:
    model = record.by_model
    return {
        "verdict": record.verdict,
        "core_f0_min": record.core_f0_min,
        "core_is_measured": record.is_measured,
        "target_f0_min": record.target_min,
        "chance_of_target": record.chance_of_target,
        "core_f0_by_conduction_min": None if model is None else model.by_conduction,
        "core_f0_by_vapor_min": None if model is None else model.by_vapor,
        "core_f0_by_state_min": None if model is None else model.by_state,
        "channels": [
            {
                "column": each.readings.column,
                "measures": each.role,
                "peak_c": each.peak_c,
                "minutes_above_reference": each.minutes_above_reference,
                "lethality_min": each.lethality_min,
                "cooling_min": each.cooling_min,
                "readings": len(each.readings.time_s),
                **left_out_values(each.readings),
            }
            for each in record.channels
        ],
    }


def _text(page: answer.Answer, record: RunRecord) -> answer.Answer:
    found = "not known" if record.core_f0_min is None else _band(record.core_f0_min)
    page.rows(
        ("verdict", record.verdict, f"F0 of {record.target_min:g} min wanted at the core"),
        ("F0 at the core", found, "measured" if record.is_measured else "estimated"),
    )
    page.text(record.why)
    page.table(
        ["sensor", "measures", "peak", "F0", "of it in cooling", "readings", "left out"],
        [
            [each.readings.column, each.role, f"{each.peak_c:.1f} °C",
             f"{each.lethality_min:.1f} min", f"{each.cooling_min:.1f} min",
             str(len(each.readings.time_s)), str(len(each.readings.left_out))]
            for each in record.channels
        ],
    )  # fmt: skip
    if record.by_model is not None:
        page.rows(
            ("if heat creeps", _band(record.by_model.by_conduction), "conduction alone"),
            ("if vapor moves", _band(record.by_model.by_vapor), "open or narrow pores"),
            (f"grain {record.by_model.grain_state}", _band(record.by_model.by_state), "mixed"),
            title=f"F0 at the core of a {record.by_model.jar} jar, from the vessel",
        )
    return page.text("\n".join(f"- {each}" for each in record.cautions), title="Mind")


def _band(band: Band) -> str:
    if band.low == band.high:
        return f"{band.likely:.1f} min"
    return f"{band.likely:.1f} min ({band.low:.1f} to {band.high:.1f})"
