"""The numbers of a step as a page says them, in the units of the kit."""

from __future__ import annotations

from collections.abc import Mapping

from spawnwright import units
from spawnwright.web import words

_KINDS: dict[str, tuple[str, str]] = {
    "dry_grain_kg": ("dry grain", "kg"), "wet_grain_kg": ("drained grain", "kg"),
    "jar_grain_kg": ("in each jar", "kg"), "gypsum_g": ("gypsum", "g"), "water_l": ("water", "L"),
    "hold_min": ("hold", "min"), "simmer_min": ("simmer", "min"), "vent_min": ("vent", "min"),
    "gauge_kpa": ("pressure", "psi"), "jars": ("jars", ""), "lids": ("lids", ""),
    "dose_ml": ("for each jar", "mL"), "culture_ml": ("culture in all", "mL"),
    "depth_cm": ("deep in the jar", "cm"), "below_rim_cm": ("below the rim", "cm"),
    "core_c": ("at most in the core", "C"), "share": ("white", "share"),
}  # fmt: skip


def said_amounts(amounts: Mapping[str, float], system: str) -> list[tuple[str, str]]:
    """Each number of a step with its name: ("dry grain", "1.99 kg").

    Parameters
    ----------
    amounts : mapping
        By name with unit suffix, as a plan gives them.
    system : str
        "metric" or "us".
    """
    found = [
        (label, _said(float(amounts[name]), unit, system))
        for name, (label, unit) in _KINDS.items()
        if name in amounts
    ]
    if "wet_grain_low_kg" in amounts:
        low, high = amounts["wet_grain_low_kg"], amounts["wet_grain_high_kg"]
        found.append(("is good", f"{words.mass(low, system)} to {words.mass(high, system)}"))
    return found


def _said(value: float, unit: str, system: str) -> str:
    if unit == "kg":
        return words.mass(value, system)
    if unit == "C":
        return words.temperature(value, system)
    if unit == "share":
        return words.percent(value)
    if unit == "psi":
        return f"{units.psi(value * 1000):.3g} psi"
    if unit == "L" and system == "us":
        return f"{value * 1e-3 / units.parse('1 qt', 'volume'):.1f} qt"
    if unit == "cm" and system == "us":
        return f"{value / 2.54:.1f} in"
    if unit == "min":
        return units.written_duration(value * 60)
    digits = 0 if unit in ("", "g") else 1
    return f"{value:.{digits}f} {unit}".strip()
