"""What if: the hold against elevation, jar size, fill, start and air left inside."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from spawnwright.cli import answer
from spawnwright.cli.kit_defaults import fill_from_kit, kit_option
from spawnwright.cli.options import (
    FillOption,
    Listed,
    Quantity,
    Share,
    outside_air_options,
)
from spawnwright.cli.sterilize import StartOption

if TYPE_CHECKING:
    from spawnwright.records.sterilizing import SterilizeQuestion
    from spawnwright.records.what_if import WhatIf, WhatIfBlock, WhatIfRow


@answer.command("what-if", example="what-if --grain-state pours --vary fill")
@click.option("--jar", type=Listed("jars"), help="As in `./run jars`. Left out: quart.")
@click.option("--fill", type=FillOption(), help='Share, "3 cm below the rim", grams. Left out: 70%')
@click.option("--jars", type=click.IntRange(1, 1000), help="In the load. Left out: what fits.")
@click.option("--grain", type=Listed("grains"), help="As in `./run grains`. Left out: rye.")
@click.option("--moisture", type=Share(), help="Water in the grain, of its wet mass.")
@click.option(
    "--grain-state",
    type=click.Choice(("pours", "sticks", "smears", "unknown")),
    default="unknown",
    show_default=True,
    help="What the filled grain does in the hand.",
)
@click.option("--start", type=StartOption(), help='"20 C", cold, warm, hot-packed. Left out: cold.')
@click.option("--gauge", type=Quantity("gauge pressure"), help="Left out: the usual 15 psi.")
@outside_air_options
@click.option("--hold", type=Quantity("duration"), help="For F0 and water. Left out: recommended.")
@click.option("--canner", type=Listed("canners"), help="As in `./run canners`.")
@click.option("--burner", type=Quantity("power"), help="Full power of the burner.")
@click.option(
    "--hob",
    type=click.Choice(("gas", "electric", "induction", "unknown")),
    default="unknown",
    show_default=True,
    help="How much of its heat reaches the pot depends on this.",
)
@click.option("--room", type=Quantity("temperature"), default="22 C", show_default=True,
              help="Where the canner cools.")  # fmt: skip
@click.option("--air-retained", type=Share(), help="Share of the air left in.")
@click.option("--target", type=Share(), default="1%", show_default=True,
              help="Chance of a survivor in a jar that holds are to reach.")  # fmt: skip
@click.option(
    "--vary",
    type=click.Choice(("elevation", "jar", "fill", "start", "air")),
    multiple=True,
    help="Only this; may be given more than once. Left out: all five.",
)
@click.option("--pdf", type=click.Path(dir_okay=False), help="Write the table as a page as well.")
@kit_option
def command(pdf: str | None, vary: tuple[str, ...], **asked: Any) -> answer.Answer:
    """What the hold would be elsewhere, in other jars, fuller, from colder, with air left inside.

    One run stands in the middle: your own kit's, or what the options say; whatever neither knows
    is as usual. Then one thing at a time is different. For each: the recommended hold, or what
    would do where no hold whose water fits is long enough; what F0 comes to, in the core and at
    the coldest point, cooling counted, if all are held as long as the run in the middle; come-up;
    water to put in. Customary minutes stand beside, for jars of that size at 15 psi.

    It takes some ten seconds. Rows are worked out from fewer scenarios than `sterilize` takes,
    all from the same draws.
    """
    from spawnwright.actions.sterilizing.what_if import refused_rows, what_if, write_pdf

    fill_from_kit(asked, with_habits=True)
    if pdf is not None:
        from spawnwright.actions.sterilizing.what_if import check_pdf_place

        check_pdf_place(Path(pdf))
    question = _question(asked)
    bar = click.progressbar(length=1, label="Working out the runs", file=sys.stderr)
    with bar:

        def progress(done: int, wanted: int) -> None:
            bar.length = wanted
            bar.update(done - bar.pos)

        found = what_if(question, progress, vary)
    for each in refused_rows(found):
        answer.note(each)
    if pdf is not None:
        write_pdf(found, Path(pdf))
        answer.note(f"Written: {pdf}")
    return _page(found)


def _question(asked: dict[str, Any]) -> SterilizeQuestion:
    from spawnwright.actions.own_kit.usual import load_as_usual
    from spawnwright.actions.steam import outside_air

    ways = [asked[name] for name in ("elevation", "ambient", "boils_at")]
    if ways == [None, None, None]:
        answer.note("No elevation is known; sea level is taken (--elevation).")
        ways[0] = 0.0
    ambient, given = outside_air(*ways)
    return load_as_usual(
        jar=asked["jar"],
        fill=asked["fill"],
        jars=asked["jars"],
        grain=asked["grain"],
        canner=asked["canner"],
        gauge_pa=asked["gauge"],
        ambient_pa=ambient,
        is_ambient_measured=given != "elevation",
        moisture=asked["moisture"],
        grain_state=asked["grain_state"],
        start=asked["start"] or "cold",
        hold_s=asked["hold"],
        burner_w=asked["burner"],
        pot_w=asked["pot"],
        hob=asked["hob"],
        room_c=asked["room"],
        air_retained=asked["air_retained"],
        target=asked["target"],
    )


def _page(found: WhatIf) -> answer.Answer:
    from spawnwright.units import written_duration

    page = answer.Answer(
        {
            "run": found.run,
            "hold_min": found.hold_s / 60,
            "hold_is": found.hold_is,
            "target": found.target,
            "grain_state": found.grain_state,
            **{block.name: [_values(row) for row in block.rows] for block in found.blocks},
            "notes": found.notes,
            "cautions": found.cautions,
        }
    )
    page.text(
        f"{found.run}; grain: {found.grain_state}. F0 and water are for a hold of "
        f"{written_duration(found.hold_s)} in every row, {found.hold_is}; the column hold says "
        f"what brings the chance of a survivor to {100 * found.target:g}%. A star is your own run."
    )
    _table(page, found.blocks)
    page.text("\n".join(found.notes))
    return page.text("\n".join(found.cautions), title="Before you light the burner")


def _values(row: WhatIfRow) -> dict[str, Any]:
    per_min = 1 / 60
    return {
        "value": row.value,
        "said": row.said,
        "is_own": row.is_own,
        "jars": row.jars,
        "recommended_hold_min": (
            None if row.recommended_hold_s is None else row.recommended_hold_s * per_min
        ),
        "none_because": row.none_because,
        "longest_hold_min": row.longest_hold_s * per_min,
        "customary_hold_min": {
            "low": row.customary_low_s * per_min, "high": row.customary_high_s * per_min,
        },
        "f0_total_min": row.f0_total_min,
        "coldest_f0_total_min": row.coldest_f0_total_min,
        "come_up_min": None if row.come_up_s is None else row.come_up_s.times(per_min),
        "water_needed_kg": row.water_needed_kg,
        "refused": row.refused,
    }  # fmt: skip


def _table(page: answer.Answer, blocks: Sequence[WhatIfBlock]) -> None:
    from spawnwright.records.what_if import HEADS, cells

    empty = [""] * (len(HEADS) - 1)
    rows: list[list[str]] = []
    for block in blocks:
        rows += [["", *empty]] * bool(rows) + [[block.said.upper(), *empty]]
        rows += [cells(row) for row in block.rows]
    page.table(HEADS, rows)
