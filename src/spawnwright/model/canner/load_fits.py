"""Whether a load goes into a canner: jars of several kinds, or bags.

Jars of one kind: `loading`. Several kinds are laid out one by one, the largest first, in as many
layers as the height takes; a layout that is found is real, one that is not found may still exist.
Checks and what is ignored: docs/models/vessel.md, docs/models/bags.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, cos, hypot, pi, sin

from spawnwright.model.canner.loading import BASE_AND_LID_M, SECOND_RACK_M, Load, jars_per_load
from spawnwright.records.bag import Bag
from spawnwright.records.canner import Canner
from spawnwright.records.sterilizing import Jars
from spawnwright.sources import JUDGMENT, Constant

CLEAR_OF_WALL_M = Constant(
    0.010, "m", source=JUDGMENT, where="between bags and the wall, and between two bags: hot metal"
)
CLEAR_OF_VENT_M = Constant(
    0.040, "m", source=JUDGMENT, where="under the lid: a bag swells and must not reach the vent"
)
CORNER_M = Constant(0.040, "m", source=JUDGMENT, where="radius of the round edge of a filled bag")
FOLDED_TOP_M = Constant(
    0.040, "m", source=JUDGMENT, where="empty part of a standing bag, folded down on its grain"
)
ABOVE_WATER_M = Constant(
    0.005, "m", source=JUDGMENT, where="from the usual water to the rack that bags lie on"
)
TUCKED_TOP_M = Constant(
    0.015, "m", source=JUDGMENT, where="empty part of a lying bag, tucked beside or under it"
)
_TOUCH = 1e-9
_MOST_IN_A_ROW = 12

Circle = tuple[float, float, float]  # x, y, radius


def rounded_block_radius_m(width_m: float, length_m: float) -> float:
    """Radius of the circle about a block of round edges [m].

    hypot(w/2 - c, l/2 - c) + c, with c the edge's radius, at most half the shorter side.
    """
    corner = min(float(CORNER_M), width_m / 2, length_m / 2)
    return hypot(width_m / 2 - corner, length_m / 2 - corner) + corner


def bags_per_load(canner: Canner, bag: Bag, is_lying: bool) -> Load:
    """How many bags go into a canner at once.

    Parameters
    ----------
    canner : Canner
        A count that it states for this bag wins [-].
    bag : Bag
        With its grain [-].
    is_lying : bool
        Lying or standing [-].

    Returns
    -------
    Load
        Bags in one run; none if a bag is too wide or too tall [-].

    Notes
    -----
    Bags in rows as a grid, a centimeter from the wall and from each other, in layers with a rack
    between, the lowest rack above the usual water; four centimeters stay free under the lid for
    the vent. Errs to fewer: bags that are pressed together hold more, and heat worse than is said
    here.
    """
    gap = float(CLEAR_OF_WALL_M)
    wide, long = bag.footprint_m(is_lying)
    within = canner.inner_diameter_m / 2 - gap
    per_layer = max(
        across * along
        for across in range(_MOST_IN_A_ROW)
        for along in range(_MOST_IN_A_ROW)
        if across * along == 0
        or rounded_block_radius_m(
            across * wide + (across - 1) * gap, along * long + (along - 1) * gap
        )
        <= within + _TOUCH
    )
    height = bag.thickness_m(is_lying) + float(TUCKED_TOP_M if is_lying else FOLDED_TOP_M)
    water_m = canner.water_m3 / (pi / 4 * canner.inner_diameter_m**2)
    rack = max(float(canner.rack_height_m), water_m + ABOVE_WATER_M)
    room = canner.inside_height_m - rack - CLEAR_OF_VENT_M + SECOND_RACK_M
    layers = max(int((room + _TOUCH) // (height + SECOND_RACK_M)), 0)
    stated = canner.stated_loads
    for name in (bag.key, *bag.names):
        count = stated.get(f"{name} bag".casefold())
        if count is not None:
            return Load(count, min(count, max(per_layer, 1)), max(layers, 1), is_stated=True)
    return Load(per_layer * layers, per_layer, layers, is_stated=False)


def fits_together(canner: Canner, kinds: Sequence[Jars]) -> bool:
    """Whether jars of several kinds go into a canner at once.

    Parameters
    ----------
    canner : Canner
        Its diameter and height; a count that it states for a kind is never exceeded [-].
    kinds : sequence of Jars
        Kinds and their numbers [-].

    Returns
    -------
    bool
        Whether a layout was found [-].

    Notes
    -----
    Layers as high as their tallest jar, filled from the tallest and widest down; in a layer each
    jar goes where it touches the wall or two others, as far out as it can. Where the search fails
    a clever hand may still succeed: it errs to saying no.
    """
    if any(kind.jars > jars_per_load(canner, kind.jar).jars for kind in kinds):
        return False
    left = [
        (float(kind.jar.inside_height_m + BASE_AND_LID_M), float(kind.jar.outer_radius_m))
        for kind in kinds
        for _ in range(kind.jars)
    ]
    left.sort(reverse=True)
    room = canner.inside_height_m - canner.rack_height_m + SECOND_RACK_M
    while left:
        height = left[0][0]
        room -= height + SECOND_RACK_M
        if room < -_TOUCH:
            return False
        placed: list[Circle] = []
        over = []
        for jar in left:
            place = _place_for(jar[1], placed, canner.inner_diameter_m / 2)
            if place is None:
                over.append(jar)
            else:
                placed.append(place)
        if len(over) == len(left):
            return False
        left = over
    return True


def _place_for(radius: float, placed: Sequence[Circle], within: float) -> Circle | None:
    """A free place for one more circle, as far out as can be; none if there is none."""
    reach = within - radius
    if reach < -_TOUCH:
        return None
    reach = max(reach, 0.0)
    spots = [(reach, 0.0), (0.0, 0.0)] if not placed else [(0.0, 0.0)]
    for place, (x, y, other) in enumerate(placed):
        spots += _crossings((0.0, 0.0, reach), (x, y, other + radius))
        for u, v, third in placed[:place]:
            spots += _crossings((x, y, other + radius), (u, v, third + radius))
    free = [
        (x, y)
        for x, y in spots
        if hypot(x, y) <= reach * (1 + 1e-9) + _TOUCH
        and all(hypot(x - u, y - v) >= (radius + other) * (1 - 1e-4) for u, v, other in placed)
    ]
    if not free:
        return None
    x, y = max(free, key=lambda spot: (round(hypot(*spot), 6), -round(atan2(spot[1], spot[0]), 6)))
    return x, y, radius


def _crossings(one: Circle, other: Circle) -> list[tuple[float, float]]:
    """Where two circles cross: two points, or none."""
    across, along = other[0] - one[0], other[1] - one[1]
    apart = hypot(across, along)
    if apart < _TOUCH or one[2] < _TOUCH:
        return []
    cosine = (apart**2 + one[2] ** 2 - other[2] ** 2) / (2 * apart * one[2])
    if abs(cosine) > 1 + 1e-6:
        return []
    turn = atan2(max(0.0, 1 - cosine**2) ** 0.5, cosine)
    toward = atan2(along, across)
    return [
        (one[0] + one[2] * cos(toward + side), one[1] + one[2] * sin(toward + side))
        for side in (turn, -turn)
    ]
