"""Everything about one culture: what is left, what it came from, what came of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.culture import CultureLine, culture_line
from spawnwright.actions.book.doubt import quarantines_of
from spawnwright.actions.book.story import Kin, named_kin

if TYPE_CHECKING:
    from sqlalchemy import Connection

MOST_JARS = 300


@dataclass(frozen=True)
class CultureStory:
    """A culture as its page shows it."""

    line: CultureLine
    came_from: tuple[Kin, ...]
    made_from_it: tuple[Kin, ...]
    """Other cultures, nearest first."""
    jars: tuple[dict[str, Any], ...]
    """Jars inoculated from it, last first: code, when, dose, what became of it."""
    quarantines: tuple[dict[str, Any], ...]


def culture_story(connection: Connection, culture: str) -> CultureStory:
    """The story of a culture; raises `UnknownName` if there is none of that id."""
    from spawnwright.store.book.cultures import jars_from
    from spawnwright.store.book.lineage import nearest

    line = culture_line(connection, culture)
    up, _ = nearest(connection, culture, "up", 100)
    down, _ = nearest(connection, culture, "down", 500, counted=False)
    return CultureStory(
        line,
        named_kin(connection, up),
        named_kin(connection, [each for each in down if each.kind == "culture"]),
        tuple(jars_from(connection, culture, MOST_JARS)),
        tuple(quarantines_of(connection, [culture]).get(culture, ())),
    )
