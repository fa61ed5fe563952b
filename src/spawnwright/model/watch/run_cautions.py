"""The cautions of a run, each at the stage where it matters."""

from __future__ import annotations

from datetime import timedelta

from spawnwright.records.run_log import Stage

_NEVER_LEAVE = (
    "Never leave a canner on the heat alone, and never let it run dry: if no steam comes and the "
    "pressure wanders, turn the heat off."
)
_NOT_FOOD = "This is growth medium, not food. Follow the manual of your canner before all else."
_NO_PROOF = (
    "A number here is no proof: the sum cannot see trapped air, a dry pocket, or what is drawn in "
    "through the filter while the jars cool."
)
_BY_ITSELF = (
    "Let the pressure fall by itself: no water, no wet cloth, no lifting of the weight. Forced "
    "cooling breaks jars, pulls out liquid and throws away the heat that cooling still gives."
)
_CAUTIONS: dict[Stage, tuple[str, ...]] = {
    "soaking": ("Grain that soaks too long sprouts or sours; 12 to 24 hours, less where warm.",),
    "simmering": ("Hot water and steam scald. The texture decides, not the minutes.",),
    "drying": ("Wet outsides make wet jars: dry until no print is left on a paper towel.",),
    "not begun": (
        "Check water, vent pipe, gasket and safety plug before the burner is lit; jars stand on a "
        "rack, lids loose enough to let gas out.",
        _NOT_FOOD,
    ),
    "heating": (_NEVER_LEAVE, "Weight off or cock open until steam has blown for ten minutes."),
    "venting": (
        "Vent ten full minutes in a steady jet: the gauge cannot tell air from steam.",
        _NEVER_LEAVE,
    ),
    "coming to pressure": (
        "Never above the rated pressure of the canner. The hold counts from the moment pressure "
        "is reached.",
        _NEVER_LEAVE,
    ),
    "holding": (
        _NEVER_LEAVE,
        "If pressure falls below the mark, note it at once and bring it back.",
        _NO_PROOF,
    ),
    "pressure lost": (
        "Turn the heat up and bring pressure back. The rule for canned food is to count the whole "
        "hold again from then; it is the cautious choice.",
        "If it does not come back, the canner may be dry or the gasket torn: heat off, let it "
        "cool by itself.",
        _NEVER_LEAVE,
    ),
    "cooling": (
        _BY_ITSELF,
        "Stay near until the gauge is at zero. Cool jars draw air in through their filters: no "
        "draft, no dust.",
        _NO_PROOF,
    ),
    "at zero pressure": (
        "Take the weight off, wait ten minutes, open the lid away from your face.",
        "The grain is above 100 °C longer than the gauge shows: it may boil and wet the filters, "
        "and hot jars crack on a cold or wet bench.",
    ),
    "opened": (_NO_PROOF, _NOT_FOOD),
}


def cautions_at(stage: Stage) -> tuple[str, ...]:
    """The cautions that belong to a stage of a run, most urgent first."""
    return _CAUTIONS[stage]


def forgotten(silent: timedelta) -> tuple[str, ...]:
    """What to know of a run of which nobody has noted anything for so long."""
    return (
        f"Nothing was noted of this run for {max(silent.days, 1)} d. What it got is worked out as "
        "if the heat had gone off when the hold was full, or when pressure was lost. If you know "
        "when it was, note it at that time; if nobody knows, these jars are in doubt.",
    )
