"""Everything about one jar, in order, with what it came from, what came of it, what it needs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import tzinfo
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.doubt import quarantines_of
from spawnwright.actions.book.jars import NextStep, next_for_spoiled

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sqlalchemy import Connection

MOST_SHOWN = 100
"""Relatives that are named; of a strain's first jar there may be a hundred thousand."""


@dataclass(frozen=True)
class StoryEvent:
    """One thing that happened to a jar: when, what kind, and the record that says so.

    Kinds: filled, loaded, inoculated, look, photo, shake, gave spawn, used, harvest, moved away,
    outcome, jar back.
    """

    at: str
    what: str
    row: dict[str, Any]
    photos: tuple[dict[str, Any], ...] = ()
    """The photos taken at a look."""


@dataclass(frozen=True)
class Kin:
    """A record that a jar came from, or that came from it, so many links away."""

    id: str
    kind: str
    name: str
    steps: int


@dataclass(frozen=True)
class JarStory:
    """Everything about one jar."""

    row: dict[str, Any]
    origin: dict[str, dict[str, Any]]
    """Its batch, grain batch and lid batch, as far as there are any."""
    events: tuple[StoryEvent, ...]
    generation: int
    came_from: tuple[Kin, ...]
    came_of_it: tuple[Kin, ...]
    came_of_it_count: int
    """Of all that came of it, which may be more than are named."""
    quarantines: tuple[dict[str, Any], ...]
    """Those over it, each with the `name` of the record that is in doubt."""
    next_step: NextStep | None
    """What a spoiled jar needs next."""
    disputed: bool
    """Whether devices said different things of it, and nobody has settled it."""


def jar_story(connection: Connection, code: str, zone: tzinfo | None = None) -> JarStory:
    """The story of the jar that a code names.

    Raises `Unusable` for what is no code, `UnknownName` with the nearest for one that no jar has.
    """
    from spawnwright.store.book.shelf import jar_with_code

    return story_of_jar(connection, jar_with_code(connection, code), zone)


def story_of_jar(connection: Connection, jar: str, zone: tzinfo | None = None) -> JarStory:
    """The story of the jar of an id."""
    from spawnwright.actions.book.hand import rows_of
    from spawnwright.store.book.history import current
    from spawnwright.store.book.lineage import generations

    row = rows_of(connection, [jar], "jar")[jar]
    wanted = {name: row[name] for name in ("batch", "grain_batch", "lid_batch") if row[name]}
    there = current(connection, wanted.values())
    up, _ = _kin(connection, jar, "up", zone)
    down, count = _kin(connection, jar, "down", zone)
    return JarStory(
        row=row,
        origin={name: there[record] for name, record in wanted.items()},
        events=_events(connection, row),
        generation=generations(connection, [jar])[jar],
        came_from=up,
        came_of_it=down,
        came_of_it_count=count,
        quarantines=tuple(quarantines_of(connection, [jar], zone).get(jar, ())),
        next_step=next_for_spoiled(connection, jar),
        disputed=row["disputed"] is not None,
    )


def _events(connection: Connection, row: dict[str, Any]) -> tuple[StoryEvent, ...]:
    from spawnwright.store.book import story

    jar = row["id"]
    photos: dict[str | None, list[dict[str, Any]]] = {}
    for each in story.photos_of(connection, jar):
        photos.setdefault(each["look"], []).append(each)
    events = [StoryEvent(row["filled_at"], "filled", row)]
    events += [StoryEvent(e["started_at"], "loaded", e) for e in story.runs_of(connection, jar)]
    events += [StoryEvent(e["at"], "inoculated", e) for e in story.inoculations_of(connection, jar)]
    for kind in ("look", "shake"):
        rows = story.about_jar(connection, kind, jar)
        events += [
            StoryEvent(e["at"], kind, e, tuple(photos.pop(e["id"], ()) if kind == "look" else ()))
            for e in rows
        ]
    events += [
        StoryEvent(p["taken_at"], "photo", p, (p,)) for all_ in photos.values() for p in all_
    ]
    events += [StoryEvent(e["at"], "gave spawn", e) for e in story.spawn_given(connection, jar)]
    events += [StoryEvent(e["at"], "used", e) for e in story.uses_of(connection, jar)]
    events += [StoryEvent(e["at"], "harvest", e) for e in story.harvests_of(connection, jar)]
    for column, what in (("moved_away_at", "moved away"), ("outcome_at", "outcome"),
                         ("jar_back_at", "jar back")):  # fmt: skip
        if row[column] is not None:
            events.append(StoryEvent(row[column], what, row))
    return tuple(sorted(events, key=lambda each: each.at))


def _kin(
    connection: Connection, jar: str, way: str, zone: tzinfo | None
) -> tuple[tuple[Kin, ...], int]:
    """The nearest relatives without the links between them, and how many there are in all."""
    from spawnwright.store.book.lineage import nearest

    found, count = nearest(connection, jar, way, MOST_SHOWN)
    return named_kin(connection, found, zone), count


def named_kin(
    connection: Connection, relatives: Iterable[Any], zone: tzinfo | None = None
) -> tuple[Kin, ...]:
    """Relatives with what they are called."""
    from spawnwright.store.book.names import names_of_records

    listed = list(relatives)
    names = names_of_records(connection, [each.id for each in listed], zone)
    return tuple(Kin(each.id, each.kind, names[each.id], each.steps) for each in listed)
