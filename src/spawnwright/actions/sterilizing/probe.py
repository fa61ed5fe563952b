"""A probe run: from the readings of one probe in one jar to how heat moves in that grain."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from spawnwright.actions.sterilizing.sterilize import sterilize
from spawnwright.actions.sterilizing.sterilize_load import assumed_canner, load_of
from spawnwright.errors import Contradiction, Unusable
from spawnwright.model.probe.emulator import emulator
from spawnwright.model.probe.fit import Fitter, Posterior
from spawnwright.model.probe.noise import Binned
from spawnwright.model.probe.outcome import Weighed, carried, interval, penetration_of
from spawnwright.model.probe.prior import way_chances
from spawnwright.model.probe.setting import WAYS, MeasuredVessel, ProbeSetting, bed_of, come_up_s
from spawnwright.model.probe.verdict import misfits
from spawnwright.model.scenarios import Floats
from spawnwright.records.probe import (
    BeforeAfter,
    ProbeAnswer,
    ProbeQuestion,
    ProbeTransport,
)
from spawnwright.records.readings import ReadingChoices, Readings
from spawnwright.records.sterilizing import SterilizeQuestion
from spawnwright.store.files import check_writable, write_whole
from spawnwright.store.logger_file import read_logger_file
from spawnwright.store.probe_file import write_probe
from spawnwright.units import PSI_PA

_FEWEST, _LEAST_RISE = 8, 0.3
_ABOVE_STEAM_K, _COOLED_K = 4.0, 3.0
_HOTTEST_START_C = 90.0
_FIRST_S = 30.0  # before it, nothing has happened
_MOST_JARS = 7
_SEED = 20
CANNER_CAUTION = (
    "In a canner under pressure only a self-contained logger rated for at least 140 °C and for the "
    "pressure, or a feed-through made by the canner's maker. Never a wire under the gasket, never "
    "a drilled lid: steam at pressure finds the gap, and the gasket may blow out."
)
ATMOSPHERIC_CAUTION = (
    "A kitchen thermocouple goes through the filter hole in steam at the pressure of the air only: "
    "jar on the rack above the water, not immersed; lid of the canner loose, its vent open, no "
    "weight on it. Steam burns: place the probe while everything is cold. This run sterilizes "
    "nothing; the jar still needs its whole run."
)
CAUTIONS = {"canner": (CANNER_CAUTION,), "atmospheric": (ATMOSPHERIC_CAUTION, CANNER_CAUTION)}
GENERAL_CAUTION = (
    "One probe in one jar: other batches, wetter or looser, move heat differently. Growth medium, "
    "not food; a fitted curve is no proof that a jar is sterile. Follow the canner's manual."
)


@dataclass(frozen=True)
class ProbeLog:
    """Where a probe's readings are, and which column is the steam, if one is."""

    path: Path
    choices: ReadingChoices
    vessel_column: str | None = None


def probe(
    log: ProbeLog, question: ProbeQuestion, *, real_gauge_pa: float | None = None
) -> tuple[ProbeAnswer, Readings]:
    """What a probe run says about how heat moves, and how much it narrows a real run's band.

    Parameters
    ----------
    log : ProbeLog
        The readings [-].
    question : ProbeQuestion
        Jar, probe and vessel [-].
    real_gauge_pa : float, optional
        Of the real run; none is that of the probe run, or 15 psi [Pa].

    Returns
    -------
    tuple
        The answer, and what was read [-].

    Raises
    ------
    BadFile
        If the file cannot be read.
    Unusable
        If its readings are too few, too cold, or hotter than the steam can be.
    """
    readings = read_logger_file(log.path, log.choices)
    vessel = _vessel(log, question)
    time_s, temperature_c = _heating(readings, question)
    setting = _setting(question, time_s, temperature_c, vessel)
    _refuse_what_cannot_be(setting, time_s, temperature_c)
    counted = time_s >= _FIRST_S
    bins = Binned.of(time_s[counted], temperature_c[counted])
    posteriors = fit_both(setting, bins)
    weighed = Weighed.of(setting, posteriors)
    likelier = posteriors[weighed.likelier]
    wrong = tuple(misfits(setting, likelier))
    transport = replace(
        carried(setting, posteriors, weighed, fits=not wrong), readings=int(time_s.size)
    )
    real = None if wrong else before_and_after(question, transport, real_gauge_pa)
    return _answer(setting, bins, posteriors, weighed, transport, wrong, real), readings


