"""What home measurements are worth: the bands of the usual run, by the book and as measured."""

from __future__ import annotations

from dataclasses import dataclass, replace

from spawnwright.actions.grain.hydrate import HydrateQuestion, hydrate
from spawnwright.actions.own_kit.usual import by_the_book, usual_run
from spawnwright.actions.sterilizing.sterilize import sterilize
from spawnwright.model.sterilizing.hold import customary_hold_s
from spawnwright.records.band import Band
from spawnwright.records.kit import Kit
from spawnwright.records.sterilizing import GrainState, SterilizeQuestion


@dataclass(frozen=True)
class BandChange:
    """One number of the usual run."""

    name: str
    """As in JSON, with its unit as suffix."""
    said: str
    unit: str
    before: Band
    after: Band

    @property
    def narrower(self) -> float | None:
        """Share of the width that is gone; below 0 if it is wider now; none without a width."""
        if self.before.width <= 0:
            return None
        return 1 - self.after.width / self.before.width


@dataclass(frozen=True)
class KitBands:
    """The usual run before and after measuring, at one hold."""

    usual: SterilizeQuestion
    hold_s: float
    changes: tuple[BandChange, ...]
    recommended_before_s: float | None
    recommended_after_s: float | None


def kit_bands(kit: Kit, grain_state: GrainState = "unknown") -> KitBands | None:
    """Bands of the usual run with the book's values and with the kit's; none if they are alike.

    Parameters
    ----------
    kit : Kit
        With what was measured [-].
    grain_state : str
        Of the filled grain, as in `sterilize` [-].

    Notes
    -----
    Both runs are worked out from the same draws, so that a band changes by what was measured and
    by nothing else. F0 and water are for the customary hold of this jar, its upper mark.
    """
    asked = usual_run(kit, grain_state)
    book = by_the_book(kit, asked)
    if book == asked:
        return None
    hold = customary_hold_s(float(asked.jar.nominal_volume_m3))[1]
    after = sterilize(replace(asked, hold_s=hold))
    before = sterilize(replace(book, hold_s=hold))
    grain_before, grain_after = (
        hydrate(HydrateQuestion(each.kernels, each.jar, each.fill, jars=float(each.jars)))
        for each in (book, asked)
    )
    per_min, per_kwh = 1 / 60, 1 / 3.6e6
    changes = (
        BandChange("come_up_min", "burner on to pressure", "min",
                   before.come_up_s.times(per_min), after.come_up_s.times(per_min)),
        BandChange("water_needed_kg", "water to put in", "L",
                   before.water_needed_kg, after.water_needed_kg),
        BandChange("energy_used_kwh", "gas or electricity", "kWh",
                   before.energy_j.times(per_kwh), after.energy_j.times(per_kwh)),
        BandChange("pressure_drop_min", "pressure falls to zero", "min",
                   before.to_zero_s.times(per_min), after.to_zero_s.times(per_min)),
        BandChange("f0_total_min", "F0 in the core, cooling counted", "min",
                   before.f0_total_min, after.f0_total_min),
        BandChange("coldest_f0_total_min", "F0 at the coldest point", "min",
                   before.coldest_f0_total_min, after.coldest_f0_total_min),
        BandChange("jar_grain_kg", "wet grain in a jar", "kg",
                   grain_before.jar_grain_kg, grain_after.jar_grain_kg),
        BandChange("jars_per_jar", "jars that one full jar of dry grain fills", "",
                   grain_before.jars_per_jar, grain_after.jars_per_jar),
    )  # fmt: skip
    return KitBands(asked, hold, changes, before.recommended_hold_s, after.recommended_hold_s)
