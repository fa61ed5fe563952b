"""The record of a logged run: every channel, the core's lethality, a verdict, a page to file."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np

from spawnwright.errors import Contradiction
from spawnwright.model.heat.core_of_vessel import core_f0_min
from spawnwright.model.ranges import check_range
from spawnwright.model.scenarios import band
from spawnwright.model.sterilizing import lethality as model
from spawnwright.model.watch.run_clock import TARGET_F0_MIN
from spawnwright.records.band import Band
from spawnwright.records.readings import ReadingChoices, Readings
from spawnwright.records.run_record import Channel, CoreByModel, Role, RunRecord, Verdict
from spawnwright.records.sterilizing import SterilizeQuestion
from spawnwright.store.files import check_writable, write_whole
from spawnwright.store.logger_file import read_channels

_NEAR_PEAK_C = 1.0
_COLD_START_C = 60.0
_WORDS: dict[Role, tuple[str, ...]] = {
    "core": ("core", "cent", "middle", "jar", "grain", "inside", "kern", "mitte"),
    "vessel": ("vessel", "canner", "steam", "chamber", "retort", "autoclave", "kessel"),
}
"""How a column's words begin that says what it measures."""
CAUTIONS = (
    "A good number is no proof: no sensor sees trapped air, a dry pocket, a colder jar, or what is "
    "drawn in through the filter while the jars cool.",
    "This is growth medium, not food preservation; discard swollen or foul jars unopened.",
)
PROBE_CAUTION = (
    "In a canner only a self-contained logger rated for 140 °C and the pressure, or a feed-through "
    "by the canner's maker: never a wire under the gasket or a drilled lid."
)


class Roles(NamedTuple):
    """Which columns measure what, where their names do not say."""

    core: str | None = None
    vessel: str | None = None


def run_record(
    path: Path,
    choices: ReadingChoices,
    roles: Roles,
    question: SterilizeQuestion | None,
    target_min: float = TARGET_F0_MIN,
) -> RunRecord:
    """What a logged run did.

    Parameters
    ----------
    path : Path
        The logger's file.
    choices : ReadingChoices
        What a person says about it; a chosen column is then the only one.
    roles : Roles
        Columns that measure the core and the vessel, by name.
    question : SterilizeQuestion or None
        The jar, for a core that is worked out from the vessel; its start is taken from the log
        where the log begins cold and `start` is "cold".
    target_min : float
        F0 wanted at the core [min].

    Raises
    ------
    BadFile
        If the file cannot be read.
    Contradiction
        If a role names no column, or nothing says what any column measures.
    """
    check_range("The lethality wanted", target_min, 0.0, 1000.0, "min")
    channels = tuple(_channel(each) for each in read_channels(path, choices))
    channels = _with_roles(channels, roles, path.name)
    core = next((each for each in channels if each.role == "core"), None)
    vessel = next((each for each in channels if each.role == "vessel"), None)
    by_model, chance, f0 = None, None, None
    if vessel is not None and question is not None:
        by_model, chance = _by_model(question, vessel.readings, target_min)
        f0 = by_model.by_state
    if core is not None:
        f0, chance = Band.exactly(core.lethality_min), float(core.lethality_min >= target_min)
    verdict, why = _verdict(core, by_model, f0, chance, target_min)
    return RunRecord(
        source=path.name,
        channels=channels,
        core_f0_min=f0,
        is_measured=core is not None,
        target_min=float(target_min),
        chance_of_target=chance,
        verdict=verdict,
        why=why,
        by_model=by_model,
        cautions=(*CAUTIONS, PROBE_CAUTION) if core is not None else CAUTIONS,
    )


def check_pdf_place(pdf: Path, log: Path) -> None:
    """Refuse a place for the page that cannot be written, before any work is done."""
    check_writable(pdf, log)


def write_pdf(record: RunRecord, pdf: Path) -> None:
    """Write the record as a page, whole or not at all."""
    from spawnwright.paper.batch_sheet import usual_paper
    from spawnwright.paper.run_record import run_record_pdf

    write_whole(pdf, run_record_pdf(record, usual_paper()))


