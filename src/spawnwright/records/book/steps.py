"""Steps: what somebody did in one go, and how a record follows from all that was said of it.

A step is entered once, received once and undone as a whole: a look at one jar, a round of forty,
a correction. It holds entries; an entry says something of one record. Nothing is overwritten:
a record as it is now is what its entries, in the order of receipt, add up to.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Entry:
    """What a step says of one record.

    `fields` holds only what is said; `seen` are the steps that whoever wrote it had before them
    as the last ones about the record, none for a new record.
    """

    record: str
    kind: str
    fields: dict[str, Any]
    seen: tuple[str, ...] = ()


@dataclass(frozen=True)
class Step:
    """What somebody did in one go; `id` is made by the device and makes sure it arrives once.

    `at` is the device's time, `received` the book's; both are UTC text.
    """

    id: str
    at: str
    who: str
    device: str
    title: str
    entries: tuple[Entry, ...] = ()
    undoes: str | None = None
    note: str | None = None
    received: str = ""


@dataclass(frozen=True)
class Kept:
    """That a step is in the book; `was_there` if it had arrived before.

    `disputed` are the records about which it says something else than a step that its writer
    had not seen.
    """

    step: str
    received: str
    was_there: bool = False
    disputed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Said:
    """One entry about a record, with what `fold` needs of its step."""

    step: str
    fields: dict[str, Any]
    seen: tuple[str, ...] = ()
    undone: bool = False


@dataclass(frozen=True)
class Folded:
    """A record as it is now.

    `disputed` holds, for a field that writers set differently without having seen each other,
    each step with its value, the last one being the value in `fields`. `tips` are the steps that
    nobody has followed yet: what a writer who sees this record has seen.
    """

    fields: dict[str, Any]
    tips: tuple[str, ...]
    undone: bool = False
    disputed: dict[str, list[tuple[str, Any]]] = field(default_factory=dict)


def fold(said: Sequence[Said]) -> Folded:
    """The record that its entries, in the order of receipt, add up to.

    A later value replaces those that its writer had seen; one that the writer had not seen
    stands beside it until an entry that has seen both settles it. Entries of undone steps count
    for nothing but for what was seen. If the step that made the record is undone, so is the
    record; what it would be is still given.
    """
    if len(said) == 1:
        only = said[0]
        return Folded(dict(only.fields), (only.step,), only.undone)
    undone = all(each.undone for each in said if not each.seen)
    before = _ancestors(said)
    followed = {step for each in said for step in each.seen}
    tips = tuple(each.step for each in said if each.step not in followed)
    standing: dict[str, list[tuple[str, Any]]] = {}
    for each in said:
        if each.undone and not undone:
            continue
        for name, value in each.fields.items():
            unseen = [
                other
                for other in standing.get(name, ())
                if other[0] not in before[each.step] and other[1] != value
            ]
            standing[name] = [*unseen, (each.step, value)]
    return Folded(
        {name: values[-1][1] for name, values in standing.items()},
        tips,
        undone,
        {name: values for name, values in standing.items() if len(values) > 1},
    )


def _ancestors(said: Sequence[Said]) -> dict[str, set[str]]:
    """For each step, all steps about the record that its writer had seen."""
    before: dict[str, set[str]] = {}
    for each in said:
        seen = set(each.seen)
        for step in each.seen:
            seen |= before.get(step, set())
        before[each.step] = seen
    return before


def undone_steps(undoing: Iterable[tuple[str, str]]) -> set[str]:
    """The steps that are undone, from all (step, what it undoes) in the order of receipt.

    An undoing that is itself undone undoes nothing.

    >>> sorted(undone_steps([("b", "a"), ("c", "b")]))
    ['b']
    """
    undone: set[str] = set()
    for step, target in reversed(list(undoing)):
        if step not in undone:
            undone.add(target)
    return undone


def packed(value: Any) -> str:
    """JSON text, the same for the same value."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def row_of(record: str, folded: Folded, names: Sequence[str]) -> dict[str, Any]:
    """The row of a kind's table for a record."""
    fields = folded.fields
    return {name: fields.get(name) for name in names} | {
        "id": record,
        "changed": fields["changed"],
        "undone": folded.undone,
        "seen": " ".join(folded.tips),
        "disputed": packed(folded.disputed) if folded.disputed else None,
    }
