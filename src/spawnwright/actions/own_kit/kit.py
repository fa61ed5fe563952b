"""The grower's kit: read it, change lines of it, take in what was measured at home."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from spawnwright.errors import OutOfRange, Unusable
from spawnwright.records.kit import NAMES, OF_A_JAR

if TYPE_CHECKING:
    from spawnwright.actions.own_kit.entries import Entry
    from spawnwright.records.jar import Jar
    from spawnwright.records.kit import Kit

_last: tuple[tuple[str, int, int] | None, Kit] | None = None


def own_kit(path: Path | None = None) -> Kit:
    """The kit as it is in its file now; an empty one if there is none.

    The file is read again only when it has changed, so that a page may ask each time. A file
    that is named, unlike the grower's own, must be there.
    """
    from spawnwright.store.kit_file import kit_path, read_kit

    global _last
    if path is not None and not path.is_file():
        raise Unusable(f"There is no kit file {path}; `./run kit` makes one.")
    path = path or kit_path()
    try:
        stat = path.stat()
        mark = (str(path), stat.st_mtime_ns, stat.st_size)
    except OSError:
        mark = None
    if _last is None or mark is None or _last[0] != mark:
        _last = (mark, read_kit(path))
    return _last[1]


def measured(kit: Kit, **as_typed: str) -> Kit:
    """The kit with lines of its own replaced, each as a person writes it; nothing is kept.

    Raises `Unusable` for a line that cannot be, or lines that contradict each other.
    """
    from spawnwright.store.kit_file import kit_of

    changed = kit_of(kit.typed | as_typed)
    check_kit(changed)
    return changed


def change_kit(changes: Mapping[str, str | None]) -> Kit:
    """Change what is known of the kit, and keep it; a line that is none is taken out.

    Measurements of a jar, a canner or a grain become an entry of the own catalogs, which the
    kit then names; everything else is a line of the kit's file. All is checked before anything
    is written.

    Parameters
    ----------
    changes : mapping
        By the names of `kit_questions.QUESTIONS`, each as a person writes it, with its unit.

    Raises
    ------
    Unusable
        If a line cannot be; nothing is written then.
    """
    from spawnwright.actions.own_kit.questions import QUESTIONS
    from spawnwright.store.kit_file import kit_of, write_kit
    from spawnwright.store.own_catalog import write_catalog

    given = _given(changes, QUESTIONS)
    typed = {
        name: text
        for name, text in (own_kit().typed | given).items()
        if name in NAMES and changes.get(name, text) is not None
    }
    kit_of(typed)  # every line by itself, before any is used
    entries = _entries(typed, given)
    for entry in entries:
        typed[entry.catalog.removesuffix("s")] = entry.key
    kit = kit_of(typed)
    check_kit(kit)
    for entry in entries:
        write_catalog(entry.catalog, entry.text)
    write_kit(kit)
    return kit


def _given(changes: Mapping[str, str | None], known: Mapping[str, object]) -> dict[str, str]:
    """What is to be set, looked up where it is a name."""
    from spawnwright.actions.own_kit.entries import LOOK_UP, refuse_unknown

    refuse_unknown(changes, {**known, **NAMES})
    for name, text in changes.items():
        if text is None and name not in NAMES:
            raise Unusable(
                f"{name!r} is no line of the kit's own but of the jar, canner or grain that it "
                "names; name another one instead."
            )
    given = {name: text for name, text in changes.items() if text is not None}
    for name, find in LOOK_UP.items():
        if name in given:
            find(given[name])
    return given


def _entries(typed: dict[str, str], given: Mapping[str, str]) -> list[Entry]:
    """Entries of the own catalogs that change; a jar measured whole leaves the kit's file."""
    from spawnwright.actions.own_kit import entries as kit_entries

    found: list[Entry] = []
    jar: Jar | None = None
    if any(name in given for name in OF_A_JAR):
        entry = kit_entries.jar_entry(typed)
        if entry is not None:
            jar, typed["jar"] = entry.record, entry.key
            found.append(entry)
            for name in OF_A_JAR:
                typed.pop(name, None)
    if kit_entries.GRAIN_LINE in given:
        found.append(kit_entries.grain_entry(typed, given[kit_entries.GRAIN_LINE], jar))
    of_canner = {name: given[name] for name in kit_entries.CANNER_LINES if name in given}
    if of_canner:
        found.append(kit_entries.canner_entry(typed, of_canner))
    return found


def check_kit(kit: Kit) -> None:
    """Raise for lines of a kit that cannot be, or that contradict each other.

    Raises
    ------
    OutOfRange
        For a shelf, a boiling time or a starting temperature that no kitchen has.
    Contradiction
        If the thermometer in boiling water and the elevation are more than 4 kPa apart, or more
        heat reached the pot than the burner uses up.
    """
    minutes = None if kit.boil_two_liters_s is None else kit.boil_two_liters_s / 60
    for what, value, low, high, unit in (
        ("The temperature of the shelf", kit.shelf_c, -5.0, 45.0, "°C"),
        ("The fill", None if kit.fill is None else 100 * kit.fill, 1.0, 100.0, "%"),
        ("The elevation", kit.elevation_m, -430.0, 6000.0, "m"),
        ("The thermometer in boiling water", kit.boils_at_c, 75.0, 105.0, "°C"),
        ("The burner's power", kit.burner_w, 100.0, 20000.0, "W"),
        ("The time to boil two liters", minutes, 1.5, 90.0, "min"),
        ("The water before it was boiled", kit.boiled_from_c, 0.0, 60.0, "°C"),
        ("The dose", kit.dose_ml, 0.01, 100.0, "mL"),
    ):
        if value is not None and not low <= value <= high:
            raise OutOfRange(what, value, low, high, unit)
    if _is_held_against_boiling(kit):
        from spawnwright.actions.own_kit.sums import refuse_far_apart

        refuse_far_apart(kit)
    if _is_held_against_power(kit):
        from spawnwright.actions.own_kit.sums import refuse_more_than_it_burns

        refuse_more_than_it_burns(kit)


def _is_held_against_boiling(kit: Kit) -> bool:
    return None not in (kit.elevation_m, kit.boils_at_c)


def _is_held_against_power(kit: Kit) -> bool:
    return None not in (kit.burner_w, kit.boil_two_liters_s, kit.boiled_from_c)


def needs_models(changes: Mapping[str, str | None]) -> bool:
    """Whether `change_kit` would load the models, to hold lines against each other.

    Raises `Unusable` for a line that cannot be.
    """
    from spawnwright.store.kit_file import kit_of

    typed = {
        name: text
        for name, text in {**own_kit().typed, **changes}.items()
        if name in NAMES and text is not None
    }
    kit = kit_of(typed)
    return _is_held_against_boiling(kit) or _is_held_against_power(kit)