def _channel(readings: Readings) -> Channel:
    time_s, temperature_c = readings.time_s, readings.temperature_c
    curve = model.lethality_curve_min(time_s, temperature_c)
    peak = float(np.max(temperature_c))
    last_hot = int(np.flatnonzero(temperature_c >= peak - _NEAR_PEAK_C)[-1])
    above = float(model.minutes_above(time_s, temperature_c, float(model.REFERENCE_C)))
    total = float(curve[-1])
    return Channel(readings, _role_of(readings.column), peak, above, total,
                   total - float(curve[last_hot]))  # fmt: skip


def _role_of(column: str) -> Role:
    said = set(re.findall(r"[^\W\d_]+", re.sub(r"(?<=[a-z])(?=[A-Z])", " ", column).casefold()))
    found: list[Role] = [
        role for role, words in _WORDS.items() if any(word.startswith(words) for word in said)
    ]
    return found[0] if len(found) == 1 else "other"


def _with_roles(channels: tuple[Channel, ...], roles: Roles, source: str) -> tuple[Channel, ...]:
    names = [each.readings.column for each in channels]
    wanted: tuple[tuple[Role, str | None], ...] = (("core", roles.core), ("vessel", roles.vessel))
    given = {}
    for role, name in wanted:
        if name is None:
            continue
        wanted_name = name.strip().casefold()
        fitting = [
            place
            for place, each in enumerate(names)
            if each.casefold() in (wanted_name, f"column {wanted_name}")
        ]
        if len(fitting) != 1:
            raise Contradiction(
                f"--{role} {name!r} is not one temperature of {source}; it has "
                f"{', '.join(map(repr, names))}."
            )
        if fitting[0] in given:
            raise Contradiction(f"{name!r} cannot be both --core and --vessel.")
        given[fitting[0]] = role
    placed = tuple(
        replace(each, role=given.get(place, "other" if each.role in given.values() else each.role))
        for place, each in enumerate(channels)
    )
    for role in ("core", "vessel"):
        several = [each.readings.column for each in placed if each.role == role]
        if len(several) > 1:
            raise Contradiction(
                f"{source} has {len(several)} columns that look like the {role} "
                f"({', '.join(map(repr, several))}); say which with --{role}."
            )
    if all(each.role == "other" for each in placed):
        raise Contradiction(
            f"Nothing says whether {', '.join(map(repr, names))} of {source} is the core of a jar "
            "or the vessel; say which with --core or --vessel and the column's name."
        )
    return placed


def _by_model(
    question: SterilizeQuestion, vessel: Readings, target_min: float
) -> tuple[CoreByModel, float]:
    first = float(vessel.temperature_c[0])
    if question.start == "cold" and 0.5 < first < _COLD_START_C:
        question = replace(question, start=first)
    found = core_f0_min(question, vessel.time_s, vessel.temperature_c)
    start = question.start if isinstance(question.start, float) else float("nan")
    by_model = CoreByModel(
        by_conduction=band(found.by_conduction),
        by_vapor=band(found.by_vapor),
        by_state=band(found.by_state),
        grain_state=question.grain_state,
        start_c=start,
        jar=question.jar.key,
    )
    return by_model, float(np.mean(found.by_state >= target_min))


def _verdict(
    core: Channel | None,
    by_model: CoreByModel | None,
    f0: Band | None,
    chance: float | None,
    target_min: float,
) -> tuple[Verdict, str]:
    if core is not None:
        is_enough = core.lethality_min >= target_min
        return ("enough" if is_enough else "too little"), (
            f"The sensor in the jar gathered F0 {core.lethality_min:.1f} min, "
            f"{core.cooling_min:.1f} of it in cooling; {target_min:g} min were wanted. It holds "
            "for the place where the sensor sat."
        )
    if f0 is None or chance is None or by_model is None:
        return "cannot tell", (
            "Only the vessel was logged. Say which jar stood in it, with --jar, --fill and "
            "--elevation, for an estimate of its core."
        )
    said = (
        f"From the vessel's temperature the core of a {by_model.jar} jar gathered F0 "
        f"{f0.likely:.1f} min ({f0.low:.1f} to {f0.high:.1f}); {target_min:g} min were wanted, "
        f"which {chance:.0%} of the scenarios have. A probe in one jar would tell."
    )
    if f0.low >= target_min:
        return "enough", said
    return ("too little" if f0.high < target_min else "cannot tell"), said
