"""What a plan is made from: the other actions' answers for this wish, each asked once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from math import ceil, floor, inf, isfinite
from typing import Any

from spawnwright.actions.grain.hydrate import Quantities, dry_grain_for_jars
from spawnwright.actions.growing.colonize import ColonizeAnswer, ColonizeQuestion, colonize
from spawnwright.actions.planning.losses import Losses, losses_of
from spawnwright.actions.sterilizing.sterilize import sterilize
from spawnwright.actions.sterilizing.sterilize_answer import SterilizeAnswer
from spawnwright.errors import Contradiction
from spawnwright.model.canner.loading import jars_per_load
from spawnwright.model.grain.sprouting import soak_limits_s
from spawnwright.model.grain.swelling import wet_bulk_density_kg_m3
from spawnwright.model.growing.yields import SpawnNeeded, spawn_for_fresh_kg
from spawnwright.model.heat.air import standard_pressure_pa
from spawnwright.model.planning.batch import OPEN_MIN, UNLOAD_MIN, to_five
from spawnwright.records.fill import Fill
from spawnwright.records.species import Species
from spawnwright.records.sterilizing import SterilizeQuestion
from spawnwright.records.wish import Wish
from spawnwright.sources import COMMON, Constant

VENT_MIN = Constant(10, "min", source=COMMON, where="vent in a steady jet, every time")
SHUT_LEAST_MIN = Constant(480, "min", source=COMMON, where="overnight shut: at least 8 h")
COLD_C = Constant(5, "°C", source=COMMON, where="a refrigerator")
SHAKE_AT = 0.30
LONGEST_D = 365.0


@lru_cache(maxsize=64)
def _colonized(question: ColonizeQuestion) -> ColonizeAnswer:
    """Asked once for wishes that differ elsewhere."""
    return colonize(question)


@lru_cache(maxsize=64)
def _sterilized(question: SterilizeQuestion) -> SterilizeAnswer:
    """Asked once for wishes that differ elsewhere."""
    return sterilize(question)


@dataclass(frozen=True)
class Heat:
    """One run in whole minutes, each enough for 19 of 20 such runs."""

    answer: SterilizeAnswer
    to_jet_min: float
    """Heat on to the steady jet."""
    to_pressure_min: float
    """Vent closed to pressure reached."""
    hold_min: float
    drop_min: float
    """Steam off to zero pressure."""
    cool_min: float
    """Zero pressure to a core that may be inoculated."""
    is_warm_opened: bool

    @property
    def to_zero_min(self) -> float:
        """Heat on to zero pressure: somebody is there [min]."""
        return self.to_jet_min + VENT_MIN + self.to_pressure_min + self.hold_min + self.drop_min

    @property
    def presence_min(self) -> float:
        """Heat on until nobody is needed any more [min]."""
        return self.to_zero_min + (OPEN_MIN + UNLOAD_MIN) * self.is_warm_opened


@dataclass(frozen=True)
class Spawn:
    """What some kilograms of fresh mushrooms take."""

    jars: int
    """Good jars, for the likely crop."""
    needed: SpawnNeeded


@dataclass(frozen=True)
class Facts:
    """Everything that is known before anything is placed."""

    wish: Wish
    per_load: int
    """Jars that go into the canner at once."""
    wants_latest: bool = True
    """Whether a schedule for a date begins as late as it can; else as early as it can."""

    def for_wish(self, wish: Wish) -> Facts:
        """The facts of a wish that differs, to see what a limit forbids."""
        per_load = jars_per_load(wish.kit.canner, wish.kit.jar).jars
        return Facts(wish, per_load, wants_latest=False)

    @cached_property
    def clocks(self) -> dict[float, Any]:
        """Grids of free hours that were made already, by the days that they span."""
        return {}

    @cached_property
    def fill(self) -> Fill:
        """How full the jars are."""
        kit = self.wish.kit
        if kit.fill_kg is not None:
            return Fill("mass", kit.fill_kg)
        return Fill("share", kit.fill)

    @cached_property
    def one_jar(self) -> Quantities:
        """Grain and water for one jar, at the target moisture."""
        grain = self.wish.grain
        return dry_grain_for_jars(
            grain.grain,
            self.wish.kit.jar,
            self.fill,
            1,
            target=grain.target_moisture,
            dry_moisture=grain.dry_moisture,
        )

    @cached_property
    def growth(self) -> ColonizeAnswer:
        """Days on the shelf, with the shake that the plan asks for."""
        species = self.wish.goal.species
        question = ColonizeQuestion(
            species,
            self.wish.kit.jar,
            self.fill,
            self.wish.grain.grain,
            self.wish.place.shelf_c,
            dose_m3=self.wish.culture.dose_m3,
            shake_at=shake_share(species),
        )
        return _colonized(question)

    @cached_property
    def ready_percentiles(self) -> tuple[float, ...]:
        """Days to ready at 1, 2 … 99 percent; what takes longer than a year counts as never."""
        return tuple(days if days <= LONGEST_D else inf for days in self.growth.ready_percentiles)

    @property
    def grows(self) -> bool:
        """Whether it is likelier than not that the jars are ever ready."""
        return isfinite(self.ready_percentiles[49])

    @cached_property
    def spawn(self) -> Spawn | None:
        """Spawn for the fresh mushrooms that are wished for; none if jars are."""
        fresh_kg = self.wish.goal.fresh_kg
        if fresh_kg is None:
            return None
        needed = spawn_for_fresh_kg(self.wish.goal.species, fresh_kg)
        return Spawn(max(1, ceil(needed.spawn_kg.likely / self.one_jar.wet_kg - 1e-9)), needed)

    @property
    def wanted(self) -> int:
        """Good jars that the wish comes to [-]."""
        if self.spawn is not None:
            return self.spawn.jars
        return self.wish.goal.jars or 0

    @cached_property
    def heat(self) -> Heat:
        """A full load at room temperature."""
        return self._heat(self.wish.place.room_c)

    @cached_property
    def heat_from_cold(self) -> Heat:
        """A full load out of the refrigerator."""
        return self._heat(min(float(COLD_C), self.wish.place.room_c))

    def _heat(self, start_c: float) -> Heat:
        kit, place, grain = self.wish.kit, self.wish.place, self.wish.grain
        question = SterilizeQuestion(
            jar=kit.jar,
            fill=self.fill,
            jars=self.per_load,
            grain=grain.grain,
            canner=kit.canner,
            gauge_pa=kit.gauge_pa,
            ambient_pa=float(standard_pressure_pa(place.elevation_m)),
            moisture=grain.target_moisture,
            start=start_c,
            burner_w=kit.burner_w,
            room_c=place.room_c,
            if_none="longest",
            wants_causes=False,
        )
        return heat_of(_sterilized(question), is_warm_opened=kit.cooling == "opened warm")

    @cached_property
    def losses(self) -> Losses:
        """Shares lost by jar, run and culture."""
        return losses_of(self.wish, self.heat.answer.chance_of_survivor)

    @cached_property
    def soak_min(self) -> tuple[float, float]:
        """Shortest and longest soak in water as warm as the room [min]."""
        least, most = soak_limits_s(self.wish.place.room_c)
        return least / 60, most / 60


def facts_of(wish: Wish) -> Facts:
    """Settle what the wish leaves to be computed, and refuse what cannot be.

    Raises `Contradiction` if the jars do not fit into the canner or the stated soak is too long
    for the warmth.
    """
    wish = settled(wish)
    kit = wish.kit
    load = jars_per_load(kit.canner, kit.jar)
    if load.jars < 1:
        raise Contradiction(
            f"Jars of the kind {kit.jar.key} do not fit into the canner {kit.canner.key}, "
            f"{kit.canner.inside_height_m * 100:.0f} cm high and "
            f"{kit.canner.inner_diameter_m * 100:.0f} cm wide inside; take a smaller jar."
        )
    facts = Facts(wish, load.jars)
    stated = wish.grain.soak_s
    if stated is not None and stated / 60 > facts.soak_min[1] + 1:
        raise Contradiction(
            f"A soak of {stated / 3600:.3g} h in a room of {wish.place.room_c:g} °C sprouts or "
            f"sours: at most {facts.soak_min[1] / 60:.3g} h; soak shorter, or in a cooler place."
        )
    return facts


def settled(wish: Wish) -> Wish:
    """The wish with its fill as a share of the jar, also where grams were given."""
    if wish.kit.fill_kg is None:
        return wish
    density = float(wet_bulk_density_kg_m3(wish.grain.grain, wish.grain.target_moisture))
    share = wish.kit.fill_kg / density / float(wish.kit.jar.nominal_volume_m3)
    return replace(wish, kit=replace(wish.kit, fill=share))


def shake_share(species: Species) -> float:
    """The share colonized at which jars of a species are shaken [-]."""
    if species.shake_from <= SHAKE_AT <= species.shake_until:
        return SHAKE_AT
    return (species.shake_from + species.shake_until) / 2


def heat_of(answer: SterilizeAnswer, *, is_warm_opened: bool) -> Heat:
    """A run's minutes, rounded up to five; the slow end of each band, so that time is enough."""
    jet = to_five(answer.to_jet_s.high / 60)
    pressure = to_five(max(5.0, answer.come_up_s.high / 60 - answer.to_jet_s.high / 60 - VENT_MIN))
    drop = to_five(max(10.0, answer.to_zero_s.high / 60))
    cool_s = answer.opened_warm_s if is_warm_opened else answer.overnight_s
    cool = to_five(cool_s.high / 60) - drop
    return Heat(
        answer=answer,
        to_jet_min=jet,
        to_pressure_min=pressure,
        hold_min=_hold_min(answer),
        drop_min=drop,
        cool_min=max(cool, 30.0) if is_warm_opened else max(cool, float(SHUT_LEAST_MIN)),
        is_warm_opened=is_warm_opened,
    )


def _hold_min(answer: SterilizeAnswer) -> float:
    """The hold in whole five minutes: no shorter than is enough, no longer than water lasts [min].

    A hold that is not enough is the longest that the water allows, so it is rounded down.
    """
    if answer.hold_is == "longest":
        return max(5.0 * floor(answer.hold_s / 300), 1.0)
    return to_five(answer.hold_s / 60)
