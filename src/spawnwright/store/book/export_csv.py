"""The book's records as CSV, a file for each kind, safe to open in a spreadsheet.

RFC 4180: commas, CRLF, quotes doubled. A text that a spreadsheet would take for a formula gets an
apostrophe before it, which the import takes off again; numbers stay as they are.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from sqlalchemy import Connection, select

from spawnwright.errors import BadFile
from spawnwright.records.book.form import columns
from spawnwright.records.book.kinds import KINDS, kind_named
from spawnwright.store.book.pictures import each_picture
from spawnwright.store.book.tables import OF_KIND, STEPS

_FORMULA = re.compile(r"'*[=+\-@\t\r\x00]")
_GUARDED = re.compile(r"'+[=+\-@\t\r\x00]")


def guarded(text: str) -> str:
    """A text that no spreadsheet calculates: with an apostrophe before what looks like a formula.

    >>> guarded("=1+1"), guarded("blue"), guarded("'-x")
    ("'=1+1", 'blue', "''-x")
    """
    return f"'{text}" if _FORMULA.match(text) else text


def unguarded(text: str) -> str:
    """The text before `guarded`.

    >>> unguarded("'=1+1"), unguarded("'tis")
    ('=1+1', "'tis")
    """
    return text[1:] if _GUARDED.match(text) else text


def rows_of(connection: Connection, kind: str) -> Iterator[list[Any]]:
    """Head line and records of a kind, in the order of their ids; undone ones say so."""
    table = OF_KIND[kind_named(kind).KIND]
    names = [name for name in columns(KINDS[kind]) if name in table.c]
    names = ["id", *names, "changed", "undone"]
    yield names
    query = select(*(table.c[name] for name in names)).order_by(table.c.id)
    for row in connection.execute(query.execution_options(yield_per=2000)):
        yield [_cell(value) for value in row]


def steps_of(connection: Connection) -> Iterator[list[Any]]:
    """Head line and steps: who did what when, on which device."""
    names = ["id", "at", "received", "who", "device", "title", "note", "undoes", "undone"]
    yield names
    query = select(*(STEPS.c[name] for name in names)).order_by(STEPS.c.received, STEPS.c.id)
    for row in connection.execute(query.execution_options(yield_per=2000)):
        yield [_cell(value) for value in row]


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return guarded(value) if isinstance(value, str) else value


def write_csv(rows: Iterator[list[Any]], file: IO[str]) -> int:
    """Write lines to a text file opened without newline translation; returns their number."""
    writer = csv.writer(file, lineterminator="\r\n")
    count = 0
    for row in rows:
        writer.writerow(row)
        count += 1
    return count - 1


def write_zip(connection: Connection, path: Path, mark: bool = False) -> dict[str, int]:
    """Write a CSV for each kind, one of the steps, and all pictures, into a zip file.

    Returns the rows of each, and the number of pictures, which lie in a folder of that name.
    `mark` puts a byte-order mark before each, which some spreadsheets need to read UTF-8.
    """
    counts = {}
    tables = {kind.TABLE: rows_of(connection, name) for name, kind in KINDS.items()}
    try:
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, rows in {**tables, "steps": steps_of(connection)}.items():
                with archive.open(f"{name}.csv", "w", force_zip64=True) as raw:
                    coding = "utf-8-sig" if mark else "utf-8"
                    with io.TextIOWrapper(raw, coding, newline="") as file:
                        counts[name] = write_csv(rows, file)
            counts["pictures"] = 0
            for content, each in each_picture(connection):
                end = each.media_type.removeprefix("image/")
                archive.writestr(f"pictures/{content}.{end}", each.data, zipfile.ZIP_STORED)
                counts["pictures"] += 1
    except OSError as reason:
        path.unlink(missing_ok=True)
        raise BadFile(f"{path} cannot be written: {reason.strerror or reason}.") from reason
    return counts
