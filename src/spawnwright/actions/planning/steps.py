"""Steps as they are made: a schedule becomes dated steps with their numbers, in local time."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from spawnwright.actions.planning import texts_grain as texts
from spawnwright.actions.planning.choose import Solution
from spawnwright.actions.planning.facts import Facts
from spawnwright.actions.planning.lots import CURE_CELLS, LotPlan
from spawnwright.actions.planning.said import Said
from spawnwright.model.grain.soak import COVER_M3_KG
from spawnwright.model.planning import batch
from spawnwright.model.planning.schedule_problem import Chore, PlacedLot
from spawnwright.records.plan import Step, StepKind


def later(when: datetime, minutes: float) -> datetime:
    """So many minutes later, or earlier, also across a change of the clocks [UTC]."""
    return when.astimezone(UTC) + timedelta(minutes=minutes)


@dataclass
class Steps:
    """The steps made so far, by key."""

    facts: Facts
    solution: Solution
    made: dict[str, Step] = field(default_factory=dict)

    def local(self, when: datetime) -> datetime:
        """In the time zone of the wish."""
        return when.astimezone(self.facts.wish.place.time_zone)

    def at(self, cell: int, minutes: float = 0.0) -> datetime:
        """The instant of a cell, so many minutes later [UTC]."""
        return self.solution.clock.at(cell, minutes)

    def add(
        self,
        key: str,
        kind: StepKind,
        begin: datetime,
        end: datetime,
        said: Said,
        *,
        is_attended: bool = True,
        soak: int | None = None,
        run: int | None = None,
        after: Iterable[str] = (),
        latest: datetime | None = None,
        amounts: dict[str, float] | None = None,
    ) -> Step:
        """Make a step and keep it; of `after` the keys that are in the plan."""
        step = Step(
            key=key,
            kind=kind,
            at=self.local(begin),
            until=self.local(end),
            title=said.title,
            detail=said.detail,
            cautions=said.cautions,
            is_attended=is_attended,
            soak=soak,
            run=run,
            after=tuple(each for each in after if each in self.made),
            latest=None if latest is None else self.local(max(latest, begin)),
            amounts=amounts or {},
        )
        self.made[key] = step
        return step


def add_before(steps: Steps) -> None:
    """Culture test, jars, lids."""
    facts, solution = steps.facts, steps.solution
    if solution.test is not None:
        first = steps.at(solution.placement.sessions[0].at)
        begin = steps.at(solution.test)
        steps.add(
            "culture-test",
            "culture_test",
            begin,
            later(begin, float(batch.TEST_MIN)),
            texts.culture_test(facts),
            latest=later(first, -7 * 24 * 60),
        )
    begun = solution.placement.chores
    for chore in sorted(solution.problem.chores, key=lambda each: begun[each.key]):
        _add_chore(steps, chore, steps.at(begun[chore.key]))


def _add_chore(steps: Steps, chore: Chore, begin: datetime) -> None:
    solution, pieces, is_lids = steps.solution, chore.pieces, chore.before_lids
    kind: StepKind = "make_lids" if is_lids else "wash_jars"
    fixed, each = (
        (batch.LIDS_MIN, batch.LID_MIN) if is_lids else (batch.WASH_MIN, batch.WASH_JAR_MIN)
    )
    length = batch.to_five(float(fixed + pieces * each))
    lot, where = solution.layout.lots[chore.lot], solution.placement.lots[chore.lot]
    fill = steps.at(where.cook, _until_fill(lot))
    wait = 15.0 * CURE_CELLS if is_lids else 0.0
    steps.add(
        chore.key,
        kind,
        begin,
        later(begin, length),
        texts.make_lids(pieces) if is_lids else texts.wash_jars(pieces),
        latest=later(fill, -length - wait),
        amounts={"lids" if is_lids else "jars": float(pieces)},
    )


def _until_fill(lot: LotPlan) -> float:
    work = lot.cooking
    return work.weigh_min if lot.state == "drained" else work.until_fill_min


def add_lot(steps: Steps, lot: LotPlan, where: PlacedLot) -> None:
    """Soak to fill."""
    if lot.state != "drained":
        _add_soak(steps, lot, where)
        _add_cooking(steps, lot, where)
    _add_filling(steps, lot, where)


def _add_soak(steps: Steps, lot: LotPlan, where: PlacedLot) -> None:
    facts, cook = steps.facts, steps.at(where.cook)
    begin, latest = lot.since, None
    if where.soak is not None:
        begin, stated = steps.at(where.soak), facts.wish.grain.soak_s
        least = facts.soak_min[0] + batch.SOAK_START_MIN if stated is None else stated / 60
        latest = later(cook, -least)
    assert begin is not None  # a lot without a placed soak is under way
    steps.add(
        f"soak-{lot.number}",
        "soak",
        begin,
        cook,
        texts.soak(facts, lot, cook, later(begin, facts.soak_min[1])),
        is_attended=False,
        soak=lot.number,
        latest=latest,
        amounts={
            "dry_grain_kg": lot.dry_kg,
            "water_l": lot.dry_kg * COVER_M3_KG * 1000,
            "hands_on_min": float(batch.SOAK_START_MIN) if where.soak is not None else 0.0,
        },
    )


def _add_cooking(steps: Steps, lot: LotPlan, where: PlacedLot) -> None:
    facts, work, number = steps.facts, lot.cooking, lot.number
    soak = steps.made[f"soak-{number}"]
    parts: tuple[tuple[StepKind, float, Said, dict[str, float]], ...] = (
        ("rinse", work.rinse_min, texts.rinse(lot), {}),
        (
            "simmer",
            work.simmer_min,
            texts.simmer(facts, lot),
            {
                "simmer_min": texts.simmer_minutes(facts),
                "portions": float(work.pot_portions),
            },
        ),
        ("drain", work.drain_min, texts.drain(lot), {}),
        (
            "surface_dry",
            work.surface_dry_min,
            texts.surface_dry(facts, lot),
            {"rounds": float(work.tray_rounds)},
        ),
    )
    begin, before = steps.at(where.cook), soak.key
    for kind, minutes, said, amounts in parts:
        step = steps.add(
            f"{kind.replace('_', '-')}-{number}",
            kind,
            begin,
            later(begin, minutes),
            said,
            soak=number,
            after=(before,),
            latest=later(soak.at, facts.soak_min[1]) if kind == "rinse" else None,
            amounts=amounts,
        )
        begin, before = step.until, step.key


def _add_filling(steps: Steps, lot: LotPlan, where: PlacedLot) -> None:
    facts, work, number = steps.facts, lot.cooking, lot.number
    fill = steps.at(where.cook, _until_fill(lot))
    gypsum_g = 1000 * lot.dry_kg * facts.wish.grain.gypsum
    low_kg, high_kg = texts.wet_band_kg(facts, lot)
    steps.add(
        f"weigh-{number}",
        "weigh",
        later(fill, -work.weigh_min),
        fill,
        texts.weigh(facts, lot, gypsum_g),
        soak=number,
        after=(f"surface-dry-{number}",),
        amounts={
            "wet_grain_kg": lot.wet_kg,
            "wet_grain_low_kg": low_kg,
            "wet_grain_high_kg": high_kg,
            "portions": float(work.scale_portions),
            "gypsum_g": gypsum_g,
        },
    )
    filled = facts.one_jar.filled
    chores = (each for each in steps.solution.placement.chores if _is_before(steps, each, fill))
    steps.add(
        f"fill-{number}",
        "fill",
        fill,
        later(fill, work.fill_min),
        texts.fill(facts, lot, is_cold=any(where.cold)),
        soak=number,
        after=(f"weigh-{number}", *chores),
        amounts={
            "jars": float(lot.jars),
            "jar_grain_kg": filled.grain_kg,
            "depth_cm": filled.depth_m * 100,
            "below_rim_cm": filled.below_rim_m * 100,
        },
    )


def _is_before(steps: Steps, key: str, when: datetime) -> bool:
    return steps.made[key].until.astimezone(UTC) <= when.astimezone(UTC)
