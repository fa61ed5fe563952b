"""A question about a sterilizer run, in SI; commands and planner ask the same one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from spawnwright.errors import Contradiction
from spawnwright.records.bag import Bag
from spawnwright.records.canner import Canner
from spawnwright.records.fill import Fill
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.sources import Constant

if TYPE_CHECKING:
    from spawnwright.records.probe import ProbeTransport

GrainState = Literal["pours", "sticks", "smears", "unknown"]
Start = Literal["cold", "warm", "hot-packed"]
Hob = Literal["gas", "electric", "induction", "unknown"]
Contents = Literal["grain", "liquid-culture", "agar"]


@dataclass(frozen=True)
class PinnedTransport:
    """One way in which heat moves, fixed; every other input is then at its central value."""

    kind: Literal["conduction", "vapor"]
    diffusivity_m2_s: float | None = None
    pore_factor: float | None = None
    dry_conductivity_w_mk: float = 0.16


@dataclass(frozen=True)
class Jars:
    """Jars of one kind, filled alike."""

    jars: int
    jar: Jar
    fill: Fill


@dataclass(frozen=True)
class SterilizeQuestion:
    """Jars, grain, canner, burner and place; what is not said is uncertain.

    `hold_s` none asks for the recommended hold. `effort` "quick" takes fewer scenarios: the same
    medians, bands that wobble more.
    """

    jar: Jar
    fill: Fill
    jars: int
    grain: Grain | None
    """None for a liquid."""
    canner: Canner
    gauge_pa: float
    ambient_pa: float
    """Air pressure of the place, by elevation or measured."""
    is_ambient_measured: bool = False
    moisture: float | None = None
    grain_state: GrainState = "unknown"
    start: float | Start = "cold"
    """Temperature of grain and water when the burner is lit [°C], or a word for it."""
    hold_s: float | None = None
    if_none: Literal["customary", "longest"] = "customary"
    """The hold that is answered for if none is asked and none can be recommended: the trade's, or
    the longest whose water fits."""
    burner_w: float | None = None
    pot_w: Constant | None = None
    """Heat that this burner brings into a pot, where it was measured; wins over `burner_w`."""
    hob: Hob = "unknown"
    room_c: float = 22.0
    air_retained: float | None = None
    """Share of the air left in; none means properly vented."""
    spores_per_g: float | None = None
    """In a gram of dry grain; none means the stated guess, like the next two."""
    spore_d_min: float | None = None
    """At 121.11 °C [min]."""
    spore_z_c: float | None = None
    """A temperature difference [K]."""
    target: float = 0.01
    """The chance of a survivor in one jar that the recommended hold is to reach."""
    pinned: PinnedTransport | None = None
    profile: Literal["cycle", "step"] = "cycle"
    effort: Literal["full", "quick"] = "full"
    wants_causes: bool = True
    """Whether to work out which input makes the band wide, and what knowing the grain is worth."""
    contents: Contents = "grain"
    also: tuple[Jars, ...] = ()
    """Other kinds of jars in the same load, with the same grain."""
    bag: Bag | None = None
    """The bag that `jar` stands for (`Bag.as_jar`), if it is one."""
    is_lying: bool = False
    is_spoiled: bool = False
    """Spoiled jars, sterilized shut before anybody opens them."""
    probe: ProbeTransport | None = None
    """How heat moves in the grower's own grain, by a probe run; wins over its state."""

    @property
    def kinds(self) -> tuple[Jars, ...]:
        """All jars of the load, kind by kind, its own first."""
        return (Jars(self.jars, self.jar, self.fill), *self.also)

    @property
    def kernels(self) -> Grain:
        """The grain; raises `Contradiction` if there is none, as in a liquid."""
        if self.grain is None:
            raise Contradiction("Which grain is in the jars? Say so with --grain, such as rye.")
        return self.grain

    def turned(self, place: int) -> SterilizeQuestion:
        """The same load with another of its kinds named first, the first in that one's place."""
        if place == 0:
            return self
        kinds = list(self.kinds)
        kinds[0], kinds[place] = kinds[place], kinds[0]
        first, *others = kinds
        return replace(
            self, jars=first.jars, jar=first.jar, fill=first.fill, also=tuple(others)
        )  # fmt: skip
