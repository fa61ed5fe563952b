"""The wish file: TOML → `Wish`, in SI, with the line of whatever is wrong.

`docs/wish.md` shows the file and says what each line means. Nothing is decided here: names are
looked up, quantities are read and held to bounds outside of which they are surely slips.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta, tzinfo
from pathlib import Path
from typing import Any

from spawnwright.errors import BadFile
from spawnwright.records.canner import Canner
from spawnwright.records.grain import Grain
from spawnwright.records.jar import Jar
from spawnwright.records.species import Species
from spawnwright.records.wish import (
    Culture,
    FreeHours,
    Goal,
    GrainWish,
    Kit,
    Losses,
    Place,
    UnderWay,
    Wish,
)
from spawnwright.store.catalog import parse_toml
from spawnwright.store.toml_lines import unknown_keys
from spawnwright.store.wish_table import WishTable

LARGEST_FILE = 1_000_000  # bytes; a wish is a page of text
EVERY_DAY = FreeHours((0, 1, 2, 3, 4, 5, 6), None, time(8), time(22))
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

KEYS: dict[str, tuple[str, ...]] = {
    "wish": ("species", "jars", "fresh_mushrooms", "ready_by", "start", "chance"),
    "grain": ("kind", "moisture", "target", "gypsum", "soak", "simmer", "new_lot", "in_stock"),
    "kit": (
        "jar", "fill", "jars_free", "lids_free", "canner", "gauge", "burner", "pot", "trays",
        "scale_max", "still_place", "cold_place", "cooling", "new_routine",
    ),
    "place": ("elevation", "room_temperature", "shelf_temperature", "time_zone"),
    "free": ("days", "on", "from", "until"),
    "culture": ("volume", "dose", "made", "tested"),
    "losses": ("jar", "run", "run_kill", "culture"),
    "under_way": (
        "soaking", "soaking_since", "lids_cured", "jars_washed", "drained", "drained_since",
        "cold", "sterile_jars", "sterile_since",
    ),
}  # fmt: skip


def read_wish(path: Path, now: datetime) -> Wish:
    """The wish in a file, as of `now`.

    Parameters
    ----------
    path : Path
        The TOML file.
    now : datetime
        When the plan is asked for; without a time zone it is read in that of the wish.

    Raises
    ------
    BadFile
        If the file is missing, no text, no TOML, or a line in it cannot be used; the text names
        the line.
    UnknownName
        If a species, grain, jar or canner is in no catalog; the text offers the nearest.
    Contradiction
        If two lines cannot both hold.
    """
    return parse_wish(_text_of(path), str(path), now, path.parent)


def _text_of(path: Path) -> str:
    if path.is_dir():
        raise BadFile(f"{path} is a folder; a wish is a TOML file.")
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise BadFile(f"{path} is larger than 1 MB; a wish is a page of text.")
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError as reason:
        raise BadFile(
            f"There is no file {path}; `./run plan --example` prints one to start from."
        ) from reason
    except UnicodeDecodeError as reason:
        raise BadFile(f"{path} is not text in UTF-8; save it as UTF-8.") from reason
    except BadFile:
        raise
    except (OSError, ValueError) as reason:
        raise BadFile(f"{path} cannot be read: {reason}.") from reason


def parse_wish(text: str, origin: str, now: datetime, folder: Path) -> Wish:
    """The wish in a TOML text; see `read_wish`. Relative names of files are looked up in `folder`.

    Errors
    ------
    As `read_wish`.
    """
    content = parse_toml(text, origin)
    unknown_keys(text, origin, "", content, KEYS)
    defaults: list[str] = []

    def table(name: str) -> WishTable:
        return WishTable(text, origin, name, content.get(name, {}), KEYS[name], defaults, folder)

    place = _place(table("place"))
    kit = _kit(table("kit"))
    now = _in_zone(now, place.time_zone)
    wish = Wish(
        goal=_goal(table("wish"), place.time_zone, now),
        grain=_grain(table("grain")),
        kit=kit,
        place=place,
        free=_free(content, text, origin, defaults),
        culture=_culture(table("culture"), kit, now),
        now=now,
        under_way=_under_way(table("under_way"), place.time_zone, now),
        losses=_losses(table("losses")),
    )
    return replace(wish, defaults=tuple(defaults))


def _in_zone(when: datetime, zone: tzinfo) -> datetime:
    return when.replace(tzinfo=zone) if when.tzinfo is None else when.astimezone(zone)


def _goal(table: WishTable, zone: tzinfo, now: datetime) -> Goal:
    species = table.record("species", Species, "species")
    jars = table.count("jars", 1, 1000)
    fresh_kg = table.number("fresh_mushrooms", "mass", None, 0.05, 500)
    if (jars is None) == (fresh_kg is None):
        raise table.contradiction("jars", "say how much: either jars or fresh_mushrooms, not both")
    ready_by = table.instant("ready_by", zone, at_end=True)
    start = table.instant("start", zone, at_end=False)
    if ready_by is None and start is None:
        raise table.contradiction("ready_by", "say when: ready_by or start is missing")
    if ready_by is not None and ready_by <= now:
        raise table.problem(
            "ready_by", f"{ready_by:%Y-%m-%d %H:%M} is past (it is {now:%Y-%m-%d %H:%M}); "
            "name a later date."
        )  # fmt: skip
    if ready_by is not None and ready_by - now > timedelta(days=731):
        raise _too_far(table, "ready_by", ready_by)
    if start is not None and start - now > timedelta(days=731):
        raise _too_far(table, "start", start)
    if start is not None and ready_by is not None and start >= ready_by:
        raise table.contradiction("start", "start must come before ready_by")
    chance = table.share("chance", "80%", 0.01, 0.999)
    return Goal(species, jars, fresh_kg, ready_by, start, chance)


def _too_far(table: WishTable, key: str, day: datetime) -> BadFile:
    return table.problem(
        key, f"{day:%Y-%m-%d} is more than two years away; name a nearer date."
    )  # fmt: skip


def _grain(table: WishTable) -> GrainWish:
    moisture = table.share("moisture", "12%", 0.05, 0.25)
    target = table.share("target", "48%", 0.35, 0.65)
    return GrainWish(
        grain=table.record("kind", Grain, "grains", default="rye"),
        dry_moisture=moisture,
        target_moisture=target,
        gypsum=table.share("gypsum", "0.5%", 0.0, 0.05),
        soak_s=table.number("soak", "duration", None, 12 * 3600, 24 * 3600),
        simmer_s=table.number("simmer", "duration", None, 60, 2 * 3600),
        is_new_lot=table.flag("new_lot", False),
        in_stock_kg=table.number("in_stock", "mass", None, 0.0, 100_000),
    )


def _kit(table: WishTable) -> Kit:
    canner = table.record("canner", Canner, "canners")
    gauge = table.gauge(canner.highest_gauge_pa, is_rated=canner.rated_gauge_pa is not None)
    jars_free = table.count("jars_free", 0, 2000, needed=True)
    lids_free = table.count("lids_free", 0, 2000, default=jars_free)
    jar = table.record("jar", Jar, "jars")
    fill, fill_kg = table.fill(jar, "70%")
    return Kit(
        jar=jar,
        fill=fill,
        jars_free=jars_free or 0,
        lids_free=lids_free or 0,
        canner=canner,
        gauge_pa=gauge,
        burner_w=table.number("burner", "power", "2 kW", 200, 50_000),
        pot_m3=table.number("pot", "volume", "12 L", 1e-3, 0.5),
        trays=table.count("trays", 1, 100, default=2) or 0,
        scale_max_kg=table.number("scale_max", "mass", "5 kg", 0.1, 1000),
        has_still_place=table.flag("still_place", True),
        has_cold_place=table.flag("cold_place", False),
        cooling=table.cooling(),
        is_new_routine=table.flag("new_routine", False),
        fill_kg=fill_kg,
    )


def _place(table: WishTable) -> Place:
    return Place(
        elevation_m=table.number("elevation", "elevation", None, -430, 6000, needed=True),
        room_c=table.number("room_temperature", "temperature", "20 C", 5, 38),
        shelf_c=table.number("shelf_temperature", "temperature", "22 C", 0, 45),
        time_zone=table.zone("time_zone"),
    )


def _free(
    content: dict[str, Any], text: str, origin: str, defaults: list[str]
) -> tuple[FreeHours, ...]:
    entries = content.get("free")
    if entries is None:
        defaults.append("free = every day from 08:00 to 22:00")
        return (EVERY_DAY,)
    if not isinstance(entries, list) or not all(isinstance(each, dict) for each in entries):
        raise BadFile(f"{origin}: hours that you are free stand in [[free]], two brackets.")
    return tuple(
        _hours(WishTable(text, origin, "free", entry, KEYS["free"], [], Path(), place))
        for place, entry in enumerate(entries)
    )


def _hours(table: WishTable) -> FreeHours:
    on = table.day("on")
    days = table.days("days", DAYS)
    if on is not None and days is not None:
        raise table.contradiction("on", "an entry of [[free]] has either days or on, not both")
    if days is None:
        days = () if on is not None else EVERY_DAY.weekdays
    start, until = table.clock("from"), table.clock("until")
    if start == until and start != time(0):
        raise table.contradiction("until", "from and until are the same time")
    return FreeHours(days, on, start, until)


def _culture(table: WishTable, kit: Kit, now: datetime) -> Culture:
    jar_m3 = float(kit.jar.nominal_volume_m3)
    usual_m3 = max(1e-6, 2e-3 * jar_m3)  # 2 mL a liter, at least 1 mL: common practice
    dose = table.number("dose", "volume", None, 1e-7, 1e-4)
    if dose is None:
        table.took(f'dose = "{usual_m3 * 1e6:.1f} mL"')
    volume = table.number("volume", "volume", None, 0.0, 0.1)
    made, tested = table.day("made"), table.day("tested")
    for key, day in (("made", made), ("tested", tested)):
        if day is not None and day > now.date():
            raise table.problem(key, f"{day} is yet to come (it is {now:%Y-%m-%d}).")
    if made is not None and tested is not None and tested < made:
        raise table.contradiction("tested", "the culture cannot be tested before it was made")
    return Culture(
        float("inf") if volume is None else volume,
        usual_m3 if dose is None else dose,
        made,
        tested,
    )


def _losses(table: WishTable) -> Losses:
    return Losses(
        jar=table.given_share("jar"),
        run=table.given_share("run"),
        run_kill=table.given_share("run_kill"),
        culture=table.given_share("culture"),
    )


def _under_way(table: WishTable, zone: tzinfo, now: datetime) -> UnderWay:
    soaking = table.number("soaking", "mass", None, 0.0, 1000)
    drained = table.number("drained", "mass", None, 0.0, 2000)
    sterile = table.count("sterile_jars", 0, 2000)
    since = {
        key: table.instant(key, zone, at_end=False)
        for key in ("soaking_since", "drained_since", "sterile_since")
    }
    for key, amount in zip(since, (soaking, drained, sterile), strict=True):
        what = key.removesuffix("_since")
        what = "sterile_jars" if what == "sterile" else what
        if bool(amount) != (since[key] is not None):
            raise table.contradiction(
                what if amount else key, f"{what} and {key} go together; one of them is missing"
            )
        moment = since[key]
        if moment is not None and moment > now:
            raise table.problem(
                key, f"{moment:%Y-%m-%d %H:%M} is yet to come (it is {now:%Y-%m-%d %H:%M})."
            )
    return UnderWay(
        soaking_kg=soaking or 0.0,
        soaking_since=since["soaking_since"],
        lids_cured=table.count("lids_cured", 0, 2000) or 0,
        jars_washed=table.count("jars_washed", 0, 2000) or 0,
        drained_kg=drained or 0.0,
        drained_since=since["drained_since"],
        is_cold=table.flag("cold", False, quiet=True),
        sterile_jars=sterile or 0,
        sterile_since=since["sterile_since"],
    )
