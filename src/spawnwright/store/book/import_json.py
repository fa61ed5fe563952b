"""Take an export of a book into another: everything that it lacks, and nothing twice."""

from __future__ import annotations

import base64
import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from hashlib import blake2b
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from spawnwright.errors import BadFile, SpawnwrightError
from spawnwright.records.book.form import (
    ID,
    checked,
    instant_text,
    missing,
    pictures_in,
    references,
)
from spawnwright.records.book.grown import MEDIA_TYPES
from spawnwright.records.book.kinds import KINDS, kind_named
from spawnwright.records.book.steps import Entry, Step, packed
from spawnwright.store.book.engine import Book
from spawnwright.store.book.export_json import BETWEEN, FORMAT, VERSION, step_texts
from spawnwright.store.book.journal import add
from spawnwright.store.book.pictures import Picture, add_pictures, lacking
from spawnwright.store.book.refold import in_parts, mark_undone, refold
from spawnwright.store.book.tables import JARS, RECORDS

_HEAD = {"id", "at", "received", "who", "device", "title"}
AT_ONCE = 2000
TAKEN = (1, VERSION)


@dataclass
class Preview:
    """What an import would do; `problems` keep it from being done."""

    steps: int = 0
    new_steps: int = 0
    records: Counter[str] = field(default_factory=Counter)
    """New records by kind."""
    new_pictures: int = 0
    problems: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read_export(path: Path) -> Iterator[Step]:
    """The steps of an export, checked one by one.

    Our own layout, a step a line, is read line by line; any other layout of the same object is
    read whole.

    Raises
    ------
    BadFile
        If it is no export, or a step in it cannot be kept; the text names the step.
    """
    for number, said in enumerate(_objects(path), 1):
        try:
            yield _step(said)
        except (SpawnwrightError, KeyError, TypeError, AttributeError) as reason:
            told = said.get("id") if isinstance(said, dict) else None
            raise BadFile(
                f"{path}, step {number}{f' ({told})' if told else ''} cannot be kept: {reason}"
            ) from reason


def _objects(path: Path) -> Iterator[Any]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            first = file.readline(10_000)
            if _head_of(first) is not None:
                for line in file:
                    if line.strip() in ("]}", BETWEEN):
                        return
                    if line.strip():
                        yield json.loads(line.strip().removesuffix(","))
                raise BadFile(f"{path} ends in the middle; it was not copied whole.")
        whole = json.loads(path.read_text(encoding="utf-8-sig"))
    except BadFile:
        raise
    except (OSError, ValueError, RecursionError) as reason:
        raise BadFile(f"{path} cannot be read as an export: {reason}.") from reason
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise BadFile(f"{path} is no export of a record book.")
    if whole.get("version") not in TAKEN:
        raise BadFile(f"{path} is of version {whole.get('version')}; this program takes {VERSION}.")
    if not isinstance(whole.get("steps"), list):
        raise BadFile(f"{path} has no list of steps; it is no whole export.")
    yield from whole["steps"]


def read_pictures(path: Path) -> Iterator[Picture]:
    """The pictures of an export, each checked to be what its name says.

    Raises
    ------
    BadFile
        If one is not, or the file ends before the last.
    """
    for number, said in enumerate(_picture_objects(path), 1):
        try:
            found = Picture(said["media_type"], base64.b64decode(said["data"], validate=True))
            is_good = found.content == said["content"] and found.media_type in MEDIA_TYPES
        except (KeyError, TypeError, ValueError) as reason:
            raise BadFile(f"{path}, picture {number} cannot be read: {reason}.") from reason
        if not is_good:
            raise BadFile(
                f"{path}, picture {number} is not what its name says; the file is damaged."
            )
        yield found


def _picture_objects(path: Path) -> Iterator[Any]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            if _head_of(file.readline(10_000)) is None:
                yield from json.loads(path.read_text(encoding="utf-8-sig")).get("pictures", [])
                return
            for line in file:
                if line.strip() in ("]}", BETWEEN):
                    break
            else:
                return
            if line.strip() == "]}":
                return
            for line in file:
                if line.strip() == "]}":
                    return
                if line.strip():
                    yield json.loads(line.strip().removesuffix(","))
            raise BadFile(f"{path} ends in the middle; it was not copied whole.")
    except BadFile:
        raise
    except (OSError, ValueError, RecursionError) as reason:
        raise BadFile(f"{path} cannot be read as an export: {reason}.") from reason


def _head_of(line: str) -> dict[str, Any] | None:
    """The head of our own layout; none for any other."""
    try:
        head = json.loads(line.strip() + "]}")
    except ValueError:
        return None
    is_ours = (
        isinstance(head, dict) and head.get("format") == FORMAT and head.get("version") in TAKEN
    )
    return head if is_ours else None


def _step(said: dict[str, Any]) -> Step:
    unknown = said.keys() - _HEAD - {"note", "undoes", "entries"}
    lacking = _HEAD - said.keys()
    if unknown or lacking:
        raise BadFile(f"it {'lacks' if lacking else 'has an unknown'} {min(lacking or unknown)!r}.")
    for name in (_HEAD | {"note", "undoes"}) & said.keys():
        if not isinstance(said[name], str) or "\x00" in said[name]:
            raise BadFile(f"{name!r} is no text.")
    if not ID.fullmatch(said["id"]):
        raise BadFile("its id is none.")
    entries = tuple(_entry(each) for each in said.get("entries", ()))
    return Step(
        said["id"], instant_text(said["at"]), said["who"], said["device"], said["title"], entries,
        said.get("undoes"), said.get("note"), instant_text(said["received"]),
    )  # fmt: skip