def fit_both(setting: ProbeSetting, bins: Binned, seed: int = _SEED) -> dict[str, Posterior]:
    """The posterior by each way in which heat may move."""
    return {
        way: Fitter(emulator(setting, way), bins.time_s, bins.counts).fit(
            bins.temperature_c, np.random.default_rng(seed)
        )
        for way in WAYS
    }


def before_and_after(
    question: ProbeQuestion, transport: ProbeTransport, gauge_pa: float | None
) -> BeforeAfter:
    """The band of F0 and the recommended hold of a real run, without and with the probe run."""
    if gauge_pa is None:
        gauge_pa = question.gauge_pa if question.way == "canner" else 15 * PSI_PA
    asked = SterilizeQuestion(
        jar=question.jar, fill=question.fill, jars=1, grain=question.grain,
        canner=assumed_canner(question.jar, _MOST_JARS), gauge_pa=gauge_pa,
        ambient_pa=question.ambient_pa, is_ambient_measured=question.is_ambient_measured,
        moisture=question.moisture, grain_state=question.grain_state, effort="quick",
        wants_causes=False,
    )  # fmt: skip
    asked = replace(asked, jars=max(1, min(_MOST_JARS, load_of(asked).jars)))
    before = sterilize(asked)
    after = sterilize(replace(asked, probe=transport, hold_s=before.hold_s))
    return BeforeAfter(
        before.f0_total_min, after.f0_total_min, before.recommended_hold_s,
        after.recommended_hold_s, before.hold_s, gauge_pa, asked.jars,
    )  # fmt: skip


def keep(found: ProbeAnswer, path: Path, log: Path) -> None:
    """Keep what a probe run found in a file that `sterilize --probe` takes.

    Raises
    ------
    Unusable
        If the model does not fit; nothing is written then.
    BadFile
        If the file cannot be written, or is the log.
    """
    if not found.fits:
        raise Unusable(
            "The model does not fit these readings, so there is nothing to keep: "
            f"{found.misfits[0]}. Run the command without --save to see the whole answer."
        )
    check_writable(path, log)
    write_probe(found.transport, path)


def write_pdf(found: ProbeAnswer, pdf: Path, log: Path) -> None:
    """Write the run as a page, whole or not at all; never over the log."""
    from spawnwright.paper.batch_sheet import usual_paper
    from spawnwright.paper.probe_page import probe_pdf

    check_writable(pdf, log)
    write_whole(pdf, probe_pdf(found, log.name, usual_paper()))


def _vessel(log: ProbeLog, question: ProbeQuestion) -> MeasuredVessel | None:
    if log.vessel_column is None:
        return None
    read = read_logger_file(log.path, replace(log.choices, column=log.vessel_column))
    kept = _until(read.time_s, question.heat_off_s)
    return MeasuredVessel(read.time_s[kept], read.temperature_c[kept])


def _until(time_s: Floats, heat_off_s: float | None) -> Floats:
    return np.asarray(time_s <= (np.inf if heat_off_s is None else heat_off_s))


def _heating(readings: Readings, question: ProbeQuestion) -> tuple[Floats, Floats]:
    """The readings until the heat was turned off."""
    kept = _until(readings.time_s, question.heat_off_s)
    time_s, temperature_c = readings.time_s[kept], readings.temperature_c[kept]
    if time_s.size < _FEWEST:
        raise Unusable(
            f"Only {time_s.size} readings lie before the heat was turned off; a fit needs "
            f"{_FEWEST} or more, one a minute or so until the core is close to the steam."
        )
    fallen = float(temperature_c.max() - temperature_c[-1])
    if question.heat_off_s is None and fallen > _COOLED_K:
        raise Contradiction(
            f"The readings fall by {fallen:.1f} K from their peak at the end, so the cooling is in "
            "the file; say with --heat-off when the burner was turned off, counted from the first "
            'reading, such as --heat-off "2 h".'
        )
    return time_s, temperature_c


def _setting(
    question: ProbeQuestion,
    time_s: Floats,
    temperature_c: Floats,
    vessel: MeasuredVessel | None,
) -> ProbeSetting:
    start = question.start_c
    if start is None:
        start = float(np.median(temperature_c[:3]))
    if start > _HOTTEST_START_C:
        raise Unusable(
            f"The grain starts at {start:.1f} °C; a probe run has to begin below "
            f"{_HOTTEST_START_C:.0f} °C, or there is nothing left to learn from. Begin to log when "
            "the burner is lit."
        )
    return ProbeSetting.of(question, start, float(time_s[-1]), vessel)


