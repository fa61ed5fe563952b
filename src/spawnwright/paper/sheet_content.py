"""What stands on a batch sheet, in order; how it is drawn is `sheet_layout`'s business."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise

from spawnwright import units
from spawnwright.paper.bench_words import words_of
from spawnwright.paper.dates import clock, day, day_of_year, is_of_days
from spawnwright.paper.merged import merged
from spawnwright.records.jar_codes import jar_codes, run_letter
from spawnwright.records.plan import Plan, Step
from spawnwright.records.wish import Wish

GRAIN = ("soak", "rinse", "simmer", "drain", "surface_dry", "weigh", "fill")
CANNER = ("load", "heat_up", "vent", "hold", "pressure_drop", "unload", "cool_down")
SHORT = {
    "soak": "soak", "rinse": "rinse", "simmer": "simmer", "drain": "drain", "surface_dry": "dry",
    "weigh": "weigh", "fill": "fill", "load": "load", "heat_up": "heat", "vent": "vent",
    "hold": "hold", "pressure_drop": "off",
    "unload": "out", "cool_down": "cool", "inoculate": "inocul.",
}  # fmt: skip
_COLUMNED = (*GRAIN, *CANNER, "inoculate")
_MOST_COLUMNS = 4
# What is written down by hand at a step, and its unit.
NOTED = {
    "soak": ("in at", ""), "simmer": ("for", "min"), "surface_dry": ("dry at", ""),
    "weigh": ("weighs", "kg"), "fill": ("a jar", "g"), "load": ("water", "L"),
    "heat_up": ("on at", ""), "vent": ("jet at", ""), "hold": ("from", "to"),
    "pressure_drop": ("zero at", ""), "unload": ("opened", ""),
    "cool_down": ("cold at", ""), "inoculate": ("grain", "°C"),
    "culture_test": ("result", ""),
}  # fmt: skip


@dataclass(frozen=True)
class Cell:
    """One step in its column: when, and what is written down there."""

    days: str
    hours: str
    latest: str
    noted: tuple[str, str]


@dataclass(frozen=True)
class Row:
    """What to do, and a cell for each column; none where a column has no such step."""

    title: str
    detail: str
    cautions: tuple[str, ...]
    cells: tuple[Cell | None, ...]


@dataclass(frozen=True)
class Section:
    """Rows that share columns: one for each soak, or run, or inoculation."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class Lines:
    """Times where runs are many: a line for each run, a column for each kind of step."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, tuple[Cell | None, ...]], ...]


@dataclass(frozen=True)
class Looks:
    """Days of looking, in the three ways that they can be printed, from roomy to short."""

    jars: tuple[str, ...]
    by_jar: tuple[tuple[str, frozenset[str]], ...]
    """For each day what it is called, and the jars that are looked at."""
    by_inoculation: tuple[tuple[str, tuple[str, ...]], ...]
    """For each inoculation what it is called with its jars, and its days."""
    days: str


@dataclass(frozen=True)
class Content:
    """A whole sheet."""

    title: str
    subtitle: str
    figures: tuple[tuple[str, str, str], ...]
    """Label, value and what belongs to it."""
    have_ready: str
    sections: tuple[Section, ...]
    lines: Lines | None
    """The times, where the sections have no room for them."""
    looks: Looks
    notes: tuple[str, ...]
    footer: str


def content_of(plan: Plan, wish: Wish, *, in_full: bool) -> Content:
    """The sheet for a feasible plan, with all words of its steps or with those of the bench."""
    plan = replace(plan, steps=tuple(_worded(step, wish, in_full) for step in plan.steps))
    species = wish.goal.species
    names = [*species.names, species.key]
    common = names[1] if len(species.names) > 1 else names[0]
    goal = wish.goal
    wanted = f"{plan.jars_wanted} good jars" if plan.jars_wanted != 1 else "1 good jar"
    if goal.fresh_kg is not None:
        wanted += f" for {units.written_mass(goal.fresh_kg)} of fresh mushrooms"
    by = f" by {day_of_year(_last_moment(goal.ready_by))}" if goal.ready_by else ""
    return Content(
        title=f"{common[:1].upper()}{common[1:]} grain spawn",
        subtitle=f"{names[0]} · {wanted} wanted{by}",
        figures=figures(plan, wish),
        have_ready=have_ready(plan, wish),
        sections=tuple(sections(plan)),
        lines=lines(plan) if is_dense(plan) else None,
        looks=looks(plan),
        notes=plan.notes,
        footer=(
            f"Planned {day_of_year(wish.now)}, {clock(wish.now)}; times of {wish.place.time_zone}. "
            f"{'' if in_full else 'Short: plan and calendar say more. '}"
            "The canner's manual and local rules come first. "
            "Never eat spawn; spoiled jars stay shut."
        ),
    )


def _worded(step: Step, wish: Wish, in_full: bool) -> Step:
    words = words_of(step, wish, in_full=in_full)
    return replace(step, detail=words.detail, cautions=words.cautions)


def figures(plan: Plan, wish: Wish) -> tuple[tuple[str, str, str], ...]:
    """The numbers of the batch, largest on the sheet."""
    kit, grain = wish.kit, wish.grain
    holds = sorted({round(run.hold_min) for run in plan.sterilizer_runs})
    runs = len(plan.sterilizer_runs)
    control = f" + {plan.controls} control{'s' if plan.controls > 1 else ''}"
    dose_ml = wish.culture.dose_m3 * 1e6
    gypsum_g = grain.gypsum * plan.dry_grain_kg * 1e3
    jar = kit.jar.names[0] if kit.jar.key[:1].isdigit() and kit.jar.names else kit.jar.key
    psi = f"{units.psi(kit.gauge_pa):.3g} psi ({kit.gauge_pa / 1e3:.0f} kPa)"
    found = [
        ("Jars", f"{plan.jars_to_make}{control if plan.controls else ''}",
         f"{jar}, {kit.fill:.0%} full"),
        ("Dry grain", units.written_mass(plan.dry_grain_kg),
         f"{grain.grain.key}" + (f"; {gypsum_g:.0f} g gypsum" if gypsum_g >= 0.5 else "")),
        ("Water", f"{plan.water_l:.1f} L", "the grain takes up"),
        ("Culture", f"{dose_ml * plan.jars_to_make:.3g} mL", f"{dose_ml:.3g} mL a jar"),
    ]  # fmt: skip
    if runs:
        minutes = f"{holds[0]}" if len(holds) == 1 else f"{holds[0]}–{holds[-1]}"
        runs_said = f"{runs} runs" if runs > 1 else "1 run"
        found.insert(3, ("Canner", f"{runs_said}, {minutes} min", f"{psi}, {_elevation(wish)}"))
    found.append(("Chance", f"{plan.chance_of_meeting:.0%}", f"{wish.goal.chance:.0%} wanted"))
    if plan.ready:
        low, high = (day(end).split(" ", 1)[1] for end in (plan.ready.low, plan.ready.high))
        found.append(("Ready, likely", day(plan.ready.likely), f"{low} to {high}"))
    return tuple(found)


def _elevation(wish: Wish) -> str:
    return f"{wish.place.elevation_m:.0f} m up"


def _last_moment(by: datetime) -> datetime:
    """The day that a date-only `ready_by` meant: midnight belongs to the day before."""
    return by - timedelta(microseconds=1) if (by.hour, by.minute, by.second) == (0, 0, 0) else by


def have_ready(plan: Plan, wish: Wish) -> str:
    """What lies on the bench before the first step."""
    kit = wish.kit
    jars = sum(run.jars for run in plan.sterilizer_runs) or plan.jars_to_make
    return ", ".join(
        (
            f"{jars} jars without a chip", f"{jars} lids with filter and port, cured",
            "foil", "marker", f"pot of {kit.pot_m3 * 1e3:.3g} L", "colander",
            f"{kit.trays} tray{'s' if kit.trays != 1 else ''}",
            f"scale to {units.written_mass(kit.scale_max_kg)}", "paper towel", "thermometer",
            "clock with alarm", "rack and heat-proof gloves", "70 % alcohol and wipes",
            "syringes, needles, flame", "place without draught",
        )
    ) + "."  # fmt: skip


def is_dense(plan: Plan) -> bool:
    """Whether soaks or runs are too many for a column each."""
    return (
        max((max(step.soak or 0, step.run or 0) for step in plan.steps), default=0) > _MOST_COLUMNS
    )


def sections(plan: Plan) -> Iterable[Section]:
    """The steps in the order of the work; without cells where a line for each run has them."""
    by_place: dict[str, list[Step]] = {}
    for step in plan.steps:
        by_place.setdefault(_place(step.kind), []).append(step)
    dense = is_dense(plan)
    if before := by_place.get("before"):
        yield _listed("Before", before)
    for place, title, called in (
        ("grain", "Grain", "soak"), ("canner", "Canner", "run"),
        ("inoculation", "Inoculation", "run"),
    ):  # fmt: skip
        if steps := by_place.get(place):
            section = _columned(title, called, steps)
            yield _without_cells(section) if dense else section
    if after := by_place.get("after"):
        yield _listed("On the shelf and after", after)


def _place(kind: str) -> str:
    if kind in GRAIN:
        return "grain"
    if kind in CANNER:
        return "canner"
    if kind in ("culture_test", "wash_jars", "make_lids"):
        return "before"
    return {"inoculate": "inoculation", "look": "look"}.get(kind, "after")


def _listed(title: str, steps: Sequence[Step]) -> Section:
    """Steps that come once, one under another; those that say the same share a row."""
    alike: dict[tuple[str, ...], list[Step]] = {}
    for step in steps:
        alike.setdefault((step.kind, step.title, step.detail), []).append(step)
    rows = []
    for group in alike.values():
        cells = [_cell(step) for step in group]
        together = Cell(
            ", ".join(dict.fromkeys(f"{each.days} {each.hours}".strip() for each in cells)),
            "", "", cells[0].noted,
        )  # fmt: skip
        cell = cells[0] if len(group) == 1 else together
        rows.append(Row(group[0].title, group[0].detail, group[0].cautions, (cell,)))
    return Section(title, ("",), tuple(rows))


def _columned(title: str, called: str, steps: Sequence[Step]) -> Section:
    """Steps that come again, each kind a row, each soak or run a column."""
    columns = sorted({_column(step) for step in steps})
    rows = []
    for kind in _COLUMNED:
        of_kind = [step for step in steps if step.kind == kind]
        while of_kind:  # more than one round only if a soak or run has a kind of step twice
            firsts: dict[int, Step] = {}
            for step in of_kind:
                firsts.setdefault(_column(step), step)
            rows.append(_row(firsts, columns))
            of_kind = [step for step in of_kind if step not in firsts.values()]
    names: tuple[str, ...] = ("",)
    if len(columns) > 1:
        names = tuple(_head(called, before, n) for before, n in pairwise((0, *columns)))
    return Section(title, names, tuple(rows))


def _head(called: str, before: int, number: int) -> str:
    """Such as "soak 2" or "run B", and "runs A–C" for an inoculation of several runs."""
    if called == "soak":
        return f"{called} {number}"
    if number - before > 1:
        return f"{called}s {run_letter(before + 1)}–{run_letter(number)}"
    return f"{called} {run_letter(number)}"


def _column(step: Step) -> int:
    return (step.soak if step.kind in GRAIN else step.run) or 0


def _without_cells(section: Section) -> Section:
    return replace(section, columns=(), rows=tuple(replace(r, cells=()) for r in section.rows))


def lines(plan: Plan) -> Lines:
    """A line for each run, with the soak that fills it and the inoculation that follows it.

    A soak stands on the line of the first run after its jars are filled; one that finds that
    line taken has a line of its own.
    """
    by_line: dict[float, dict[str, Step]] = {}
    heat_on = {}
    for step in plan.steps:
        if step.kind in (*CANNER, "inoculate"):
            by_line.setdefault(_column(step), {}).setdefault(step.kind, step)
        if step.kind == "heat_up":
            heat_on[_column(step)] = step.at
    for soak in sorted({_column(step) for step in plan.steps if step.kind in GRAIN}):
        of_soak: dict[str, Step] = {
            s.kind: s for s in plan.steps if s.kind in GRAIN and _column(s) == soak
        }
        end = max(step.until for step in of_soak.values())
        run: float = next((run for run, at in sorted(heat_on.items()) if at >= end), len(heat_on))
        while set(by_line.setdefault(run, {})) & set(of_soak):
            run += 0.01
        by_line[run] |= of_soak
    kinds = [kind for kind in _COLUMNED if any(kind in steps for steps in by_line.values())]
    return Lines(
        tuple(SHORT[kind] for kind in kinds),
        tuple(
            (
                f"run {run_letter(int(number))}" if number == int(number) else "",
                tuple(_short_cell(steps.get(kind)) for kind in kinds),
            )
            for number, steps in sorted(by_line.items())
        ),
    )


def _short_cell(step: Step | None) -> Cell | None:
    if step is None:
        return None
    return Cell(day(step.at).split(" ", 1)[1], clock(step.at), "", ("", ""))


def _row(steps: dict[int, Step], columns: Sequence[int]) -> Row:
    there = [number for number in columns if number in steps]
    names = [str(number) for number in there]
    cautions = dict.fromkeys(each for number in there for each in steps[number].cautions)
    return Row(
        merged([steps[number].title for number in there], names),
        merged([steps[number].detail for number in there], names),
        tuple(cautions),
        tuple(_cell(steps[number]) if number in steps else None for number in columns),
    )


def _cell(step: Step) -> Cell:
    noted = NOTED.get(step.kind, ("", ""))
    at, until = step.at, step.until
    if is_of_days(step):
        days = day(at) if at.date() == until.date() else f"{day(at)} to {day(until)}"
        return Cell(days, "", "", noted)
    if at.date() != until.date():
        hours = f"{clock(at)}–{day(until).split()[0]} {clock(until)}"
    else:
        hours = f"{clock(at)}–{clock(until)}"
    latest = ""
    if step.latest and step.latest > at:
        on = "" if step.latest.date() == at.date() else f"{day(step.latest)} "
        latest = f"latest {on}{clock(step.latest)}"
    return Cell(day(at), hours, latest, noted)


def looks(plan: Plan) -> Looks:
    """Every day of looking, its days since the inoculations, and the jars on the shelf by then."""
    codes = {
        f"({code})" if is_control else code: run
        for code, (run, is_control) in jar_codes(plan).items()
    }
    inoculated = [step for step in plan.steps if step.kind == "inoculate"]
    look_steps = [step for step in plan.steps if step.kind == "look"]
    by_jar = []
    for date in dict.fromkeys(step.at.date() for step in look_steps):
        before = [step for step in inoculated if step.at.date() < date] or inoculated
        ages = dict.fromkeys((date - step.at.date()).days for step in before)
        last = max((step.run or 0 for step in before), default=0)
        on_shelf = frozenset(code for code, run in codes.items() if run <= last)
        aged = f", day {'/'.join(str(age) for age in ages)}" if len(ages) <= 3 else ""
        by_jar.append((day(date) + aged, on_shelf))
    by_inoculation = []
    for step in inoculated:
        dates = dict.fromkeys(
            each.at.date() for each in look_steps
            if each.at.date() > step.at.date() and each.run in (None, step.run)
        )  # fmt: skip
        days = [
            str(date.day) if before and before.month == date.month else day(date).split(" ", 1)[1]
            for before, date in pairwise((None, *dates))
            if date
        ]
        jars = f"{step.amounts['jars']:.0f} jars" if "jars" in step.amounts else "jars"
        by_inoculation.append((f"{day(step.at)}, {jars}", tuple(days)))
    all_days = ", ".join(dict.fromkeys(day(step.at) for step in look_steps))
    return Looks(tuple(codes), tuple(by_jar), tuple(by_inoculation), all_days)
