"""What if: the hold against elevation, jar size, fill, start and air left inside."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from math import ceil
from pathlib import Path
from typing import Any

from spawnwright.actions.sterilizing.sterilize import SterilizeAnswer, sterilize
from spawnwright.errors import Contradiction, Unusable
from spawnwright.model.canner.loading import jars_per_load
from spawnwright.model.canner.run_inputs import MOISTURE, START_C
from spawnwright.model.grain.fill import share_of
from spawnwright.model.grain.swelling import wet_bulk_density_kg_m3
from spawnwright.model.heat.air import elevation_of_pressure_m, standard_pressure_pa
from spawnwright.records.fill import Fill
from spawnwright.records.jar import Jar
from spawnwright.records.sterilizing import SterilizeQuestion
from spawnwright.records.what_if import WhatIf, WhatIfBlock, WhatIfRow
from spawnwright.store import catalog
from spawnwright.store.files import check_writable, write_whole
from spawnwright.units import psi, written_duration

ELEVATIONS_M = (0.0, 500.0, 1000.0, 1500.0, 2000.0)
JARS = ("pint", "quart", "half-gallon")
FILLS = (0.50, 0.60, 0.70, 0.75)
STARTS_C = (5.0, 20.0, 45.0, 70.0)
AIR_RETAINED = (None, 0.05, 0.10, 0.25)
VARIED = {
    "elevation": "elevation_m", "jar": "jar", "fill": "fill", "start": "start_c",
    "air": "air_retained",
}  # fmt: skip
"""What may be varied, and the name of its block."""
_HOLD_IS = {"asked": "as asked", "recommended": "as recommended for your own, rounded up",
            "customary": "as is customary"}  # fmt: skip
_VENTED = 0.03  # of the air: more than a full jet of ten minutes leaves
_CAUTIONS = 3  # of the run's: what it is for, what it cannot see, whose word comes first
_STEP_S = 300.0  # a hold that is set by hand
_NEAR = {"elevation_m": 150.0, "fill": 0.021, "start_c": 2.6, "air_retained": 0.011}
"""Values of the row nearer to the run's own than this are left out beside it."""

WOBBLE = (
    "Worked out from 500 scenarios a row instead of 2,000: against the full sum of "
    "`./run sterilize` a hold comes out up to eight minutes longer, hardly shorter, and the lower "
    "end of F0 up to a sixth off (half-gallons: a quarter). One row against another is truer, for "
    "all are drawn alike."
)
CUSTOMARY = "Customary minutes at 15 psi are common practice, no source."


@dataclass(frozen=True)
class _Row:
    """A question to be answered, and how its row is headed."""

    said: str
    value: float | str | None
    question: SterilizeQuestion
    is_own: bool = False


def what_if(
    question: SterilizeQuestion,
    progress: Callable[[int, int], None] = lambda _done, _all: None,
    vary: Collection[str] = (),
) -> WhatIf:
    """The run, and the same with one thing different at a time.

    Parameters
    ----------
    question : SterilizeQuestion
        The run in the middle: jars of one kind, with grain [-].
    progress : callable
        Told how many runs of how many are worked out.
    vary : collection of str
        Which of `VARIED` to vary; all of them if it is empty.

    Raises
    ------
    Contradiction
        For bags, liquids and mixed loads.
    Unusable
        If the run itself cannot be made; a row that cannot says so in its place.
    """
    if question.bag is not None or question.also or question.contents != "grain":
        raise Contradiction("A what-if table is for jars of one kind, with grain.")
    question = replace(question, wants_causes=False)
    first = sterilize(replace(question, effort="full"))
    hold_s = first.hold_s
    if first.hold_is == "recommended":
        hold_s = min(_STEP_S * ceil(hold_s / _STEP_S), first.longest_hold_s)
    # Every row is solved at this hold, so that all are read between the same solved holds.
    question = replace(question, effort="quick", hold_s=hold_s)
    own = sterilize(question)
    chosen = {VARIED[each] for each in vary or VARIED}
    blocks = [block for block in _blocks(question) if block[0] in chosen]
    wanted = 2 + sum(not row.is_own for _, _, rows in blocks for row in rows)
    done, made = 2, []
    progress(done, wanted)
    for name, said, rows in blocks:
        block = []
        for row in rows:
            if not row.is_own:
                done += 1
            block.append(_answered(row, own))
            progress(done, wanted)
        made.append(WhatIfBlock(name, said, tuple(block)))
    return WhatIf(
        run=_said(question), hold_s=hold_s, hold_is=_HOLD_IS[first.hold_is],
        target=question.target, grain_state=question.grain_state, blocks=tuple(made),
        notes=(CUSTOMARY, WOBBLE), cautions=own.cautions[:_CAUTIONS],
    )  # fmt: skip


def _said(question: SterilizeQuestion) -> str:
    share = _share(question)
    start = question.start if isinstance(question.start, str) else f"{question.start:g} °C"
    return (
        f"{question.jars} {question.jar.key} jars of {question.kernels.key}, {100 * share:.0f} % "
        f"full, from {start}, {psi(question.gauge_pa):.3g} psi, canner {question.canner.key}"
    )


def _share(question: SterilizeQuestion) -> float:
    moisture = float(MOISTURE) if question.moisture is None else question.moisture
    density = float(wet_bulk_density_kg_m3(question.kernels, moisture))
    return share_of(question.jar, question.fill, density)