def _entry(said: dict[str, Any]) -> Entry:
    kind = kind_named(said["kind"])
    fields = checked(kind, said["fields"])
    if not ID.fullmatch(said["record"]) or not all(ID.fullmatch(each) for each in said["seen"]):
        raise BadFile("the id of a record or step in it is none.")
    lacking = [] if said["seen"] else missing(kind, fields)
    if lacking:
        raise BadFile(f"a {kind.KIND} needs {', '.join(lacking)}.")
    return Entry(said["record"], kind.KIND, fields, tuple(said["seen"]))


def step_text(step: Step) -> str:
    """A step as the export writes it."""
    head = {"id": step.id, "at": step.at, "received": step.received, "who": step.who,
            "device": step.device, "title": step.title}  # fmt: skip
    if step.note is not None:
        head["note"] = step.note
    if step.undoes is not None:
        head["undoes"] = step.undoes
    entries = [
        {"record": each.record, "kind": each.kind, "seen": list(each.seen), "fields": each.fields}
        for each in step.entries
    ]
    return packed(head | {"entries": entries})


def _digest(text: str) -> bytes:
    return blake2b(text.encode(), digest_size=12).digest()


def preview(book: Book, path: Path) -> Preview:
    """What taking an export into a book would add, and what stands in its way."""
    with book.read() as connection:
        return _preview(connection, path)[0]


def _preview(connection: Connection, path: Path) -> tuple[Preview, dict[str, bytes]]:
    there = {json.loads(text)["id"]: _digest(text) for text in step_texts(connection)}
    kinds = {row[0]: row[1] for row in connection.execute(select(RECORDS.c.id, RECORDS.c.kind))}
    known = dict(kinds)
    made, wanted, codes = set(kinds), set(), {}
    found, differing, ids, shown = Preview(), 0, set(), set()
    for step in read_export(path):
        found.steps += 1
        if step.id in ids:
            raise BadFile(f"{path} has the step {step.id} twice.")
        ids.add(step.id)
        if step.id in there:
            differing += there[step.id] != _digest(step_text(step))
            continue
        found.new_steps += 1
        for each in step.entries:
            if known.setdefault(each.record, each.kind) != each.kind:
                found.problems.append(f"{each.record} is a {known[each.record]} in one book only.")
            if each.kind == "jar" and each.record not in kinds and "code" in each.fields:
                codes[each.record] = each.fields["code"]
            if not each.seen:
                made.add(each.record)
            named = references(KINDS[each.kind])
            wanted |= {v for n, v in each.fields.items() if n in named and v is not None}
            shown |= {each.fields[n] for n in pictures_in(KINDS[each.kind]) if n in each.fields}
    new = known.keys() - kinds.keys()
    found.records.update(known[record] for record in new)
    if differing:
        found.problems.append(
            f"{differing} steps have the id of a step in the book and say something else."
        )
    if known.keys() - made:
        found.problems.append(f"What made {min(known.keys() - made)} is not in the file.")
    if wanted - known.keys():
        found.problems.append(f"{min(wanted - known.keys())} is led to and not in the file.")
    _compare_pictures(connection, path, found, shown)
    twice = sorted(_codes_there(connection, codes))
    if twice:
        found.notes.append(f"On a jar of each book: {', '.join(twice[:10])}; doctor names them.")
    return found, there


def _compare_pictures(connection: Connection, path: Path, found: Preview, shown: set[str]) -> None:
    """Count the pictures that are new; a photo of a new step needs its own in the file or here."""
    sent = [each.content for each in read_pictures(path)]
    found.new_pictures = len(lacking(connection, sent))
    absent = lacking(connection, shown - set(sent) - {None})
    if absent:
        found.problems.append(f"The picture {min(absent)} of a photo is not in the file.")


def _codes_there(connection: Connection, codes: dict[str, str]) -> set[str]:
    there: set[str] = set()
    for part in in_parts(set(codes.values())):
        query = select(JARS.c.code).where(JARS.c.code.in_(part), ~JARS.c.undone)
        there.update(connection.execute(query).scalars())
    return there


def merge(book: Book, path: Path) -> Preview:
    """Add what an export has and a book lacks, all of it or nothing.

    Returns what was done. With problems nothing is.
    """
    with book.write() as connection:
        found, there = _preview(connection, path)
        if found.problems:
            return found
        add_pictures(connection, read_pictures(path))
        known = set(connection.execute(select(RECORDS.c.id)).scalars())
        new: set[str] = set()
        touched: set[str] = set()
        steps = (step for step in read_export(path) if step.id not in there)
        while part := list(islice(steps, AT_ONCE)):
            records = {each.record for step in part for each in step.entries}
            add(connection, part, records - known - new)
            new |= records - known
            touched |= records
        touched |= mark_undone(connection)
        for part_of in in_parts(touched, AT_ONCE):
            refold(connection, part_of, frozenset(new))
    return found
