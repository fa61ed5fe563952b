"""Keep a step: check it, add it to the history, bring what follows from it up to date."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, func, insert, select

from spawnwright.errors import Contradiction, UnknownName, Unusable
from spawnwright.records.book.form import (
    ID,
    checked,
    columns,
    instant_text,
    missing,
    pictures_in,
    references,
)
from spawnwright.records.book.kinds import KINDS, kind_named
from spawnwright.records.book.steps import Entry, Kept, Step, packed
from spawnwright.store.book.engine import Book
from spawnwright.store.book.history import current
from spawnwright.store.book.pictures import Picture, add_pictures, check_there
from spawnwright.store.book.refold import in_parts, mark_undone, records_of, refold
from spawnwright.store.book.tables import ENTRIES, OF_KIND, RECORDS, STEPS
from spawnwright.store.book.undoing import why_not_undone

LONGEST_SAID = 200


def keep(book: Book, step: Step, now: datetime, pictures: Sequence[Picture] = ()) -> Kept:
    """Add a step to the book, once, however often it arrives.

    Parameters
    ----------
    book : Book
        Where to.
    step : Step
        What was done. Its entries are about different records; an entry about a record that is
        there names what its writer had `seen`.
    now : datetime
        The time of receipt, with an offset.
    pictures : sequence of Picture
        What its photos show; kept with it or not at all.

    Raises
    ------
    Unusable
        If anything in it cannot be kept; then nothing of it is.
    """
    step = _checked_head(step)
    with book.write() as connection:
        there = _as_kept(connection, step)
        if there is not None:
            return there
        kinds = _kinds_there(connection, step.entries)
        step = replace(step, entries=tuple(_checked_entry(each, kinds) for each in step.entries))
        _check_references(connection, step.entries, kinds)
        _check_seen(connection, step.entries, kinds)
        _check_undoing(connection, step)
        add_pictures(connection, pictures)
        check_there(connection, _pictures_of(step))
        step = replace(step, received=_next_instant(connection, now))
        new = frozenset(each.record for each in step.entries if each.record not in kinds)
        add(connection, [step], new)
        touched = {each.record for each in step.entries}
        if step.undoes:
            touched |= mark_undone(connection)
        folded = refold(connection, touched, new)
        for each in step.entries:
            _check_whole(each, folded[each.record].fields)
        disputed = tuple(sorted(record for record in folded if folded[record].disputed))
        return Kept(step.id, step.received, disputed=disputed)


def add(connection: Connection, steps: Sequence[Step], new: Iterable[str]) -> None:
    """Add steps that are known to be good, with the records that are new in them."""
    kinds = {each.record: each.kind for step in steps for each in step.entries}
    wanted = frozenset(new)
    created = [{"id": record, "kind": kind} for record, kind in kinds.items() if record in wanted]
    heads = [
        {
            "id": step.id, "at": step.at, "received": step.received, "who": step.who,
            "device": step.device, "title": step.title, "note": step.note,
            "undoes": step.undoes, "undone": False,
        }
        for step in steps
    ]  # fmt: skip
    entries = [
        {
            "record": each.record, "step": step.id, "line": line,
            "seen": " ".join(each.seen), "fields": packed(each.fields),
        }
        for step in steps
        for line, each in enumerate(step.entries)
    ]  # fmt: skip
    for table, rows in ((STEPS, heads), (RECORDS, created), (ENTRIES, entries)):
        if rows:
            connection.execute(insert(table), rows)


def _checked_head(step: Step) -> Step:
    if not ID.fullmatch(step.id):
        raise Unusable(f"{step.id[:70]!r} is no id of a step: 6 to 64 letters, digits, - and _.")
    said = {"who": step.who, "device": step.device, "title": step.title}
    for name, value in said.items():
        if not value.strip() or len(value) > LONGEST_SAID or not value.isprintable():
            raise Unusable(f"A step says {name!r} in up to {LONGEST_SAID} characters of text.")
    if not step.entries and not step.undoes:
        raise Unusable("A step says something of a record, or undoes a step.")
    if step.entries and step.undoes:
        raise Unusable("A step that undoes another says nothing else.")
    records = [each.record for each in step.entries]
    if len(set(records)) != len(records):
        raise Unusable("A step says one thing of a record; put what belongs together together.")
    return replace(step, at=instant_text(step.at, "The device's time"))


def _as_kept(connection: Connection, step: Step) -> Kept | None:
    query = select(STEPS.c.received, STEPS.c.title, STEPS.c.undoes).where(STEPS.c.id == step.id)
    row = connection.execute(query).one_or_none()
    if row is None:
        return None
    there = records_of(connection, [step.id])
    if (row[1], row[2]) != (step.title, step.undoes) or there != {e.record for e in step.entries}:
        raise Contradiction(
            f"The id {step.id} was used for another step ({row[1]}); this one was not kept. "
            "Give it an id of its own."
        )
    disputed = sorted(r for r, fields in current(connection, there).items() if fields["disputed"])
    return Kept(step.id, row[0], was_there=True, disputed=tuple(disputed))


def _kinds_there(connection: Connection, entries: Sequence[Entry]) -> dict[str, str]:
    """The kinds of all records that the entries are about or refer to, as far as they exist."""
    ids = {each.record for each in entries}
    for each in entries:
        named = references(kind_named(each.kind))
        ids |= {v for n, v in each.fields.items() if n in named and isinstance(v, str)}
    found: dict[str, str] = {}
    for part in in_parts(ids):
        query = select(RECORDS.c.id, RECORDS.c.kind).where(RECORDS.c.id.in_(part))
        found.update((row[0], row[1]) for row in connection.execute(query))
    return found


def _checked_entry(entry: Entry, kinds: dict[str, str]) -> Entry:
    if not ID.fullmatch(entry.record):
        raise Unusable(f"{entry.record[:70]!r} is no id of a record.")
    kind = kind_named(entry.kind)
    if kinds.get(entry.record, entry.kind) != entry.kind:
        raise Contradiction(f"{entry.record} is a {kinds[entry.record]}, not a {entry.kind}.")
    fields = checked(kind, entry.fields)
    if entry.record not in kinds:
        if entry.seen:
            raise UnknownName(entry.kind, entry.record, ())
        lacking = missing(kind, fields)
        if lacking:
            raise Unusable(f"A {entry.kind} needs {', '.join(lacking)}.")
    elif not entry.seen:
        raise Contradiction(
            f"There is a {entry.kind} {entry.record} already; an entry about it says which "
            "steps its writer had seen."
        )
    return replace(entry, fields=fields)


def _check_references(
    connection: Connection, entries: Sequence[Entry], kinds: dict[str, str]
) -> None:
    known = kinds | {each.record: each.kind for each in entries}
    wanted: dict[str, set[str]] = {}
    for entry in entries:
        for name, of in references(KINDS[entry.kind]).items():
            target = entry.fields.get(name)
            if target is None:
                continue
            if target not in known:
                raise UnknownName(of or "record", target, ())
            if of and known[target] != of:
                raise Contradiction(
                    f"{name!r} of a {entry.kind} leads to a {of}; {target} is a {known[target]}."
                )
            wanted.setdefault(known[target], set()).add(target)
    for kind, ids in wanted.items():
        table = OF_KIND[kind]
        for part in in_parts(ids):
            query = select(table.c.id).where(table.c.id.in_(part), table.c.undone)
            for record in connection.execute(query).scalars():
                raise Contradiction(f"The {kind} {record} was undone; nothing can rest on it.")


def _pictures_of(step: Step) -> set[str]:
    return {
        each.fields[name]
        for each in step.entries
        for name in pictures_in(KINDS[each.kind])
        if each.fields.get(name) is not None
    }


def _check_seen(connection: Connection, entries: Sequence[Entry], kinds: dict[str, str]) -> None:
    for entry in entries:
        if entry.record in kinds:
            query = select(ENTRIES.c.step).where(ENTRIES.c.record == entry.record)
            unknown = set(entry.seen) - set(connection.execute(query).scalars())
            if unknown:
                raise Unusable(
                    f"No step {min(unknown)!r} says anything of the {entry.kind} {entry.record}."
                )


def _check_whole(entry: Entry, fields: dict[str, Any]) -> None:
    """What the kind refuses of the record as a whole, now that it has all its fields."""
    kind = KINDS[entry.kind]
    kind(**{name: fields.get(name) for name in columns(kind)}, id=entry.record).check()


def _check_undoing(connection: Connection, step: Step) -> None:
    if step.undoes is not None:
        refusal = why_not_undone(connection, [step.undoes])[step.undoes]
        if refusal is not None:
            raise Contradiction(refusal)


def _next_instant(connection: Connection, now: datetime) -> str:
    """The time of receipt: now, but after every step that is there, whatever the clock says."""
    wanted = instant_text(now, "The time of receipt")
    last = connection.execute(select(func.max(STEPS.c.received))).scalar()
    if last is None or last < wanted:
        return wanted
    after = datetime.fromisoformat(last).astimezone(UTC) + timedelta(microseconds=1)
    return instant_text(after)
