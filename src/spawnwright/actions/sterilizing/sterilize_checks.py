"""What is refused before a run is worked out, what is warned of, and the cautions that belong."""

from __future__ import annotations

from spawnwright.actions.sterilizing.sterilize_load import (
    assumed_canner,
    refuse_load,
    warnings_of_load,
)
from spawnwright.errors import OutOfRange, Unusable
from spawnwright.model.grain.fill import FilledJar
from spawnwright.records.jar import Jar
from spawnwright.records.sterilizing import PinnedTransport, SterilizeQuestion
from spawnwright.units import psi, written_duration

_LEAST_GAUGE_PA = 1000.0
_THINNEST_BED_M = 0.002  # about a kernel: less is no bed, and takes the solvers minutes
_MOST_AIR = 50.0  # beyond half, what the gauge shows is mostly air and no run at all
_STEP_PSI = 5.0  # customary weights are 5, 10 and 15 lb

_SPOILED = (
    "How wet spoiled grain is nobody knows before it is opened: it is taken as grain that smears, "
    "the slowest, and full of spores. What grows in it, molds and most bacteria, dies far below "
    "100 °C; some of its spores may outlive any hold that fits. So the hold is at least that of a "
    "fresh jar of this size, and the jars are handled as if they were alive."
)
_SPOILED_LIQUID = (
    "A spoiled liquid is taken to be full of spores, some of which may outlive any hold that fits. "
    "The hold is at least that of a fresh jar of this size; handle the jars as if they were alive."
)
OVERNIGHT_CAUTION = (
    "Left shut overnight a canner draws a vacuum as it cools: guard the vent with a filter or "
    "foil, and let air in slowly before you open it."
)


def refuse_what_cannot_be(question: SterilizeQuestion) -> None:
    """Raise for a pressure, a load, a hold or a grain that no run could have."""
    canner = question.canner
    if question.gauge_pa < _LEAST_GAUGE_PA:
        raise Unusable(
            f"A gauge pressure of {psi(question.gauge_pa):.1f} psi is no more than boiling water, "
            "which hardy spores survive; give the pressure of the hold, such as 15 psi."
        )
    if question.gauge_pa > canner.highest_gauge_pa * (1 + 1e-6):
        _refuse_pressure(question)
    refuse_load(question)
    if question.hold_s is not None and not 60.0 <= question.hold_s <= 24 * 3600.0:
        raise Unusable(
            f"A hold of {written_duration(question.hold_s)} cannot be meant; it counts from the "
            "moment pressure is reached and takes from 1 minute to 24 hours."
        )
    _refuse_numbers(question)


def _refuse_pressure(question: SterilizeQuestion) -> None:
    canner, gauge = question.canner, psi(question.gauge_pa)
    if canner.rated_gauge_pa is None:
        raise Unusable(
            f"{gauge:.6g} psi is above 15 psi, the heaviest customary weight, and the rated "
            f"pressure of the canner {canner.key} is not known. Use 15 psi or less and hold "
            "longer, or give the maker's rating in a canner file of your own."
        )
    raise Unusable(
        f"{gauge:.6g} psi is above the rated pressure of the canner {canner.key}, "
        f"{psi(float(canner.rated_gauge_pa)):.6g} psi. Never go above it; hold longer instead."
    )


