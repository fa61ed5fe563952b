"""Loading: how many jars of a kind go into a canner at once.

Jars stand upright, as round as they are, on a rack, in one layer or more. A record that states
the number wins over the geometry. Checks and what is ignored: docs/models/vessel.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from spawnwright.records.canner import Canner
from spawnwright.records.jar import Jar
from spawnwright.sources import JUDGMENT, Coefficients, Constant

BASE_AND_LID_M = Constant(
    0.015, "m", source=JUDGMENT, where="glass base, lid, filter and loose foil above the brim"
)
SECOND_RACK_M = Constant(0.005, "m", source=JUDGMENT, where="a wire rack between two layers")

ENCLOSING_RATIO = Coefficients(
    (
        1.0, 2.0, 2.1547, 2.4142, 2.7013, 3.0, 3.0, 3.3047, 3.6131, 3.8130, 3.9238, 4.0296, 4.2360,
        4.3284, 4.5213, 4.6154, 4.7920, 4.8637, 4.8637, 5.1223, 5.2523, 5.4397, 5.5452, 5.6516,
        5.7528, 5.8281, 5.9063, 6.0149, 6.1385, 6.1977, 6.2915, 6.4294, 6.4867, 6.6109, 6.6971,
        6.7467, 6.7587,
    ),
    source="GRAHAM1998",
    where="radius that encloses 1 to 37 unit circles",
)  # fmt: skip


def water_depth_m(canner: Canner, jar: Jar, jars: float, water_kg: float) -> float:
    """How deep water stands in a loaded canner.

    Parameters
    ----------
    canner : Canner
        Its diameter and rack are used [-].
    jar : Jar
        What stands on the rack [-].
    jars : float
        How many of them, in one layer; others count by their area; none for bags, whose rack
        stands above the water [-].
    water_kg : float
        Water in the canner, 0 or more [kg].

    Returns
    -------
    float
        Depth from the bottom [m].

    Notes
    -----
    Up to the rack there is only water, above it water between the jars. The rack itself takes no
    room here: it comes out some millimeters too shallow.
    """
    area = pi / 4 * canner.inner_diameter_m**2
    below = area * canner.rack_height_m
    volume = water_kg / 1000.0
    if volume <= below:
        return volume / area
    between = area - jars * pi * jar.outer_radius_m**2
    return float(canner.rack_height_m + (volume - below) / max(between, 0.1 * area))


@dataclass(frozen=True)
class Load:
    """How many jars fit: in all, in a layer, in how many layers; stated or worked out."""

    jars: int
    per_layer: int
    layers: int
    is_stated: bool


def circles_in_circle(enclosing_radius_m: float, radius_m: float) -> int:
    """The most circles of one size that fit into a larger one, 0 to 37.

    Parameters
    ----------
    enclosing_radius_m : float
        Radius of the enclosing circle [m].
    radius_m : float
        Radius of each circle, above 0 [m].

    Returns
    -------
    int
        Number of circles [-].

    Notes
    -----
    The best packings known [GRAHAM1998]_; with more than 37 it still says 37, on the safe side.

    Examples
    --------
    Seven fit exactly into three times their radius:

    >>> circles_in_circle(0.150, 0.050)
    7
    """
    ratio = enclosing_radius_m / radius_m * (1 + 1e-4)  # the table has five digits
    return sum(1 for needed in ENCLOSING_RATIO if needed <= ratio)


def jars_per_load(canner: Canner, jar: Jar) -> Load:
    """How many jars of one kind go into a canner at once.

    Parameters
    ----------
    canner : Canner
        The canner; a count it states for this jar wins [-].
    jar : Jar
        The jar, lid and foil on [-].

    Returns
    -------
    Load
        Jars in one run; none if the jar is too wide or too tall [-].

    Notes
    -----
    Circles in a circle [GRAHAM1998]_ by as many layers as the height takes. Real jars with bands
    and foil may need a little more room: try the load cold before counting on it.
    """
    height = float(jar.inside_height_m + BASE_AND_LID_M)
    per_layer = circles_in_circle(canner.inner_diameter_m / 2, float(jar.outer_radius_m))
    room = canner.inside_height_m - canner.rack_height_m + SECOND_RACK_M
    layers = int((room + 1e-9) // (height + SECOND_RACK_M))
    stated = canner.stated_loads
    for name in (jar.key, *jar.names):
        if name.casefold() in stated:
            count = stated[name.casefold()]
            return Load(count, min(count, max(per_layer, 1)), max(layers, 1), is_stated=True)
    return Load(per_layer * layers, per_layer, layers, is_stated=False)
