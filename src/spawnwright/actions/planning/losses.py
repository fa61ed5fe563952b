"""What goes wrong, as shares: the grower's own figures, else this project's cautious ones."""

from __future__ import annotations

from dataclasses import dataclass, replace

from spawnwright.model.planning.chances import LossShares, after_clean_test
from spawnwright.records.wish import Wish
from spawnwright.sources import JUDGMENT, Constant

JAR = Constant(0.05, "-", source=JUDGMENT, where="practised: mean of Beta(1, 19)")
JAR_MORE_NEW = Constant(
    0.05, "-", source=JUDGMENT, where="added with new lids or a new routine; beginners lose 20 %"
)
JAR_MORE_DRAFT = Constant(0.05, "-", source=JUDGMENT, where="added without a place that is still")
RUN = Constant(0.08, "-", source=JUDGMENT, where="chance that a sterilizer run is bad")
RUN_KILL = Constant(0.70, "-", source=JUDGMENT, where="share of its jars that a bad run spoils")
CULTURE = Constant(0.05, "-", source=JUDGMENT, where="chance that a culture at hand is bad")
TEST_SHOWS = Constant(
    0.80, "-", source=JUDGMENT, where="chance that a week's test shows that a culture is bad"
)


@dataclass(frozen=True)
class Losses:
    """The shares that a plan counts with, before and after a test of the culture."""

    untested: LossShares
    tested: LossShares
    is_tested: bool
    """Whether a test came out clean already, or the grower states the culture's own chance."""
    from_heat: float
    """Chance of a survivor in one jar by the heat alone [-]."""

    def shares(self, *, with_test: bool) -> LossShares:
        """What holds for a plan with or without a culture test in it."""
        return self.tested if self.is_tested or with_test else self.untested


def losses_of(wish: Wish, chance_of_survivor: float) -> Losses:
    """The losses to count with.

    Where the heat alone leaves more spoiled than bad runs would, the chance that a run is bad is
    raised to it, and, where every run is bad by that, the share that it spoils.
    """
    own = wish.losses
    jar = (
        JAR
        + JAR_MORE_NEW * wish.kit.is_new_routine
        + JAR_MORE_DRAFT * (not wish.kit.has_still_place)
    )
    kill = _own_or(own.run_kill, max(RUN_KILL, chance_of_survivor))
    by_heat = min(1.0, chance_of_survivor / kill) if kill > 0 else 0.0
    untested = LossShares(
        jar=_own_or(own.jar, jar),
        run=_own_or(own.run, max(RUN, by_heat)),
        run_kill=kill,
        culture=_own_or(own.culture, CULTURE),
    )
    tested = replace(untested, culture=after_clean_test(untested.culture, float(TEST_SHOWS)))
    return Losses(untested, tested, wish.culture.tested is not None, chance_of_survivor)


def _own_or(share: float | None, book: float) -> float:
    return float(book) if share is None else share
