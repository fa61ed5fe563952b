"""The whole job for an invented grower, by the same actions that anybody's wish goes through."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from spawnwright.actions.grain.hydrate import HydrateAnswer, HydrateQuestion, hydrate
from spawnwright.actions.growing.colonize import ColonizeAnswer
from spawnwright.actions.planning.facts import facts_of
from spawnwright.actions.planning.papers import check_places, write_papers
from spawnwright.actions.planning.plan import plan_from, read
from spawnwright.actions.sterilizing.readings import LethalityAnswer, lethality_of_log
from spawnwright.actions.sterilizing.sterilize_answer import SterilizeAnswer
from spawnwright.records.fill import Fill
from spawnwright.records.plan import Plan
from spawnwright.records.readings import ReadingChoices
from spawnwright.records.wish import Wish
from spawnwright.store.demo_files import lay_out

BATCH_SHEET, CALENDAR = "batch-sheet.pdf", "calendar.ics"


@dataclass(frozen=True)
class DemoAnswer:
    """Each action's answer to the scenario in the folder, and the files that were made."""

    wish: Wish
    changed: tuple[str, ...]
    """Scenario files that somebody has changed."""
    plan: Plan
    grain: HydrateAnswer | None
    """For the jars of the plan; none if there is no plan."""
    heat: SterilizeAnswer
    growth: ColonizeAnswer
    log: LethalityAnswer
    files: dict[str, Path]
    """The scenario's files and, if there is a plan, the sheet and the calendar."""


def demo(folder: Path, now: datetime) -> DemoAnswer:
    """Run the job for the scenario in a folder; an empty or new one gets the shipped scenario.

    Raises `BadFile` or another `Unusable` if a changed scenario cannot be used; then neither
    sheet nor calendar is written.
    """
    changed = lay_out(folder)
    wish = read(folder / "wish.toml", now)
    log = lethality_of_log(folder / "canner-run.csv", ReadingChoices(column="core_c"))
    facts = facts_of(wish)
    made = plan_from(facts)
    files = {
        "wish": folder / "wish.toml",
        "log": folder / "canner-run.csv",
        "notes": folder / "notes.md",
    }
    if made.feasible:
        files |= {"batch_sheet": folder / BATCH_SHEET, "calendar": folder / CALENDAR}
        papers = files["batch_sheet"], files["calendar"]
        check_places(*papers, wish=files["wish"])
        write_papers(made, wish, *papers)
    return DemoAnswer(
        wish=wish,
        changed=changed,
        plan=made,
        grain=hydrate(_grain_question(wish, facts.fill, made)) if made.feasible else None,
        heat=facts.heat.answer,
        growth=facts.growth,
        log=log,
        files=files,
    )


def _grain_question(wish: Wish, fill: Fill, made: Plan) -> HydrateQuestion:
    asked = HydrateQuestion(
        grain=wish.grain.grain,
        jar=wish.kit.jar,
        fill=fill,
        jars=made.jars_to_make + made.controls,
        water_c=wish.place.room_c,
        simmer_s=wish.grain.simmer_s or float(wish.grain.grain.simmer_time_s),
        target=wish.grain.target_moisture,
        dry_moisture=wish.grain.dry_moisture,
        gypsum=wish.grain.gypsum,
    )
    return asked if wish.grain.soak_s is None else replace(asked, soak_s=wish.grain.soak_s)
