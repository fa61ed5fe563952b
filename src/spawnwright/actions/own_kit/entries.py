"""From home measurements to an entry of the own catalogs: the jar, the canner, the grain."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from spawnwright import units
from spawnwright.actions.grain.jars import find_jar
from spawnwright.errors import Contradiction, NotAQuantity, OutOfRange, UnknownName, Unusable
from spawnwright.records.canner import Canner
from spawnwright.records.grain import Grain
from spawnwright.records.jar import WATER_KG_M3, Jar
from spawnwright.records.kit import OF_A_JAR
from spawnwright.sources import JUDGMENT, Constant
from spawnwright.store import catalog
from spawnwright.store.own_catalog import check_entry, own_entry, with_entry

CANNER_LINES = {
    "canner_mass": ("mass", "mass"), "canner_material": ("material", "text"),
    "canner_diameter": ("inner_diameter", "length"), "canner_height": ("inside_height", "length"),
    "rack_height": ("rack_height", "length"), "canner_water": ("water", "volume"),
    "most_water": ("most_water", "volume"),
    "gauge_kind": ("gauge", "text"), "rated_gauge": ("rated_gauge", "gauge pressure"),
}  # fmt: skip
"""Measurements of a canner: the line of `canners.toml` and its kind of quantity."""
GRAIN_LINE = "dry_grain"
LEVEL_BY_EYE = Constant(
    0.03, "-", source=JUDGMENT, where="a level of grain read from outside, a few millimeters"
)
STRUCK_LEVEL = Constant(
    0.01, "-", source=JUDGMENT, where="grain struck level with the brim, poured a little looser"
)
LIGHTEST_KG_M3 = Constant(
    300.0, "kg/m³", source=JUDGMENT, where="lighter than oats in the hull, loosely poured"
)
HEAVIEST_KG_M3 = Constant(
    1000.0, "kg/m³", source=JUDGMENT, where="heavier than any grain that is poured"
)
_ROOM_ABOVE = (0.98, 1.15)  # volume to the brim over the size that a jar is sold as


@dataclass(frozen=True)
class Entry:
    """What an own catalog will say: its whole text, and the key of the entry."""

    catalog: str
    key: str
    text: str
    record: Any


def jar_entry(typed: Mapping[str, str]) -> Entry | None:
    """The jar that the lines of a kit measure; none while one of the three is missing.

    Parameters
    ----------
    typed : mapping
        Lines of the kit: `jar`, and those of `OF_A_JAR`.

    Raises
    ------
    Contradiction
        If the measurements cannot belong to one jar.
    """
    base = typed.get("jar")
    own = own_entry("jars", base) or {}
    own = own if "brim_water" in own else {}
    lines: dict[str, Any] = {
        name: typed[name] for name in ("string_round", "inside_height") if name in typed
    }
    empty = typed.get("jar_empty", own.get("glass_mass"))
    if "jar_empty" in typed:
        lines["glass_mass"] = typed["jar_empty"]
    if "jar_full" in typed and isinstance(empty, str):
        lines["brim_water"] = _brim_water(typed["jar_full"], empty)
    if any(each not in lines | own for each in ("brim_water", "string_round", "inside_height")):
        return None
    if "jar_full" in typed and "brim_water" not in lines:
        return None
    key = str(base) if own else _free_key("jars", "my-jar")
    if not own:
        lines = {"names": [key.replace("-", " ")], **lines, **_sold_as(lines["brim_water"], base)}
    text = with_entry("jars", key, lines)
    return Entry("jars", key, text, check_entry("jars", key, text, Jar))


def _brim_water(full: str, empty: str) -> str:
    water = units.parse(full, "mass") - units.parse(empty, "mass")
    if water <= 0:
        raise Contradiction(
            f"The jar weighs {empty} empty and {full} full of water; full must be more. Weigh both "
            "again."
        )
    return f"{1000 * water:.5g} g"


def _sold_as(brim_water: str, base: str | None) -> dict[str, str]:
    """The size that shares of fill refer to: that of the jar it was said to be like."""
    volume = units.parse(brim_water, "mass") / WATER_KG_M3
    if base is not None:
        sizes = [float(find_jar(base).nominal_volume_m3)]
    else:
        sizes = [float(each.nominal_volume_m3)
                 for each in catalog.shipped_catalog(Jar, "jars").values()]  # fmt: skip
    least, most = _ROOM_ABOVE
    fitting = [each for each in sizes if least <= volume / each <= most]
    return {"nominal_volume": f"{1e6 * max(fitting):.6g} mL"} if fitting else {}


def canner_entry(typed: Mapping[str, str], changes: Mapping[str, str]) -> Entry:
    """The canner with what was measured of it; the rest from the one that it is like.

    Parameters
    ----------
    typed : mapping
        Lines of the kit: `canner` [-].
    changes : mapping
        Measurements by the names of `CANNER_LINES`, as typed.
    """
    base = typed.get("canner")
    own = own_entry("canners", base)
    lines: dict[str, Any] = {
        CANNER_LINES[name][0]: _canner_line(name, text) for name, text in changes.items()
    }
    is_sized = {"inner_diameter", "inside_height"} & set(lines)
    if own is None:
        like = _like(Canner, "canners", base or "two-layer")
        key = _free_key("canners", "my-canner")
        lines = {"like": like, "names": [key.replace("-", " ")], **lines,
                 "note": "measured at home"}  # fmt: skip
    else:
        key = str(base)
    if is_sized and "like" in (own or lines) and "holds" not in (own or {}):
        lines["holds"] = []  # what fits is worked out from the measured size
    if "water" in lines and "most_water" not in lines | (own or {}):
        lines |= _most_water(lines["water"], (own or lines).get("like"))
    text = with_entry("canners", key, lines)
    record = check_entry("canners", key, text, Canner)
    _refuse_size(record)
    if 1000 * record.water_m3 > record.most_water_kg * (1 + 1e-9):
        raise Contradiction(
            f"You usually put {1000 * record.water_m3:.4g} L into the canner, and at most "
            f"{record.most_water_kg:.4g} L may go in; say both again, --canner-water and "
            "--most-water."
        )
    return Entry("canners", key, text, record)


def _refuse_size(record: Canner) -> None:
    """Raise `OutOfRange` for a canner that no stove carries: a unit mistyped."""
    for what, value, low, high, unit in (
        ("The canner's mass", float(record.mass_kg), 0.5, 40.0, "kg"),
        ("The canner's inner diameter", 100 * float(record.inner_diameter_m), 12.0, 80.0, "cm"),
        ("The canner's inside height", 100 * float(record.inside_height_m), 8.0, 90.0, "cm"),
        ("The height of the rack", 100 * float(record.rack_height_m), 0.0, 20.0, "cm"),
    ):
        if not low <= value <= high:
            raise OutOfRange(what, value, low, high, unit)


def _most_water(water: str, like: Any) -> dict[str, str]:
    """The most that fits stays that of the canner it is like; less is only put in by habit."""
    if like is None:
        return {}
    most_l = catalog.find(Canner, "canners", str(like)).most_water_kg
    return {"most_water": f"{most_l:.4g} L"} if 1000 * units.parse(water, "volume") < most_l else {}


def _canner_line(name: str, text: str) -> str:
    kind = CANNER_LINES[name][1]
    if kind == "text":
        return text
    if kind == "volume":
        try:
            return f"{units.parse(text, 'mass'):.5g} L"
        except NotAQuantity:
            pass  # a volume, as is usual
    units.parse(text, kind)
    return text


def grain_entry(typed: Mapping[str, str], dry_grain: str, jar: Jar | None) -> Entry:
    """The grain with its bulk density, from what a jar of it weighs.

    Parameters
    ----------
    typed : mapping
        Lines of the kit: `grain`, `jar`, `fill` [-].
    dry_grain : str
        Mass of the dry grain in the jar, as typed.
    jar : Jar or None
        The jar, if it is measured in the same moment [-].

    Raises
    ------
    Unusable
        If grain, jar or fill are not known, or the density is one that no grain has.
    """
    missing = [name for name in ("grain", "jar", "fill") if name not in typed]
    if missing:
        raise Unusable(
            f"{dry_grain} of dry grain says nothing without {' and '.join(missing)}; give "
            f"{' and '.join(f'--{name}' for name in missing)} as well."
        )
    base, fill = typed["grain"], units.parse_share(typed["fill"])
    volume = fill * float((jar or find_jar(typed["jar"])).nominal_volume_m3)
    density = units.parse(dry_grain, "mass") / volume if volume > 0 else 0.0
    if not LIGHTEST_KG_M3 <= density <= HEAVIEST_KG_M3:
        raise OutOfRange(
            f"{dry_grain} of dry grain in {typed['fill']} of a {typed['jar']} jar: its density",
            round(density), LIGHTEST_KG_M3, HEAVIEST_KG_M3, "kg/m³",
        )  # fmt: skip
    off = LEVEL_BY_EYE if fill < 1 else STRUCK_LEVEL
    lines: dict[str, Any] = {
        "dry_bulk_density": {
            "value": round(density, 1),
            "low": round(density * (1 - off), 1),
            "high": round(density * (1 + off), 1),
            "where": f"{dry_grain} in a {typed['jar']} jar, {typed['fill']} full",
        }
    }
    key = base
    if own_entry("grains", base) is None:
        like = _like(Grain, "grains", base)
        key = _free_key("grains", f"my-{like}")
        lines = {"like": like, "names": [key.replace("-", " ")], **lines}
    text = with_entry("grains", key, lines)
    return Entry("grains", key, text, check_entry("grains", key, text, Grain))


def _like(record_type: type[Any], name: str, wanted: str) -> str:
    found: str = catalog.find(record_type, name, wanted).key
    if found not in catalog.shipped_catalog(record_type, name):
        raise Unusable(
            f"{wanted!r} is in a file of its own; write what you measured there, or name one of "
            f"`./run {name}` that yours is like."
        )
    return found


def _free_key(name: str, wanted: str) -> str:
    """A key that no entry of the own catalog has: "my-jar", "my-jar-2" and so on."""
    count = 1
    while own_entry(name, wanted if count == 1 else f"{wanted}-{count}") is not None:
        count += 1
    return wanted if count == 1 else f"{wanted}-{count}"


def refuse_unknown(changes: Mapping[str, str | None], known: Mapping[str, object]) -> None:
    """Raise `UnknownName` for a line that nothing reads, with the nearest."""
    from difflib import get_close_matches

    for name in changes:
        if name not in known:
            raise UnknownName("line of a kit", name, tuple(get_close_matches(name, list(known), 2)))


LOOK_UP: dict[str, Callable[[str], object]] = {
    "jar": find_jar,
    "canner": lambda wanted: catalog.find(Canner, "canners", wanted),
    "grain": lambda wanted: catalog.find(Grain, "grains", wanted),
}
"""Lines that name an entry of a catalog, and how it is found."""

__all__ = [
    "CANNER_LINES", "GRAIN_LINE", "LOOK_UP", "OF_A_JAR", "Entry", "canner_entry", "grain_entry",
    "jar_entry", "refuse_unknown",
]  # fmt: skip
