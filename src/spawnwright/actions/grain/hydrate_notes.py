"""What a grower should know beside the numbers of a soak and a simmer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spawnwright.model.grain import soak
from spawnwright.model.grain.fill import FilledJar
from spawnwright.model.grain.sprouting import soak_warning
from spawnwright.units import written_duration

if TYPE_CHECKING:
    from spawnwright.actions.grain.hydrate import HydrateQuestion

_DRIEST, _WETTEST = 0.42, 0.55  # common practice: outside, growth is thin, or bacteria win

CAUTIONS = (
    "Hot water and steam scald: a pot no more than two thirds full, lid opened away from you, "
    "and a colander in the sink rather than in your hand.",
    "Grain that smells sour or is slimy is thrown away, not cooked.",
)


def notes_on(asked: HydrateQuestion) -> tuple[str, ...]:
    """What to know about this grain, this soak and this jar, in sentences."""
    soaked = asked.grain.soak_basis if asked.soak_s > 0 else (
        "Without a soak kernels cook from the outside in, their middles stay dry longer, and "
        "spores are not woken before the canner; 45 to 60 minutes of simmering is usual then."
    )  # fmt: skip
    notes = (soaked, _simmer_note(asked), asked.grain.note, asked.jar.note)
    return tuple(each for each in notes if each)


def warnings_on(asked: HydrateQuestion, filled: FilledJar) -> tuple[str, ...]:
    """What lies outside common practice, or beyond what was measured, in sentences."""
    warnings = [
        soak.beyond_measured(asked.grain, asked.soak_s, asked.water_c)[2],
        soak_warning(asked.soak_s, asked.water_c),
    ]
    if not _DRIEST <= asked.target <= _WETTEST:
        fault = "dry: growth is thin and slow" if asked.target < _DRIEST else (
            "wet: grain clumps, and bacteria do better"
        )  # fmt: skip
        warnings.append(f"A target of {asked.target:.0%} is {fault} (common practice).")
    if filled.is_hard_to_shake:
        warnings.append(
            f"A jar {filled.share:.0%} full is hard to shake; two thirds to three quarters is "
            "common practice."
        )
    if asked.drained_kg is not None and asked.jars is not None:
        warnings.append(
            "The drained mass was compared with the dry grain worked out for these jars; give the "
            "dry mass that you weighed with --dry instead of --jars."
        )
    return tuple(each for each in warnings if each)


def _simmer_note(asked: HydrateQuestion) -> str:
    starting = asked.grain.simmer_time_s
    if asked.soak_s <= 0 or asked.simmer_s <= 0:
        return ""
    low, high = getattr(starting, "low", starting), getattr(starting, "high", starting)
    if low <= asked.simmer_s <= high:
        return ""
    return (
        f"For {asked.grain.key} {written_duration(starting)} is the usual start (common "
        f"practice), not {written_duration(asked.simmer_s)}; the texture decides."
    )
