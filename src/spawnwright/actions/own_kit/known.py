"""What is known of a kit by now, line by line, whichever of the grower's files it stands in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from spawnwright.actions.own_kit.entries import CANNER_LINES, GRAIN_LINE
from spawnwright.actions.own_kit.questions import QUESTIONS, KitQuestion
from spawnwright.records.kit import Kit
from spawnwright.store.own_catalog import own_entry


def known_lines(kit: Kit) -> dict[str, str]:
    """Every question of the kit that has an answer, by name, as it was written."""
    found = dict(kit.typed)
    jar = own_entry("jars", kit.jar) or {}
    for name, line in (("jar_empty", "glass_mass"), ("string_round", "string_round"),
                       ("inside_height", "inside_height")):  # fmt: skip
        found |= _written(name, jar.get(line))
    if "brim_water" in jar:
        found |= _written("jar_full", jar["brim_water"], "{} of water")
    grain = own_entry("grains", kit.grain) or {}
    density = grain.get("dry_bulk_density")
    if isinstance(density, Mapping):
        density = density.get("where") or density.get("value")
    found |= _written(GRAIN_LINE, density)
    canner = own_entry("canners", kit.canner) or {}
    for name, (line, _) in CANNER_LINES.items():
        found |= _written(name, canner.get(line))
    return {name: found[name] for name in QUESTIONS if name in found}


def open_questions(kit: Kit) -> tuple[KitQuestion, ...]:
    """What has no answer yet, in the order in which it is asked."""
    known = known_lines(kit)
    return tuple(each for each in QUESTIONS.values() if each.name not in known)


def _written(name: str, value: Any, how: str = "{}") -> dict[str, str]:
    if isinstance(value, Mapping):
        value = value.get("value")
    return {} if value is None else {name: how.format(value)}
