"""The whole job for an invented grower, and where its files are."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

import click

from spawnwright.cli import answer
from spawnwright.records.band import Band
from spawnwright.units import feet, psi, written_mass

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from spawnwright.actions.demo.whole_job import DemoAnswer


@answer.command("demo", example="demo --folder spawnwright-demo")
@click.option(
    "--folder",
    type=click.Path(file_okay=False),
    default="spawnwright-demo",
    show_default=True,
    help="Where the scenario and what is made of it are laid; made if need be.",
)
@click.option(
    "--book",
    "with_book",
    is_flag=True,
    help="Fill a record book there with a season of the grower, trouble included.",
)
def command(folder: str, with_book: bool) -> answer.Answer:
    """The whole job for an invented grower, and where its files are.

    Lays an invented scenario into a folder: a wish, a logged run of the canner, notes. Then goes
    through the job with it: grain, canner, shelf, the dated plan as a page for the wall and as a
    calendar, and what the logged run was worth. Change a line of the wish there and run it again:
    scenario files that are already in the folder are kept, sheet and calendar are made anew.

    With --book, a record book is filled as well, from `season.toml` there: every kind of record,
    ending today. It is the folder's own book, made anew each time, never yours.
    """
    from datetime import datetime
    from pathlib import Path

    from spawnwright.actions.demo.whole_job import demo

    now = datetime.now().astimezone()
    found = demo(Path(folder), now)
    page = _text(answer.Answer(_values(found), exit_code=0 if found.plan.feasible else 1), found)
    return _with_book(page, Path(folder), now) if with_book else page


def _with_book(page: answer.Answer, folder: Path, now: datetime) -> answer.Answer:
    from spawnwright.actions.demo.season import fill_season

    filled = fill_season(folder, now, answer.note)
    page.values["book"] = {
        "file": str(filled.file),
        "steps": filled.steps,
        "records": filled.records,
    }
    kinds = [(kind, str(count)) for kind, count in filled.records.items()]
    page.table(("kind of record", "in the book"), kinds, title="A season in the record book")
    return page.text(
        f"See it: `./run serve --file {filled.file}`. What a bad lot would mean: "
        f'`./run recall "Blue syringe 3" --file {filled.file}`.'
    )


def _values(found: DemoAnswer) -> dict[str, Any]:
    grain, heat, growth, plan = found.grain, found.heat, found.growth, found.plan
    recommended = heat.recommended_hold_s
    return {
        "files": {name: str(path) for name, path in found.files.items()},
        "changed": found.changed,
        "plan": {
            "feasible": plan.feasible,
            "binding": plan.binding,
            "jars_to_make": plan.jars_to_make,
            "controls": plan.controls,
            "dry_grain_kg": plan.dry_grain_kg,
            "water_l": plan.water_l,
            "sterilizer_runs": plan.sterilizer_runs,
            "steps": len(plan.steps),
            "ready": plan.ready,
            "chance_of_meeting": plan.chance_of_meeting,
        },
        "hydrate": grain and {
            "dry_kg": grain.quantities.dry_kg,
            "jar_grain_kg": grain.quantities.filled.grain_kg,
            "moisture_at_fill": grain.moisture_at_fill,
            "target_reached": grain.target_reached,
        },
        "sterilize": {
            "recommended_hold_min": None if recommended is None else recommended / 60,
            "coldest_f0_total_min": heat.coldest_f0_total_min,
            "chance_of_survivor": heat.chance_of_survivor,
            "water_needed_kg": heat.water_needed_kg,
        },
        "colonize": {
            "days_to_colonized": growth.days_to_colonized,
            "shake_day": growth.shake_day,
            "ready_day": growth.ready_day,
        },
        "lethality": {"lethality_min": found.log.lethality_min, "peak_c": found.log.peak_c},
    }  # fmt: skip


def _text(page: answer.Answer, found: DemoAnswer) -> answer.Answer:
    goal, kit, place = found.wish.goal, found.wish.kit, found.wish.place
    amount = f"{goal.jars} jars" if goal.jars else f"fresh mushrooms, {goal.fresh_kg:g} kg"
    page.text(
        f"An invented grower wants {amount} of {goal.species.common} in {kit.jar.key} jars, with "
        f"a canner of the kind {kit.canner.key} at {psi(kit.gauge_pa):.0f} psi, "
        f"{place.elevation_m:.0f} m ({feet(place.elevation_m):.0f} ft) up, and a shelf at "
        f"{place.shelf_c:.0f} °C. Nothing here is anybody's real kitchen."
    )
    if found.changed:
        page.text(f"Changed by you, and kept: {', '.join(found.changed)}.")
    _add_plan(page, found)
    _add_batch(page, found)
    page.rows(*((name.replace("_", " "), str(path), "") for name, path in found.files.items()),
              title="Files")  # fmt: skip
    return page.text(
        f"Every step: `./run plan {found.files['wish']}`. What the logged run did: "
        f"`./run lethality {found.files['log']} --column core_c`."
    )


def _add_plan(page: answer.Answer, found: DemoAnswer) -> None:
    plan = found.plan
    if plan.ready is None:
        page.table(["what stands in the way", "what would free it"],
                   [[each.limit, each.would_free] for each in plan.binding],
                   title="This wish cannot be met as it stands")  # fmt: skip
        return
    control = f", and {plan.controls} for control" if plan.controls else ""
    zone = found.wish.place.time_zone
    runs = [
        (f"canner, run {number}", f"{each.at.astimezone(zone):%a %d %b %H:%M}",
         f"heat on, {each.jars} jars, {each.hold_min:.0f} min at pressure")
        for number, each in enumerate(plan.sterilizer_runs, 1)
    ]  # fmt: skip
    days = [each.astimezone(zone) for each in (plan.ready.low, plan.ready.likely, plan.ready.high)]
    page.rows(
        ("jars", f"{plan.jars_to_make}", f"to have {plan.jars_wanted} good ones{control}"),
        *runs,
        ("ready", f"{days[1]:%a %d %b}", f"{days[0]:%d %b} to {days[2]:%d %b}"),
        ("chance", f"{plan.chance_of_meeting:.0%}", "of enough good jars"),
        title=f"The plan: {len(plan.steps)} steps",
    )


def _add_batch(page: answer.Answer, found: DemoAnswer) -> None:
    grain, heat, growth = found.grain, found.heat, found.growth
    rows: list[answer.Row] = []
    if grain is not None:
        rows += [
            ("dry grain", written_mass(grain.quantities.dry_kg),
             f"{written_mass(grain.quantities.filled.grain_kg)} of wet grain in a jar"),
            ("moisture at filling", _shares(grain.moisture_at_fill),
             f"target reached: {grain.target_reached}"),
        ]  # fmt: skip
    hold = heat.recommended_hold_s
    rows += [
        ("least hold", "no hold is enough" if hold is None else f"{hold / 60:.0f} min",
         f"chance of a survivor in a jar {heat.chance_of_survivor:.2g}; the plan rounds up"),
        ("water in the canner", f"{heat.water_needed_kg.high:.1f} L", "by weight, for the run"),
        ("shake", _days(growth.shake_day), "after inoculation"),
        ("ready", _days(growth.ready_day), "white inside the kernels too"),
        ("the logged run", f"{found.log.lethality_min:.1f} min",
         f"F0 in the middle of its jar; peak {found.log.peak_c:.1f} °C"),
    ]  # fmt: skip
    page.rows(*rows, title="The batch")


def _shares(band: Band) -> str:
    return f"{band.low:.0%} to {band.high:.0%}"


def _days(band: Band) -> str:
    low, likely, high = (f"{day:.0f}" if isfinite(day) else "never" for day in
                         (band.low, band.likely, band.high))  # fmt: skip
    return f"day {low} to {high}, likely {likely}"
