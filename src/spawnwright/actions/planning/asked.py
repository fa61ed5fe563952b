"""Planning for a page: in the process that knows the models, with an answer that needs none."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from datetime import datetime
from typing import Any

from spawnwright.actions.planning.facts import settled
from spawnwright.actions.planning.form import ORIGIN, plainly
from spawnwright.actions.planning.plan import plan
from spawnwright.errors import SpawnwrightError, Unusable
from spawnwright.records.plan import Plan
from spawnwright.store.catalog import own_folder
from spawnwright.store.wish_file import parse_wish


def planned(text: str, now: datetime) -> Plan:
    """The plan for the text of a wish, in plain numbers and in words without the file's names.

    Parameters
    ----------
    text : str
        TOML, as `plan_form.read_typed` gives it.
    now : datetime
        As of when; the same text at the same instant gives the same plan.

    Raises
    ------
    Unusable
        For a wish that no plan can be made from.
    """
    try:
        found = plan(settled(parse_wish(text, ORIGIN, now, own_folder())))
    except SpawnwrightError as problem:
        raise Unusable(plainly(str(problem))) from problem
    binding = tuple(
        replace(each, limit=plainly(each.limit), would_free=plainly(each.would_free))
        for each in found.binding
    )
    notes = tuple(filter(None, map(plainly, found.notes)))
    plain: Plan = _plain(replace(found, binding=binding, notes=notes))
    return plain


def _plain(value: Any) -> Any:
    """The same without numbers of NumPy's, which whoever takes the answer would have to load."""
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{each.name: _plain(getattr(value, each.name))
                                 for each in fields(value)})  # fmt: skip
    if isinstance(value, tuple):
        return tuple(map(_plain, value))
    if isinstance(value, dict):
        return {name: _plain(each) for name, each in value.items()}
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, float):
        return float(value)
    return int(value) if isinstance(value, int) else value
