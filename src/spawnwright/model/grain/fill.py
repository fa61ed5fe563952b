"""How full a jar is: share, height and grams of wet grain, each from the others.

The jar is a cylinder of its inner radius. Near the shoulder that overstates the room that is
left: a fill given as a distance below the rim comes out a little too large there.
"""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.errors import Unusable
from spawnwright.records.fill import Fill
from spawnwright.records.jar import Jar
from spawnwright.sources import COMMON, Constant
from spawnwright.units import written_mass

FULLEST = Constant(
    0.75, "-", source=COMMON, where="two thirds to three quarters full, so that grain can be shaken"
)


@dataclass(frozen=True)
class FilledJar:
    """A jar with loose wet grain in it."""

    share: float
    """Of the nominal volume, from above 0 to 1."""
    depth_m: float
    below_rim_m: float
    grain_kg: float
    """Wet grain."""

    @property
    def is_hard_to_shake(self) -> bool:
        """Whether it is fuller than the trade fills jars."""
        return self.share > FULLEST + 1e-9


def share_of(jar: Jar, fill: Fill, bulk_density_kg_m3: float) -> float:
    """The share of a jar's nominal volume that a fill, however it was said, comes to.

    Parameters
    ----------
    jar : Jar
        Its nominal volume, inner radius and inside height are used.
    fill : Fill
        As in `filled_jar`.
    bulk_density_kg_m3 : float
        Of what is in the jar [kg/m³].

    Returns
    -------
    float
        Whatever was said, above 1 too [-].
    """
    if fill.kind == "share":
        return fill.value
    if fill.kind == "mass":
        return fill.value / (bulk_density_kg_m3 * jar.nominal_volume_m3)
    return (jar.inside_height_m - fill.value) * jar.cross_section_m2 / jar.nominal_volume_m3


def filled_jar(jar: Jar, fill: Fill, bulk_density_kg_m3: float) -> FilledJar:
    """What a fill, however it was said, comes to in a jar.

    Parameters
    ----------
    jar : Jar
        Its nominal volume, inner radius and inside height are used.
    fill : Fill
        A share of the nominal volume, a distance below the rim, or a mass of wet grain.
    bulk_density_kg_m3 : float
        Of the wet grain, loosely filled [kg/m³].

    Returns
    -------
    FilledJar
        Share, depth, distance below the rim and wet mass.

    Raises
    ------
    Unusable
        If nothing would be in the jar, or more than it holds.
    """
    share = share_of(jar, fill, bulk_density_kg_m3)
    depth = jar.bed_depth_m(share)
    said = fill.written or f"{100 * share:.0f}%"
    if share <= 0:
        raise Unusable(
            f"A fill of {said} leaves the jar {jar.key} empty; it is "
            f"{jar.inside_height_m * 100:.1f} cm high inside, and two thirds full is usual."
        )
    if share > 1 + 1e-9 or depth > jar.inside_height_m + 1e-9:
        most = written_mass(bulk_density_kg_m3 * jar.nominal_volume_m3)
        raise Unusable(
            f"A fill of {said} is {100 * share:.0f}% of the jar {jar.key}, which holds about "
            f"{most} of this grain when full; fill it to two thirds or three quarters."
        )
    return FilledJar(
        share=share,
        depth_m=depth,
        below_rim_m=jar.inside_height_m - depth,
        grain_kg=share * jar.nominal_volume_m3 * bulk_density_kg_m3,
    )
