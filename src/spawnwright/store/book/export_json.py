"""The whole book as one JSON file, a step a line, then a picture a line: what `import` takes back.

Steps and pictures are all there is to keep; nothing that was made from them, no key and no
password is in it. The same book gives the same file.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, select

from spawnwright.records.book.steps import packed
from spawnwright.store.book.pictures import Picture, each_picture
from spawnwright.store.book.tables import ENTRIES, RECORDS, STEPS

FORMAT = "spawnwright record book"
VERSION = 2
BETWEEN = '],"pictures":['
"""The line between steps and pictures; version 1 had no pictures."""
_HEAD = ("id", "at", "received", "who", "device", "title", "note", "undoes")


def lines(connection: Connection) -> Iterator[str]:
    """The file, line by line, each with its end; the first and last make it one JSON object."""
    head = packed({"format": FORMAT, "version": VERSION})
    yield head[:-1] + ',"steps":[\n'
    before = ""
    for step in step_texts(connection):
        yield before + step
        before = ",\n"
    yield f"\n{BETWEEN}\n"
    before = ""
    for content, picture in each_picture(connection):
        yield before + picture_text(content, picture)
        before = ",\n"
    yield "\n]}\n"


def picture_text(content: str, picture: Picture) -> str:
    """A picture as the export writes it, its bytes in base 64."""
    data = base64.b64encode(picture.data).decode("ascii")
    return packed({"content": content, "media_type": picture.media_type, "data": data})


def step_texts(connection: Connection) -> Iterator[str]:
    """Every step as JSON text, in the order of receipt."""
    query = (
        select(
            *(STEPS.c[name] for name in _HEAD),
            ENTRIES.c.record, ENTRIES.c.seen, ENTRIES.c.fields, RECORDS.c.kind,
        )
        .outerjoin(ENTRIES, ENTRIES.c.step == STEPS.c.id)
        .outerjoin(RECORDS, RECORDS.c.id == ENTRIES.c.record)
        .order_by(STEPS.c.received, STEPS.c.id, ENTRIES.c.line)
    )  # fmt: skip
    found = connection.execute(query.execution_options(yield_per=2000))
    for _, rows in groupby(found, key=lambda row: row[0]):
        yield packed(_as_object(list(rows)))


def _as_object(rows: list[Any]) -> dict[str, Any]:
    head = {
        name: value
        for name, value in zip(_HEAD, rows[0][: len(_HEAD)], strict=True)
        if value is not None
    }
    entries = [
        {"record": row[8], "kind": row[11], "seen": row[9].split(), "fields": json.loads(row[10])}
        for row in rows
        if row[8] is not None
    ]
    return head | {"entries": entries}
