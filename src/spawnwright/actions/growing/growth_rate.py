"""How fast a species, or a strain of the grower's own, grows at a temperature."""

from __future__ import annotations

from dataclasses import dataclass, replace

from spawnwright.errors import Contradiction
from spawnwright.model.growing.growth import ctmi, rate_band, rate_inputs
from spawnwright.model.scenarios import Input
from spawnwright.records.band import Band
from spawnwright.records.species import Species
from spawnwright.sources import OWN, Constant


@dataclass(frozen=True)
class GrowthAnswer:
    """A rate and its band; zero outside the temperatures of growth."""

    rate_mm_per_day: float
    """From the likely numbers; the band's middle differs from it a little, being a median."""
    rate_band_mm_per_day: Band
    relative_rate: float
    """Over the best rate."""
    species: Species
    inputs: tuple[Input, ...]
    note: str


def growth_rate(
    species: Species | None,
    temperature_c: float,
    *,
    tmin_c: float | None = None,
    topt_c: float | None = None,
    tmax_c: float | None = None,
    best_mm_per_day: float | None = None,
    on_agar: bool = False,
) -> GrowthAnswer:
    """The rate at a temperature; numbers that are given replace the species' own, as known.

    Raises `Contradiction` if neither a species nor all four numbers are given, or if the numbers
    do not belong to one curve.
    """
    given = {
        "tmin_c": tmin_c,
        "topt_c": topt_c,
        "tmax_c": tmax_c,
        "rate_agar_mm_per_day" if on_agar else "rate_grain_mm_per_day": best_mm_per_day,
    }
    asked = _with_own(species, given)
    best = asked.rate_agar_mm_per_day if on_agar else asked.rate_grain_mm_per_day
    inputs = rate_inputs(asked, on_agar=on_agar)
    assert best is not None  # rate_inputs has refused a rate that is not known
    relative = float(ctmi(temperature_c, asked.tmin_c, asked.topt_c, asked.tmax_c))
    return GrowthAnswer(
        rate_mm_per_day=relative * best,
        rate_band_mm_per_day=rate_band(inputs, temperature_c),
        relative_rate=relative,
        species=asked,
        inputs=tuple(inputs),
        note=_note(asked, temperature_c, relative),
    )


def _with_own(species: Species | None, given: dict[str, float | None]) -> Species:
    missing = [name for name, number in given.items() if number is None]
    own = {
        name: Constant(number, "mm/day" if "rate" in name else "°C", source=OWN, where="given")
        for name, number in given.items()
        if number is not None
    }
    if species is not None:
        return replace(species, **own)  # type: ignore[arg-type]
    if missing:
        raise Contradiction(
            "Name a species (--species), or give all four numbers of its curve: --tmin, --topt, "
            "--tmax and --best."
        )
    if "rate_grain_mm_per_day" not in own:
        own["rate_grain_mm_per_day"] = own["rate_agar_mm_per_day"]
    return Species("given", ("the given curve",), **own)  # type: ignore[arg-type]


def _note(species: Species, temperature_c: float, relative: float) -> str:
    if temperature_c <= species.tmin_c:
        return f"Below about {species.tmin_c:g} °C it does not grow; it may well stay alive."
    if temperature_c >= species.tmax_c:
        return f"Above about {species.tmax_c:g} °C it does not grow, and is soon harmed."
    if temperature_c >= species.alarm_c:
        return f"Kept up, {species.alarm_c:g} °C inside a jar harms it and helps molds."
    if relative < 0.5:
        return "Less than half of its best: a place nearer to the best temperature pays."
    return ""
