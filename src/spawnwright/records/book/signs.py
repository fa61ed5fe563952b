"""What each sign that a look may name is usually taken for, in words for the bench.

The words are common practice of the trade, no source: what the usual molds and bacteria of grain
look like. A sign alone proves nothing; it says how much to worry and what to do next.
"""

from __future__ import annotations

from dataclasses import dataclass

WELL, WATCH, HARM, QUIET = "well", "caution", "harm", "quiet"
"""How a sign is shown: nothing to do, have an eye on it, keep it shut and away, nothing yet."""

KEEP_SHUT = "Keep it shut and do not smell at it: mold spores harm lungs and other jars."


@dataclass(frozen=True)
class Sign:
    """A sign: how much it worries, what it looks like, what it usually is."""

    name: str
    how: str
    looks: str
    means: str = ""


_ALL = (
    Sign("as expected", WELL, "white threads, even edges"),
    Sign("white", WELL, "white threads", "Growth; a dense white felt that turns green is mold."),
    Sign("nothing yet", QUIET, "no growth to be seen"),
    Sign("drops", WATCH, "drops on the threads",
         "Clear to amber drops alone are common; milky ones speak for bacteria."),
    Sign("yellow", WATCH, "yellow patches or drops",
         "Clear yellow to amber drops come with age or heat; yellow powder is mold."),
    Sign("green", HARM, "green felt or powder", "Mold, as a rule; often white felt before."),
    Sign("blue-green", HARM, "blue-green powder, small discs", "Mold, as a rule."),
    Sign("black", HARM, "black powder or pinheads", "Mold, as a rule."),
    Sign("gray", HARM, "tall gray fluff", "A fast mold, as a rule."),
    Sign("orange", HARM, "orange or pink powder at lid or filter",
         "A mold that spreads fast, through filters too."),
    Sign("pink", WATCH, "pink spots or threads",
         "Usual for pink oyster; else a yeast or a mold."),
    Sign("slime", HARM, "wet, glassy kernels, gray to brown slime",
         "Bacteria, as a rule: a survivor of the heat, or grain that was too wet."),
    Sign("dry", WATCH, "dry, hard kernels", "Growth stops where grain is dry."),
    Sign("wet", WATCH, "water standing, burst kernels", "Bacteria like it; look again soon."),
    Sign("other", WATCH, "something else: say it in the note"),
)  # fmt: skip

SIGN_NAMED: dict[str, Sign] = {each.name: each for each in _ALL}
"""All signs, in the order in which they are offered."""

NORMAL_FOR: dict[str, frozenset[str]] = {
    "pink-oyster": frozenset({"pink"}),
    "nameko": frozenset({"orange", "yellow"}),
}
"""Signs that are usual for a species, by its key: common practice, no source."""


def how_worrying(sign: str | None, species: str | None = None) -> str:
    """How a sign is to be shown for a species: `WELL`, `WATCH`, `HARM` or `QUIET`."""
    if sign is None:
        return WELL
    how = SIGN_NAMED[sign].how
    if sign in NORMAL_FOR.get(species or "", ()):
        return WELL if how == WATCH else WATCH
    return how
