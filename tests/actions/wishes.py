"""Wishes for tests: one that can be met, and changes to it."""

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import tomli_w

from spawnwright.actions.planning.facts import settled
from spawnwright.actions.planning.plan import plan
from spawnwright.records.plan import Plan, Step
from spawnwright.records.wish import Wish
from spawnwright.store.wish_file import parse_wish

NOW = datetime(2026, 11, 25, 18)  # a Wednesday
ALL_DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


def wish_table(**changes: dict[str, Any]) -> dict[str, Any]:
    """Four quarts of blue oyster for mid-January, and `changes` to its tables; None drops a key."""
    table: dict[str, Any] = {
        "wish": {
            "species": "blue oyster", "jars": 4, "ready_by": date(2027, 1, 15), "chance": "70%",
        },
        "kit": {"jar": "quart", "jars_free": 7, "canner": "one-layer"},
        "place": {"elevation": "450 m", "time_zone": "Europe/Warsaw"},
        "free": [{"days": ALL_DAYS, "from": time(8), "until": time(22)}],
    }  # fmt: skip
    for name, more in changes.items():
        if name == "free":
            table["free"] = more
            continue
        merged = table.get(name, {}) | more
        table[name] = {key: value for key, value in merged.items() if value is not None}
    return table


def wish(table: dict[str, Any], now: datetime = NOW) -> Wish:
    """The wish that a table means when it stands in a file."""
    return settled(parse_wish(tomli_w.dumps(table), "wish.toml", now, Path()))


def planned(now: datetime = NOW, **changes: Any) -> Plan:
    """The plan for the wish with changes."""
    return plan(wish(wish_table(**changes), now))


def steps(found: Plan, kind: str) -> list[Step]:
    """The steps of a kind."""
    return [step for step in found.steps if step.kind == kind]


def step(found: Plan, kind: str) -> Step:
    """The only step of a kind."""
    (only,) = steps(found, kind)
    return only