def _refuse_numbers(question: SterilizeQuestion) -> None:
    pinned = question.pinned or PinnedTransport("conduction")
    share = question.air_retained
    start = None if isinstance(question.start, str) else question.start
    moisture = None if question.moisture is None else 100 * question.moisture
    for what, value, low, high, unit in (
        ("The moisture of the grain", moisture, 20.0, 75.0, "%"),
        ("The temperature at the start", start, 0.1, 99.0, "°C"),
        ("The temperature of the room", question.room_c, -20.0, 45.0, "°C"),
        ("The chance aimed at", question.target, 1e-9, 0.999, ""),
        ("The burner's power", question.burner_w, 100.0, 20000.0, "W"),
        ("The share of air left in", None if share is None else 100 * share, 0.0, _MOST_AIR, "%"),
        ("The spores in a gram", question.spores_per_g, 1e-6, 1e9, ""),
        ("D at 121.11 °C", question.spore_d_min, 1e-4, 100.0, "min"),
        ("z", question.spore_z_c, 3.0, 40.0, "K"),
        ("The diffusivity", pinned.diffusivity_m2_s, 1e-8, 1e-5, "m²/s"),
        ("The pore factor", pinned.pore_factor, 0.0, 1.0, ""),
        ("The dry conductivity", pinned.dry_conductivity_w_mk, 0.02, 2.5, "W/(m K)"),
    ):
        if value is not None and not low <= value <= high:
            raise OutOfRange(what, value, low, high, unit)


def refuse_film(jar: Jar, filled: FilledJar) -> None:
    """Raise for less grain than a layer of kernels."""
    if filled.depth_m < _THINNEST_BED_M:
        raise Unusable(
            f"A fill of {100 * filled.share:.2g}% of the jar {jar.key} is a layer of "
            f"{1000 * filled.depth_m:.2g} mm, no thicker than a kernel; two thirds full is usual."
        )


def warnings_of(
    question: SterilizeQuestion, filled: FilledJar, hold_s: float, longest_s: float
) -> list[str]:
    """What is unusual about a run: each a sentence for the grower."""
    said = warnings_of_load(question)
    if hold_s > longest_s + 1.0:
        said.append(
            f"A hold of {written_duration(hold_s)} may boil the canner dry: the water that fits is "
            f"enough for about {written_duration(longest_s)}. Do not do it."
        )
    if filled.is_hard_to_shake and not question.is_spoiled:
        said.append(
            f"The jar is {100 * filled.share:.0f}% full: above three quarters the grain cannot be "
            "shaken, and it swells against the filter."
        )
    pounds = psi(question.gauge_pa)
    off_step = abs(pounds / _STEP_PSI - round(pounds / _STEP_PSI))
    if question.canner.gauge == "weight" and off_step > 0.03:
        said.append(
            f"Weights come as 5, 10 and 15 lb; {pounds:.1f} psi can only be held on a dial."
        )
    if question.bag is None and max(each.jar.nominal_volume_m3 for each in question.kinds) > 1.6e-3:
        said.append(
            "Jars of half a gallon are outside every tested process, even for food: their middle "
            "takes about 1.6 times as long as a quart's."
        )
    return said


def _instead(question: SterilizeQuestion) -> str:
    if question.contents != "grain":
        return "use smaller jars, or fill them less"
    if question.bag is None:
        return "dry the grain until it pours, or use a smaller jar"
    smaller = "use a smaller bag" if question.is_lying else "lay the bags down or use smaller ones"
    return f"dry the grain until it pours, or {smaller}"


def advice_of(
    question: SterilizeQuestion, longest_s: float, recommended_s: float | None
) -> tuple[str, ...]:
    """What to do when no hold is long enough, and what to do about grain not known to pour."""
    if question.is_spoiled:
        return (_SPOILED if question.contents == "grain" else _SPOILED_LIQUID,)
    said = []
    if recommended_s is None:
        said.append(
            f"No hold whose water fits under the rack (at most {written_duration(longest_s)}) "
            f"brings the chance of a survivor down to {100 * question.target:g}%. More minutes are "
            f"not the answer: {_instead(question)}."
        )
    is_asked = question.pinned is None and question.contents == "grain"
    if is_asked and question.grain_state == "unknown" and question.probe is None:
        said.append(
            "Whether the grain pours, sticks or smears matters more than anything else here; "
            "run some through your fingers and say so with --grain-state."
        )
    return tuple(said)


__all__ = ["advice_of", "assumed_canner", "refuse_film", "refuse_what_cannot_be", "warnings_of"]
