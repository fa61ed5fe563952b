"""Sprouting and souring: how long grain may stand in water.

Within a day at up to 22 °C nothing sprouted in the data that were found (barley, and wild barley
from 8 to 28 °C); at 25 °C four seeds of a hundred had on the first day. That bacteria sour a warm
soak sooner is common practice without a source; the halving below is this project's own estimate.
Grain under still water sprouts later than this says: it lacks air.
"""

from __future__ import annotations

from spawnwright.model.ranges import check_range
from spawnwright.sources import COMMON, JUDGMENT, Constant

SHORTEST_S = Constant(12 * 3600.0, "s", source=COMMON, where="an overnight soak, 12 to 24 h")
LONGEST_S = Constant(24 * 3600.0, "s", source=COMMON, where="an overnight soak, 12 to 24 h")
SHORTEST_WARM_S = Constant(
    6 * 3600.0, "s", source=JUDGMENT, where="less leaves dry middles, however warm the water"
)
WARM_C = Constant(
    22.0, "°C", source="Onofri2018",
    where="data set barley: 0.04 germinated after a day at 25 °C, none at 10 °C; Mesgaran2017: "
    "none after a day from 8 to 28 °C",
)  # fmt: skip
HALVED_EVERY_K = Constant(
    8.0, "K", source=JUDGMENT, where="what sours and what sprouts goes twice as fast every 8 K"
)
HOTTEST_SOAK_C = Constant(
    38.0, "°C", source=JUDGMENT, where="the two limits meet here: grain sours before it is soaked"
)


def soak_limits_s(water_c: float) -> tuple[float, float]:
    """Shortest and longest soak that the trade would accept in water of a temperature.

    Parameters
    ----------
    water_c : float
        Temperature that the water keeps, above 0 to 38 [°C].

    Returns
    -------
    shortest, longest : float
        12 and 24 h up to 22 °C; above, both halve every 8 °C, the first down to 6 h [s].

    Raises
    ------
    OutOfRange
        If the water is frozen, or so warm that grain sours before it is soaked.

    Examples
    --------
    >>> [round(limit / 3600, 1) for limit in soak_limits_s(26.0)]
    [8.5, 17.0]
    """
    check_range("Soaking water", water_c, 0.0, HOTTEST_SOAK_C, "°C")
    shrunk = 0.5 ** (max(0.0, water_c - WARM_C) / HALVED_EVERY_K)
    return max(float(SHORTEST_WARM_S), SHORTEST_S * shrunk), LONGEST_S * shrunk


def soak_warning(time_s: float, water_c: float) -> str:
    """What to know about a soak that is longer or shorter than the trade would accept.

    Parameters
    ----------
    time_s : float
        In the water; 0 for no soak at all [s].
    water_c : float
        Temperature that the water keeps [°C].

    Returns
    -------
    str
        A sentence for the grower; empty if there is nothing to say.
    """
    if time_s <= 0:
        return ""
    if water_c > HOTTEST_SOAK_C:
        return (
            f"At {water_c:g} °C grain sours within hours, and from about 50 °C on its starch "
            "swells; soak it cool, and count hot water as simmering."
        )
    shortest, longest = soak_limits_s(water_c)
    if time_s > longest * (1 + 1e-9):
        return (
            f"{time_s / 3600:.3g} h in water of {water_c:g} °C is long: past "
            f"{longest / 3600:.3g} h grain begins to sprout or sour (common practice). Keep it "
            "cooler, change the water every few hours, or soak for less; discard grain that "
            "smells sour."
        )
    if time_s < shortest * (1 - 1e-9):
        return (
            f"{time_s / 3600:.3g} h in water of {water_c:g} °C is short of the usual "
            f"{shortest / 3600:.3g} h: middles stay dry, and spores that were to be woken sleep on."
        )
    return ""
