"""Find a jar: by name, by volume, in a file, or from three measurements in the kitchen."""

from __future__ import annotations

import re

from spawnwright import units
from spawnwright.errors import NotAQuantity, UnknownName
from spawnwright.records.jar import Jar, MeasuredJar
from spawnwright.sources import OWN, Constant
from spawnwright.store import catalog

_SAME_VOLUME = 0.01  # "0.95 L" is a quart, "0.9 L" is no jar of the catalog


def find_jar(wanted: str) -> Jar:
    """The jar that a text names.

    `wanted` is a name from `jars` ("quart"), a volume ("0.5 L"), the path of a TOML file, or
    three measurements ("980 g, 30.1 cm, 16.2 cm": water to the brim, a string round the outside,
    height inside). Raises `UnknownName` for a name or a volume that no jar has, `NotAQuantity`
    or `Contradiction` for measurements that cannot be.
    """
    # A comma right behind a unit parts, one between digits is a decimal comma.
    parts = re.split(r"[,;]\s+|;|(?<=[^\W\d_])\s*,", wanted.strip())
    parts = [part.strip() for part in parts if part.strip()]
    if len(parts) == 3:
        return measured_jar(*parts)
    try:
        return catalog.find(Jar, "jars", wanted)
    except UnknownName:
        volume = _volume(wanted)
        if volume is None:
            raise
        return _of_volume(volume, wanted)


def measured_jar(brim_water: str, string_round: str, inside_height: str) -> Jar:
    """The jar that holds this much water to the brim, with this girth and inside height."""

    def given(text: str, kind: str, what: str) -> Constant:
        try:
            number = units.parse(text, kind)
        except NotAQuantity as problem:
            raise NotAQuantity(
                f'Jar: {problem} Three measurements are written "980 g, 30.1 cm, 16.2 cm": water '
                "to the brim, a string round the outside, height inside."
            ) from problem
        return Constant(number, units.KINDS[kind].unit, source=OWN, where=what)

    return MeasuredJar(
        key="own jar",
        names=(),
        brim_water_kg=given(brim_water, "mass", "water to the brim"),
        string_round_m=given(string_round, "length", "a string round the outside"),
        inside_height_m=given(inside_height, "length", "height inside"),
    ).settled()


def _volume(wanted: str) -> float | None:
    try:
        return units.parse(wanted, "volume")
    except NotAQuantity:
        return None


def _of_volume(volume_m3: float, wanted: str) -> Jar:
    jars = sorted(
        catalog.catalog(Jar, "jars").values(),
        key=lambda jar: abs(jar.nominal_volume_m3 - volume_m3),
    )
    if jars and abs(jars[0].nominal_volume_m3 / volume_m3 - 1) <= _SAME_VOLUME:
        return jars[0]
    raise UnknownName(
        "jar",
        wanted,
        tuple(jar.key for jar in jars[:2]),
        'Yours can be given by three measurements, like --jar "980 g, 30.1 cm, 16.2 cm".',
    )
