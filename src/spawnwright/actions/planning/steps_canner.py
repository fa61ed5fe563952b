"""Steps at the canner, and the inoculation."""

from __future__ import annotations

from datetime import datetime

from spawnwright.actions.planning import texts_canner as texts
from spawnwright.actions.planning.facts import VENT_MIN, Heat
from spawnwright.actions.planning.lots import DRAINED, DRAINED_COLD, STERILE, LotPlan, RunPlan
from spawnwright.actions.planning.said import Said
from spawnwright.actions.planning.steps import Steps, later
from spawnwright.model.planning import batch
from spawnwright.model.planning.schedule_problem import PlacedLot, Session
from spawnwright.records.plan import Step, StepKind, SterilizerRun


def add_runs(steps: Steps, lot: LotPlan, where: PlacedLot) -> list[SterilizerRun]:
    """Load to cool-down, for each run of a lot."""
    return [
        _add_run(steps, lot, where, run, steps.at(cell), is_cold)
        for run, cell, is_cold in zip(lot.runs, where.loads, where.cold, strict=True)
    ]


def _add_run(
    steps: Steps, lot: LotPlan, where: PlacedLot, run: RunPlan, load: datetime, is_cold: bool
) -> SterilizerRun:
    facts, heat, n = steps.facts, steps.solution.heat, run.number
    on = later(load, float(batch.LOAD_MIN))
    steps.add(
        f"load-{n}",
        "load",
        load,
        on,
        texts.load(facts, run, heat, is_cold=is_cold),
        soak=lot.number,
        run=n,
        after=(f"fill-{lot.number}", f"unload-{n - 1}"),
        latest=_load_latest(steps, lot, where, is_cold=is_cold),
        amounts={"jars": float(run.jars), "water_l": water_l(heat)},
    )
    begin, before = on, f"load-{n}"
    for kind, minutes, said, amounts in _parts(steps):
        step = steps.add(
            f"{kind.replace('_', '-')}-{n}",
            kind,
            begin,
            later(begin, minutes),
            said,
            soak=lot.number,
            run=n,
            after=(before,),
            amounts=amounts,
        )
        begin, before = step.until, step.key
    _add_cooling(steps, lot, run, begin)
    return SterilizerRun(steps.local(on), run.jars, run.controls, heat.hold_min, steps.local(begin))


def _parts(steps: Steps) -> tuple[tuple[StepKind, float, Said, dict[str, float]], ...]:
    facts, heat = steps.facts, steps.solution.heat
    gauge = {"hold_min": heat.hold_min, "gauge_kpa": facts.wish.kit.gauge_pa / 1000}
    venting = float(VENT_MIN) + heat.to_pressure_min
    return (
        ("heat_up", heat.to_jet_min, texts.heat_up(heat), {}),
        ("vent", venting, texts.vent(heat), {"vent_min": float(VENT_MIN)}),
        ("hold", heat.hold_min, texts.hold(facts, heat), gauge),
        ("pressure_drop", heat.drop_min, texts.pressure_drop(heat), {}),
    )


def _add_cooling(steps: Steps, lot: LotPlan, run: RunPlan, zero: datetime) -> None:
    heat, n = steps.solution.heat, run.number
    if heat.is_warm_opened:
        steps.add(
            f"unload-{n}",
            "unload",
            zero,
            later(zero, float(batch.OPEN_MIN + batch.UNLOAD_MIN)),
            texts.unload(),
            soak=lot.number,
            run=n,
            after=(f"pressure-drop-{n}",),
            amounts={"jars": float(run.jars)},
        )
    cool = later(zero, heat.cool_min)
    steps.add(
        f"cool-down-{n}",
        "cool_down",
        zero,
        cool,
        texts.cool_down(steps.facts, heat, cool),
        is_attended=False,
        soak=lot.number,
        run=n,
        after=(f"pressure-drop-{n}",),
        amounts={"core_c": heat.answer.handling_c},
    )


def water_l(heat: Heat) -> float:
    """Water to put into the canner: enough for 19 of 20 runs, no more than it takes [L]."""
    return min(heat.answer.water_needed_kg.high, heat.answer.water_room_kg)


def _load_latest(steps: Steps, lot: LotPlan, where: PlacedLot, *, is_cold: bool) -> datetime:
    since = steps.at(where.cook, lot.cooking.until_drained_min)
    if lot.state == "drained" and lot.since is not None:
        since = lot.since
    most = DRAINED_COLD if is_cold or lot.is_cold else DRAINED
    return later(since, most.total_seconds() / 60 - batch.LOAD_MIN)


def add_inoculation(steps: Steps, number: int, session: Session, jars_before: int) -> Step:
    """One inoculation of the jars of one or more runs, or of jars that were sterile before."""
    facts, plan = steps.facts, steps.solution.layout
    runs = [run for run in plan.runs if max(1, session.first) <= run.number <= session.last]
    groups = [(run, run.jars - run.controls) for run in runs]
    ends = [later(steps.made[f"hold-{run.number}"].until, 0) + STERILE for run in runs]
    since = facts.wish.under_way.sterile_since
    if session.first == 0 and since is not None:
        groups.insert(0, (RunPlan(0, plan.sterile, 0), plan.sterile))
        ends.append(later(since, 0) + STERILE)
    length = batch.to_five(batch.INOCULATE_MIN + session.jars * batch.INOCULATE_JAR_MIN)
    begin, latest = steps.at(session.at), later(min(ends), -length)
    is_shut = bool(runs) and not steps.solution.heat.is_warm_opened
    dose_ml = facts.wish.culture.dose_m3 * 1e6
    return steps.add(
        f"inoculate-{number}",
        "inoculate",
        begin,
        later(begin, length),
        texts.inoculate(facts, groups, latest, needs_opening=is_shut, jars_before=jars_before),
        run=session.last,
        after=("culture-test", *(f"cool-down-{run.number}" for run in runs)),
        latest=latest,
        amounts={
            "jars": float(session.jars),
            "dose_ml": dose_ml,
            "culture_ml": dose_ml * session.jars,
        },
    )