def _refuse_what_cannot_be(setting: ProbeSetting, time_s: Floats, temperature_c: Floats) -> None:
    question, steam, peak = setting.question, setting.steam_c, float(temperature_c.max())
    if peak > steam + _ABOVE_STEAM_K:
        other = "--way canner with its --gauge" if question.way == "atmospheric" else "--gauge"
        raise Contradiction(
            f"The readings reach {peak:.1f} °C, and the steam there has {steam:.1f} °C; check "
            f"{other}, --elevation, and the --unit of the file."
        )
    risen = (peak - setting.start_c) / (steam - setting.start_c)
    if risen < _LEAST_RISE:
        raise Unusable(
            f"The core came only {max(risen, 0.0):.0%} of the way from {setting.start_c:.0f} to "
            f"{steam:.0f} °C; go on until it is past {_LEAST_RISE:.0%}, better past 90%."
        )
    if come_up_s(question) >= time_s[-1] and setting.vessel is None:
        raise Contradiction(
            f"The readings end {time_s[-1] / 60:.0f} min after the first, before full steam "
            f"({come_up_s(question) / 60:.0f} min); check --steam-after and --pressure-after."
        )
    if question.probe_depth_m is not None:
        values = {each.name: np.array([each.likely]) for each in setting.inputs}
        depth = float(np.asarray(bed_of(setting, values).depth_m)[0])
        if not 0 < question.probe_depth_m < depth:
            raise Contradiction(
                f"--probe-depth is {100 * question.probe_depth_m:.1f} cm below the top of the "
                f"grain, and the grain is about {100 * depth:.1f} cm deep."
            )


def _answer(
    setting: ProbeSetting,
    bins: Binned,
    posteriors: dict[str, Posterior],
    weighed: Weighed,
    transport: ProbeTransport,
    wrong: tuple[str, ...],
    real: BeforeAfter | None,
) -> ProbeAnswer:
    question, best = setting.question, posteriors[weighed.likelier]
    creeping, wet = posteriors["conduction"].values, posteriors["porous bed"].values
    alpha = np.exp(creeping["diffusivity"])
    capacity = np.asarray(bed_of(setting, creeping).volumetric_heat_capacity_j_m3k)
    found = penetration_of(setting, best)
    return ProbeAnswer(
        question=question,
        transport=transport,
        diffusivity_m2_s=interval(alpha) if question.way == "canner" else None,
        resting_conductivity_w_mk=interval(alpha * capacity),
        conductivity_w_mk=interval(np.exp(wet["conductivity"])),
        pore_factor=interval(np.exp(wet["pore_factor"])),
        chance_before=way_chances(question)[0],
        likelier=weighed.likelier,
        fh_min=interval(found.fh_min),
        j=interval(found.j),
        probe_off_m=interval(best.values["probe_height_m"]),
        misfits=wrong,
        rms_k=float(np.sqrt(np.mean(best.residual_k**2))),
        offset_k=best.offset_k,
        time_s=tuple(bins.time_s.tolist()),
        measured_c=tuple(bins.temperature_c.tolist()),
        fitted_c=tuple(best.curve_c.tolist()),
        residual_k=tuple(best.residual_k.tolist()),
        steam_c=setting.steam_c,
        effective_draws=best.effective_draws,
        real_run=real,
        cautions=(*CAUTIONS[question.way], GENERAL_CAUTION),
        notes=_notes(question, setting),
    )


def _notes(question: ProbeQuestion, setting: ProbeSetting) -> tuple[str, ...]:
    found = []
    if setting.vessel is None and question.way == "atmospheric" and question.steam_after_s is None:
        found.append(
            "Nobody said when the steady jet came, so 15 min give or take 4 (one sd) is taken; "
            "--steam-after, or a second sensor with --vessel-column, narrows the answer."
        )
    if setting.vessel is None and question.way == "canner" and question.pressure_after_s is None:
        found.append(
            "Nobody said when pressure was reached, so 30 min give or take 4 (one sd) is taken; "
            "--pressure-after, or a second sensor with --vessel-column, narrows the answer."
        )
    return tuple(found)
