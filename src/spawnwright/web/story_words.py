"""The story of a jar in sentences: one line for each thing that happened to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from spawnwright.actions.book.standing import sign_words
from spawnwright.actions.book.story import Kin, StoryEvent
from spawnwright.records.book.signs import how_worrying
from spawnwright.web import words

_PLACES = {
    "sterilizer run": "/runs/{id}", "culture": "/cultures/{id}", "block": "/blocks/{id}",
    "batch": "/batches/{id}",
}  # fmt: skip


@dataclass(frozen=True)
class Told:
    """An event as a page shows it; `how` is how it is marked, `link` where more stands."""

    at: str
    what: str
    how: str = "quiet"
    lines: tuple[str, ...] = ()
    link: str = ""
    record: str = ""
    photos: tuple[dict[str, Any], ...] = ()


def told(event: StoryEvent, units: str, species: str | None = None) -> Told:
    """An event in words, masses and pressures in the units of the kit."""
    row = event.row
    made: Callable[[Mapping[str, Any], str], Told] | None = _SAYING.get(event.what)
    if event.what == "look":
        return _look(event, species)
    if made is None:
        return Told(event.at, event.what.capitalize(), record=row["id"], photos=event.photos)
    found = made(row, units)
    return Told(
        event.at, found.what, found.how, tuple(filter(None, found.lines)), found.link, row["id"],
        event.photos,
    )  # fmt: skip


def _look(event: StoryEvent, species: str | None) -> Told:
    row = event.row
    seen = [] if row["percent"] is None else [f"{row['percent']:.0f}\u00a0% white"]
    if row["sign"]:
        seen.append(row["sign"])
    how = how_worrying(row["sign"], species)
    what = f"Look: {', '.join(seen)}" if seen else "Look"
    lines = [
        f"Where: {row['place']}" if row["place"] else "",
        f"Smell: {row['smell']}" if row["smell"] else "", row["note"] or "",
        sign_words(row["sign"]) if how in ("caution", "harm") else "",
    ]  # fmt: skip
    return Told(
        event.at, what, how, tuple(filter(None, lines)), record=row["id"], photos=event.photos
    )


def _filled(row: Mapping[str, Any], units: str) -> Told:
    grain = words.mass(row["grain_kg"], units) + " of wet grain" if row["grain_kg"] else ""
    fill = f"{row['fill'] * 100:.0f}\u00a0% full" if row["fill"] else ""
    kind = f"Filled: {row['jar_kind'].replace('-', ' ')}"
    return Told("", kind, lines=(", ".join(filter(None, (fill, grain))), row["note"] or ""))


def _loaded(row: Mapping[str, Any], units: str) -> Told:
    parts = []
    if row["gauge_pa"] is not None:
        parts.append(f"{words.psi(row['gauge_pa']):.0f} psi ({row['gauge_pa'] / 1000:.0f} kPa)")
    if row["hold_min"] is not None:
        parts.append(f"held {row['hold_min']:.0f} min")
    if row["position"]:
        parts.append(row["position"])
    heat = ""
    if row["f0_likely_min"] is not None:
        band = (row["f0_low_min"], row["f0_high_min"])
        reach = f", {band[0]:.0f} to {band[1]:.0f}" if None not in band else ""
        heat = f"Lethality in the core: likely {row['f0_likely_min']:.0f} min{reach} (F0)"
    what = "Sterilized shut, in a run of spoiled jars" if row["purpose"] == "spoiled jars" else (
        "Sterilized"
    )  # fmt: skip
    return Told("", what, lines=(", ".join(parts), heat), link=f"/runs/{row['id']}")


def _inoculated(row: Mapping[str, Any], units: str) -> Told:
    dose = f", {row['dose_ml']:g} mL" if row["dose_ml"] else ""
    if row["dose_g"]:
        dose = f", {words.mass(row['dose_g'] / 1000, units)} of spawn"
    number = f"number {row['number']} of the sitting" if row["number"] else ""
    who = f"by {row['who']}" if row["who"] else ""
    lines = (", ".join(filter(None, (number, who, row["worked_where"]))), row["note"] or "")
    if row["from_jar"]:
        return Told("", f"Inoculated from jar {row['from_code']}{dose}", "well", lines,
                    f"/j/{row['from_code']}")  # fmt: skip
    link = f"/cultures/{row['culture']}"
    return Told("", f"Inoculated from {row['culture_name']}{dose}", "well", lines, link)


def _shake(row: Mapping[str, Any], units: str) -> Told:
    return Told("", "Shaken", lines=(row["note"] or "",))


def _gave(row: Mapping[str, Any], units: str) -> Told:
    dose = f", {words.mass(row['dose_g'] / 1000, units)}" if row["dose_g"] else ""
    return Told("", f"Gave spawn to jar {row['code']}{dose}", "well", link=f"/j/{row['code']}")


def _used(row: Mapping[str, Any], units: str) -> Told:
    mass = f", {words.mass(row['spawn_kg'], units)}" if row["spawn_kg"] else ""
    return Told("", f"Used in {row['block_name']}{mass}", "well", (row["note"] or "",),
                f"/blocks/{row['block']}")  # fmt: skip


def _harvest(row: Mapping[str, Any], units: str) -> Told:
    flush = f", flush {row['flush']}" if row["flush"] else ""
    return Told(
        "", f"Harvest from {row['block_name']}: {words.mass(row['mass_kg'], units)}{flush}", "well",
        (row["note"] or "",), f"/blocks/{row['block']}",
    )  # fmt: skip


def _outcome(row: Mapping[str, Any], units: str) -> Told:
    how = "harm" if row["outcome"] == "spoiled" else "well"
    return Told("", str(row["outcome"]).capitalize(), how, (row["outcome_note"] or "",))


def _back(row: Mapping[str, Any], units: str) -> Told:
    return Told("", f"Jar {row['jar_back']}, lid {row['lid_back']}", "well")


def _photo(row: Mapping[str, Any], units: str) -> Told:
    return Told("", "Photo", lines=(row["note"] or "",))


_SAYING: dict[str, Callable[[Mapping[str, Any], str], Told]] = {
    "filled": _filled, "loaded": _loaded, "inoculated": _inoculated, "shake": _shake,
    "gave spawn": _gave, "used": _used, "harvest": _harvest, "outcome": _outcome,
    "jar back": _back, "photo": _photo,
    "moved away": lambda row, units: Told("", "Moved away, shut"),
}  # fmt: skip


def address_of(kin: Kin) -> str:
    """Where a relative has its page."""
    if kin.kind == "jar":
        return f"/j/{kin.name}"
    return _PLACES.get(kin.kind, "/record/{id}").format(id=kin.id)
