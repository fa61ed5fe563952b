"""Work out mass and water from one moisture to another."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.errors import OutOfRange
from spawnwright.model.grain.moisture import dry_basis, mass_at_moisture_kg, water_taken_up_kg


@dataclass(frozen=True)
class MoistureChange:
    """The same dry matter at another moisture."""

    final_kg: float
    water_kg: float
    """Taken up; negative when drying."""
    dry_matter_kg: float
    before_db: float
    after_db: float
    """Water to dry matter [kg/kg]."""


def change_moisture(mass_kg: float, before: float, after: float) -> MoistureChange:
    """Mass and water when grain of one moisture comes to another, nothing leached.

    Moistures are shares of the whole. Raises `OutOfRange` for a mass that is not above zero and
    for a moisture that no grain has.
    """
    if not 0 < mass_kg < 1e9:
        raise OutOfRange("Mass", mass_kg, 0, 1e9, "kg")
    return MoistureChange(
        final_kg=float(mass_at_moisture_kg(mass_kg, before, after)),
        water_kg=float(water_taken_up_kg(mass_kg, before, after)),
        dry_matter_kg=mass_kg * (1 - before),
        before_db=float(dry_basis(before)),
        after_db=float(dry_basis(after)),
    )
