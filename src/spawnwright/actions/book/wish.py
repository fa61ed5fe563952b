"""The wish of a batch, to be changed and planned again from where the batch stands."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import rows_of
from spawnwright.actions.planning.questions import QUESTIONS
from spawnwright.errors import SpawnwrightError
from spawnwright.units import parse_share

if TYPE_CHECKING:
    from sqlalchemy import Connection


def wish_of_batch(connection: Connection, batch: str, now: datetime) -> dict[str, Any]:
    """A batch with its wish, and what has been done already as the fields of the wish's form.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    batch : str
        Its id.
    now : datetime
        In the grower's time zone.

    Returns
    -------
    dict
        `id`, `name`, `planned_at`, `wish` (the text, empty for a batch without one), `under_way`;
        `jar`, `fill`, `grain`, `elevation_m` and `canner` as in `jars_wished`.
    """
    from spawnwright.store.book import batches as asked
    from spawnwright.store.book.due import waiting_sterile

    row = rows_of(connection, [batch], "batch")[batch]
    done = {
        task["key"]: task | {"numbers": json.loads(task["amounts"] or "{}")}
        for task in asked.tasks_of(connection, batch)
        if task["done_at"] is not None
    }
    found = {"lids_cured": _made(done, "make_lids", "lids")}
    found["jars_washed"] = _made(done, "wash_jars", "jars")
    found |= _soaking(done, now)
    sterile, since = waiting_sterile(connection, batch)
    if sterile and since:
        found["sterile_jars"], found["sterile_since"] = str(sterile), _box(since, now)
    told = {name: text for name, text in found.items() if text}
    return {
        "id": batch, "name": row["name"], "wish": row["wish"] or "", "under_way": told,
        "planned_at": datetime.fromisoformat(row["planned_at"] or row["started_at"]),
        **jars_wished(row, now),
    }  # fmt: skip


def jars_wished(row: Mapping[str, Any], now: datetime) -> dict[str, Any]:
    """What a batch's wish says of its jars, grain and canner; the usual if it has none.

    Gives jar, fill [-], grain, moisture to reach [-], elevation [m] and canner; a fill, an
    elevation or a canner that is not said is none.

    Parameters
    ----------
    row : mapping
        The batch.
    now : datetime
        Used for a batch that does not say when it was planned.
    """
    from spawnwright.actions.planning.form import ORIGIN
    from spawnwright.store.catalog import own_folder
    from spawnwright.store.wish_file import parse_wish

    usual = parse_share(QUESTIONS["target"].usual)
    if not row["wish"]:
        return {"jar": "quart", "fill": None, "grain": "rye", "target": usual,
                "elevation_m": None, "canner": None}  # fmt: skip
    planned_at = datetime.fromisoformat(row["planned_at"]) if row["planned_at"] else now
    try:
        wish = parse_wish(row["wish"], ORIGIN, planned_at, own_folder())
    except SpawnwrightError:
        # Named a jar or canner of the grower's own that is gone; the batch is shown all the same.
        return _as_written(row["wish"], usual)
    return {
        "jar": wish.kit.jar.key, "fill": wish.kit.fill, "grain": wish.grain.grain.key,
        "target": wish.grain.target_moisture, "elevation_m": wish.place.elevation_m,
        "canner": wish.kit.canner.key,
    }  # fmt: skip


def _as_written(text: str, usual: float) -> dict[str, Any]:
    """What a wish that can no longer be read calls its jar and grain."""
    content = tomllib.loads(text)
    jar, grain = content["kit"]["jar"], content.get("grain", {}).get("kind", "rye")
    return {
        "jar": jar if isinstance(jar, str) else "own", "fill": None,
        "grain": grain if isinstance(grain, str) else "own", "target": usual,
        "elevation_m": None, "canner": None,
    }  # fmt: skip


def _made(done: dict[str, dict[str, Any]], kind: str, what: str) -> str:
    made = sum(task["numbers"].get(what, 0) for task in done.values() if task["kind"] == kind)
    filled = sum(task["numbers"].get("jars", 0) for task in done.values() if task["kind"] == "fill")
    return f"{made - filled:.0f}" if made > filled else ""


def _soaking(done: dict[str, dict[str, Any]], now: datetime) -> dict[str, str]:
    """Grain that was put to soak and is not rinsed yet."""
    rinsed = {task["soak"] for task in done.values() if task["kind"] == "rinse"}
    for task in done.values():
        if task["kind"] == "soak" and task["soak"] not in rinsed:
            dry = task["numbers"].get("dry_grain_kg", 0)
            return {"soaking": f"{dry:.2f} kg", "soaking_since": _box(task["done_at"], now)}
    return {}


def _box(instant: str, now: datetime) -> str:
    return datetime.fromisoformat(instant).astimezone(now.tzinfo).strftime("%Y-%m-%dT%H:%M")
