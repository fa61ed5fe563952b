"""The load of a run: what may go in together, what is refused, what is said at the step."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from spawnwright.actions.grain.fill import read_fill
from spawnwright.actions.grain.jars import find_jar
from spawnwright.errors import Contradiction, NotAQuantity, UnknownName, Unusable
from spawnwright.model.canner.load_fits import bags_per_load, fits_together
from spawnwright.model.canner.loading import Load, jars_per_load
from spawnwright.model.grain.fill import share_of
from spawnwright.model.heat.liquid import FULLEST_LIQUID, LIQUID_KG_M3, LIQUID_TARGET
from spawnwright.model.sterilizing.hold import TARGET
from spawnwright.records.bag import Bag
from spawnwright.records.canner import Canner
from spawnwright.records.fill import Fill
from spawnwright.records.jar import Jar
from spawnwright.records.sterilizing import Contents, Jars, SterilizeQuestion
from spawnwright.store import catalog

_FULLEST_BAG = 0.51  # half, and what a kitchen scale may be off
_WARMEST_SPOILED_C = 40.0
_ASSUMED = ("two-layer", "large-cast")

CAUTIONS = (
    "Growth medium, not food preservation: no tested process exists for grain. Never eat it; "
    "discard swollen or foul jars unopened.",
    "A pass is no proof: the sum cannot see trapped air, dry pockets, or what is drawn in through "
    "the filter while the jars cool.",
    "Follow the manual of your canner before anything said here, and never go above its rated "
    "pressure; with a glass hob ask the maker about the weight.",
    "Boil, wait for a steady jet, then vent ten minutes by the clock: the gauge cannot tell air "
    "from steam. The hold counts from the moment pressure is reached.",
    "If pressure falls below the mark at any moment, bring it back and count the hold from zero.",
    "Let the pressure fall by itself: no water, no wet cloth, no lifting of the weight. Forced "
    "cooling breaks jars, pulls out liquid and throws away the heat that cooling still gives.",
    "At zero take the weight off, wait ten minutes, open the lid away from your face. The grain "
    "is above 100 °C longer than the gauge shows.",
    "Check water, vent pipe, gasket and safety plug before each run; never leave it alone, never "
    "let it boil dry. Jars stand on a rack, lids loose enough to let gas out, and are spared "
    "shocks: no cold jar into hot water, no hot jar onto a cold or wet bench.",
)  # fmt: skip

_OF_LIQUIDS = (
    "Liquids: at most two thirds full, lids loose. When the gauge is at zero the liquid is still "
    "above its boiling point: let all of it cool shut. Steam that is let go at once makes it boil "
    "over, through the filter and out of the jar.",
    "Agar is poured only when the glass can be held; a jar of it that was superheated boils up "
    "when it is shaken.",
    "One jar of liquid culture goes into many jars: let one stand two weeks uninoculated as a "
    "test, and try the culture on agar before you use it. (Common practice, no source.)",
)
_OF_SPOILED = (
    "Spoiled jars stay shut from the shelf until the cool canner: no sniffing, no loosening of "
    "lids. A jar that bulges, is cracked, or whose filter is soaked or blocked is not heated: wrap "
    "it and throw it away unopened.",
    "Nothing else goes into this run, no fresh jar and no food; a full cycle from cold, vented ten "
    "minutes, cooled shut until the next day.",
    "Open them outdoors, upwind, with gloves and a mask, far from fresh grain, and bag the "
    "contents at once: spores of molds harm lungs even when they are dead. Wash jars, lids, hands "
    "and canner; new filters. (Common practice, no source.)",
)
_OF_BAGS = (
    "Bags stand or lie on a rack well above the water and the burner, a centimeter clear of the "
    "wall and of each other, the filter outward and dry. Hot metal melts them.",
    "Fold the empty part down over the grain and weight it, with a plate or a rack on top: a "
    "bag that swells or floats must never reach the vent pipe, the weight or the gauge.",
    "Bags come out only after the canner has cooled by itself, shut, to room temperature: a hot "
    "bag that is moved draws in air past its seal. (Common practice, no source.)",
)


def assumed_canner(
    jar: Jar,
    jars: int,
    fill: Fill | None = None,
    also: Sequence[Jars] = (),
    bag: Bag | None = None,
    is_lying: bool = False,
    **others: object,
) -> Canner:
    """The canner that is meant when none is named: the usual one, or the next that holds these.

    What else a load says does not matter here.
    """
    canners = [catalog.find(Canner, "canners", name) for name in _ASSUMED]
    if bag is not None:
        holding = [each for each in canners if bags_per_load(each, bag, is_lying).jars >= jars]
    elif also:
        kinds = (Jars(jars, jar, fill or Fill("share", 1.0)), *also)
        holding = [each for each in canners if fits_together(each, kinds)]
    else:
        holding = [each for each in canners if jars_per_load(each, jar).jars >= jars]
    return holding[0] if holding else canners[-1]


def read_jars(text: str) -> Jars:
    """The jars that a text means: count, jar and fill, as in "5 pint 60%".

    Raises `Unusable` for anything else; of several readings the one with the shortest jar name.
    """
    counted = re.fullmatch(r"\s*(\d+)\s+(\S.*?)\s*", text)
    words = counted[2].split() if counted else []
    for place in range(1, len(words)):
        try:
            jar = find_jar(" ".join(words[:place]))
            fill = read_fill(" ".join(words[place:]))
        except (UnknownName, NotAQuantity):
            continue
        return Jars(int(counted[1]), jar, fill)  # type: ignore[index]
    raise Unusable(
        f"{text!r} does not say which jars are in the load as well; write their number, the jar "
        'as in `./run jars`, and how full they are: "5 pint 60%".'
    )


def as_taken(question: SterilizeQuestion) -> SterilizeQuestion:
    """The question as it is worked out: spoiled grain counts as smearing, whatever it does."""
    if question.is_spoiled and question.contents == "grain":
        return replace(question, grain_state="smears")
    return question


def usual_target(contents: Contents) -> float:
    """The chance of a survivor in one jar that is aimed at when none is said [-]."""
    return float(TARGET if contents == "grain" else LIQUID_TARGET)


def load_of(question: SterilizeQuestion) -> Load:
    """How many of the containers named first go into the canner by themselves."""
    if question.bag is not None:
        return bags_per_load(question.canner, question.bag, question.is_lying)
    return jars_per_load(question.canner, question.jar)


def jars_in_water(question: SterilizeQuestion) -> float:
    """Jars of the lowest layer, others counted as so many of the first by their area [-]."""
    if question.bag is not None:
        return 0.0
    first = question.jar.outer_radius_m**2
    return sum(
        min(kind.jars, jars_per_load(question.canner, kind.jar).per_layer)
        * kind.jar.outer_radius_m**2
        / first
        for kind in question.kinds
    )


def refuse_load(question: SterilizeQuestion) -> None:
    """Raise for a load that does not fit, or that does not belong together."""
    for kind in question.kinds:
        if kind.jars < 1:
            raise Unusable(f"{kind.jars} jars cannot be sterilized; load one or more.")
    if question.bag is not None and question.also:
        raise Contradiction("Bags and jars are not sterilized together here; make two runs.")
    for place in range(len(question.kinds)):
        _refuse_kind(question.turned(place))
    if question.contents != "grain":
        _refuse_liquid(question)
    if question.is_spoiled:
        _refuse_spoiled(question)
    canner = question.canner
    if question.also and not fits_together(canner, question.kinds):
        each = ", ".join(f"{kind.jars} {kind.jar.key}" for kind in question.kinds)
        raise Contradiction(
            f"These do not fit into the canner {canner.key} together: {each}. Leave out a few, "
            "make two runs, or use a larger canner."
        )


def _refuse_liquid(question: SterilizeQuestion) -> None:
    if question.pinned is not None:
        raise Contradiction("A liquid mixes by itself: --transport is about grain; leave it out.")
    if question.bag is not None:
        raise Contradiction("Liquids go into jars, not into bags; use --jar, --fill and --jars.")
    for kind in question.kinds:
        share = share_of(kind.jar, kind.fill, float(LIQUID_KG_M3))
        if share > float(FULLEST_LIQUID) + 1e-6:
            most = FULLEST_LIQUID * kind.jar.nominal_volume_m3
            raise Unusable(
                f"A {kind.jar.key} {100 * share:.0f}% full of liquid boils over when the pressure "
                f"falls; fill it to two thirds at most, {1e6 * most:.0f} mL."
            )


def _refuse_spoiled(question: SterilizeQuestion) -> None:
    if question.also:
        raise Contradiction(
            "Spoiled jars go into a run of their own, with nothing else in the canner; leave out "
            "--also and make another run."
        )
    start, state = question.start, question.grain_state
    if start == "hot-packed" or (not isinstance(start, str) and start > _WARMEST_SPOILED_C):
        raise Contradiction(
            "Spoiled jars are sterilized shut and from cold; --start cannot be "
            f"{start if isinstance(start, str) else f'{start:.0f} °C'}."
        )
    if question.probe is not None:
        raise Contradiction(
            "A probe run in fresh grain says nothing about spoiled grain, which counts as grain "
            "that smears; leave out --probe."
        )
    if state in ("pours", "sticks"):
        raise Contradiction(
            f"Nobody can tell whether spoiled grain {state} without opening it; it is taken as "
            "grain that smears, the slowest. Leave out --grain-state."
        )


def _refuse_kind(question: SterilizeQuestion) -> None:
    canner, load = question.canner, load_of(question)
    if load.jars == 0:
        raise Contradiction(
            f"{_one(question).capitalize()} does not fit into the canner {canner.key}: it is too "
            f"tall or too wide; {_instead(question)}."
        )
    if question.jars > load.jars:
        some = f"{question.jars} jars of {question.jar.key}"
        if question.bag is not None:
            some = f"{question.jars} bags like {_one(question)}"
        raise Contradiction(
            f"{some} do not fit into the canner {canner.key}; {load.jars} do. Make "
            f"{-(-question.jars // load.jars)} runs, or use a larger canner."
        )


def _one(question: SterilizeQuestion) -> str:
    if question.bag is None:
        return f"the jar {question.jar.key}"
    return f"a {question.bag.key} bag {'lying' if question.is_lying else 'standing'}"


def _instead(question: SterilizeQuestion) -> str:
    if question.bag is None:
        return "use a larger canner or a smaller jar"
    others = bags_per_load(question.canner, question.bag, not question.is_lying).jars
    turn = "stand it up" if question.is_lying else "lay it down"
    first = f"{turn} ({others} will fit), or " if others else ""
    return f"{first}use a larger canner or a smaller bag"


def warnings_of_load(question: SterilizeQuestion) -> list[str]:
    """What is unusual about what is in the canner."""
    if question.bag is not None and question.bag.share_full > _FULLEST_BAG:
        return [
            f"The bag is {100 * question.bag.share_full:.0f}% full: more than half leaves too "
            "little air and no room to shake, and the grain reaches toward the filter."
        ]
    return []


def cautions_of(question: SterilizeQuestion) -> tuple[str, ...]:
    """What is said before the burner is lit, for this load."""
    return (
        *CAUTIONS,
        *(_OF_BAGS if question.bag is not None else ()),
        *(_OF_LIQUIDS if question.contents != "grain" else ()),
        *(_OF_SPOILED if question.is_spoiled else ()),
    )
