"""What a command takes from the grower's kit where an option was left out, and says so."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from spawnwright import units
from spawnwright.cli.answer import note

if TYPE_CHECKING:
    from spawnwright.records.kit import Kit


def kit_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """The option that names another kit, or none."""
    return click.option(
        "--kit",
        "kit_file",
        metavar="FILE|none",
        help="Where options that are left out are taken from. Left out: your own kit, if you have "
        "one (`./run kit`); none: nothing is.",
    )(function)


def fill_from_kit(asked: dict[str, Any], *, with_habits: bool = False) -> None:
    """Put the kit's values where an option was left out; what was given stays as it is.

    `asked` loses `kit_file`. Jar, fill, air outside, canner and burner are looked at, as far as
    the command has them; `with_habits` grain and gauge as well. `pot` is what the burner brings
    into the pot. Which were taken is said on standard error.
    """
    named = asked.pop("kit_file")
    asked.setdefault("pot", None)
    if named is not None and named.strip().casefold() == "none":
        return
    from spawnwright.actions.own_kit.kit import own_kit

    kit = own_kit(None if named is None else Path(named))
    taken = [
        *_jar(asked, kit),
        *_air(asked, kit),
        *_canner(asked, kit),
        *_burner(asked, kit),
        *(_habits(asked, kit) if with_habits else ()),
    ]
    if taken:
        note(f"From your kit: {', '.join(taken)}.")


def _is_left_out(name: str) -> bool:
    """Whether an option was not given, whatever its default is."""
    source = click.get_current_context().get_parameter_source(name)
    return source in (None, click.core.ParameterSource.DEFAULT)


def _jar(asked: dict[str, Any], kit: Kit) -> list[str]:
    if asked.get("bag") is not None or "jar" not in asked:
        return []
    said = []
    if asked["jar"] is None and kit.jar is not None:
        from spawnwright.actions.grain.jars import find_jar

        jar = asked["jar"] = find_jar(kit.jar)
        said.append(f"jar {jar.key}")
    is_grain = asked.get("contents", "grain") == "grain"  # the kit's fill is one of grain
    if _is_left_out("fill") and kit.fill is not None and is_grain:
        from spawnwright.records.fill import Fill

        asked["fill"] = Fill("share", kit.fill)
        said.append(f"fill {units.written(kit.fill, 'share')}")
    return said


def _air(asked: dict[str, Any], kit: Kit) -> list[str]:
    ways = ("elevation", "ambient", "boils_at")
    if any(asked.get(way, 0.0) is not None for way in ways):
        return []
    if kit.elevation_m is not None:
        asked["elevation"] = kit.elevation_m
        return [f"elevation {kit.elevation_m:.4g} m"]
    if kit.boils_at_c is not None:
        asked["boils_at"] = kit.boils_at_c
        return [f"water boils at {kit.boils_at_c:.1f} °C"]
    return []


def _canner(asked: dict[str, Any], kit: Kit) -> list[str]:
    if asked.get("canner", 0) is not None or kit.canner is None:
        return []
    from spawnwright.actions.catalogs import look_up

    canner = asked["canner"] = look_up("canners", kit.canner)
    return [f"canner {canner.key}"]


def _burner(asked: dict[str, Any], kit: Kit) -> list[str]:
    """The burner as a whole: another hob or power given is another burner."""
    if "burner" not in asked or not (_is_left_out("burner") and _is_left_out("hob")):
        return []
    from spawnwright.actions.own_kit.sums import pot_power_w

    said = []
    if kit.hob is not None:
        asked["hob"] = kit.hob
        said.append(f"hob {kit.hob}")
    if kit.burner_w is not None:
        asked["burner"] = kit.burner_w
        said.append(f"burner {kit.burner_w:.4g} W")
    asked["pot"] = pot_power_w(kit)
    if asked["pot"] is not None:
        said.append(f"{asked['pot']:.0f} W into the pot")
    return said


def _habits(asked: dict[str, Any], kit: Kit) -> list[str]:
    """Grain and gauge, for a command that takes the usual ones."""
    said = []
    if asked["grain"] is None and kit.grain is not None:
        from spawnwright.actions.catalogs import look_up

        grain = asked["grain"] = look_up("grains", kit.grain)
        said.append(f"grain {grain.key}")
    if asked["gauge"] is None and kit.gauge_pa is not None:
        asked["gauge"] = kit.gauge_pa
        said.append(units.written(kit.gauge_pa, "gauge pressure"))
    return said