def _blocks(question: SterilizeQuestion) -> list[tuple[str, str, list[_Row]]]:
    """What is varied, each with the run's own value in its place."""
    elevation = float(elevation_of_pressure_m(question.ambient_pa))
    start = question.start
    start_c = float(START_C[start]) if isinstance(start, str) else start
    share = _share(question)
    return [
        ("elevation_m", "Elevation",
         _numbers(question, "elevation_m", ELEVATIONS_M, round(elevation, 1), _at_elevation)),
        ("jar", "Jar", _jars(question)),
        ("fill", "Fill", _numbers(question, "fill", FILLS, round(share, 4), _at_fill)),
        ("start_c", "Grain and water at the start",
         _numbers(question, "start_c", STARTS_C, start_c, _at_start)),
        ("air_retained", "Air left inside",
         _numbers(question, "air_retained", AIR_RETAINED, question.air_retained, _at_air)),
    ]  # fmt: skip


Vary = Callable[[SterilizeQuestion, Any], tuple[str, SterilizeQuestion]]


def _numbers(
    question: SterilizeQuestion, name: str, values: tuple[float | None, ...], own: float | None,
    vary: Vary,
) -> list[_Row]:  # fmt: skip
    far = [
        each for each in values
        if each != own and (each is None or own is None or abs(each - own) >= _NEAR[name])
    ]  # fmt: skip
    rows = []
    for value in sorted([*far, own], key=lambda each: -1.0 if each is None else each):
        said, changed = vary(question, value)
        is_own = value == own
        if is_own and name == "start_c" and isinstance(question.start, str):
            said = f"{question.start}, about {said}"
        rows.append(_Row(said, value, question if is_own else changed, is_own))
    return rows


def _at_elevation(question: SterilizeQuestion, value: float) -> tuple[str, SterilizeQuestion]:
    ambient = float(standard_pressure_pa(value))
    return f"{value:.0f} m", replace(question, ambient_pa=ambient, is_ambient_measured=False)


def _at_fill(question: SterilizeQuestion, value: float) -> tuple[str, SterilizeQuestion]:
    return f"{100 * value:.0f} %", replace(question, fill=Fill("share", value))


def _at_start(question: SterilizeQuestion, value: float) -> tuple[str, SterilizeQuestion]:
    return f"{value:.0f} °C", replace(question, start=value)


def _at_air(question: SterilizeQuestion, value: float | None) -> tuple[str, SterilizeQuestion]:
    said = "ten minutes of full jet" if value is None else f"{100 * value:.0f} % of it"
    return said, replace(question, air_retained=value)


def _jars(question: SterilizeQuestion) -> list[_Row]:
    """The customary sizes around the run's own jar; as many as before, or as many as fit."""
    own = question.jar
    rows = [_Row(own.key, own.key, question, is_own=True)]
    for name in JARS:
        jar = catalog.find(Jar, "jars", name)
        if abs(jar.nominal_volume_m3 / own.nominal_volume_m3 - 1) < 0.1:
            continue
        jars = min(question.jars, jars_per_load(question.canner, jar).jars) or question.jars
        fill = Fill("share", _share(question))
        rows.append(_Row(name, name, replace(question, jar=jar, jars=jars, fill=fill)))
    return sorted(rows, key=lambda row: float(row.question.jar.nominal_volume_m3))


def _answered(row: _Row, own: SterilizeAnswer) -> WhatIfRow:
    try:
        found = own if row.is_own else sterilize(row.question)
    except Unusable as problem:
        return WhatIfRow(row.said, row.value, row.is_own, row.question.jars, refused=str(problem))
    return WhatIfRow(
        said=row.said,
        value=row.value,
        is_own=row.is_own,
        jars=row.question.jars,
        recommended_hold_s=found.recommended_hold_s,
        none_because=_instead(row.question, found),
        longest_hold_s=found.longest_hold_s,
        customary_low_s=found.customary.low_s,
        customary_high_s=found.customary.high_s,
        f0_total_min=found.f0_total_min,
        coldest_f0_total_min=found.coldest_f0_total_min,
        come_up_s=found.come_up_s,
        water_needed_kg=found.water_needed_kg,
    )


def _instead(question: SterilizeQuestion, found: SterilizeAnswer) -> str:
    """What would do where no hold is long enough."""
    if found.recommended_hold_s is not None:
        return ""
    if (question.air_retained or 0.0) > _VENTED:
        return "vent ten minutes"
    if question.grain_state != "pours":
        return "dry the grain until it pours"
    return f"smaller jar; water for {written_duration(found.longest_hold_s)}"


def refused_rows(table: WhatIf) -> Iterator[str]:
    """Why each row that cannot be worked out cannot, once each."""
    seen = dict.fromkeys(row.refused for block in table.blocks for row in block.rows if row.refused)
    yield from seen


def check_pdf_place(pdf: Path) -> None:
    """Refuse a place for the page that cannot be written, before any work is done."""
    check_writable(pdf)


def write_pdf(table: WhatIf, pdf: Path) -> None:
    """Write the table as a page, whole or not at all."""
    from spawnwright.paper.batch_sheet import usual_paper
    from spawnwright.paper.what_if_page import what_if_pdf

    write_whole(pdf, what_if_pdf(table, usual_paper()))
