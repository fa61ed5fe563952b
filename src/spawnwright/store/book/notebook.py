"""A notebook as plain CSV: jar, date, note. Each line becomes a look at a jar."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass, field
from datetime import date, datetime, time, tzinfo
from hashlib import blake2b
from pathlib import Path
from typing import Literal

from sqlalchemy import Connection, func, select

from spawnwright.errors import BadFile, Unusable
from spawnwright.records.book.codes import code_of, read_code
from spawnwright.records.book.form import instant_text
from spawnwright.records.book.steps import Entry
from spawnwright.store.book.export_csv import unguarded
from spawnwright.store.book.refold import in_parts
from spawnwright.store.book.tables import JARS, RECORDS

Dates = Literal["day-first", "month-first"]
MOST_LINES = 100_000
_SEPARATORS = ",;\t"


@dataclass(frozen=True)
class Line:
    """One line: the jar as it is called there, the day, what was noted."""

    jar: str
    day: date
    note: str
    record: str
    """The id of the look, made from what the line says, so that it is the same each time."""


@dataclass
class Plan:
    """What taking a notebook in would do."""

    lines: int = 0
    there: int = 0
    """Lines that the book has already."""
    entries: list[Entry] = field(default_factory=list)
    new_jars: dict[str, str] = field(default_factory=dict)
    """Jars that the book does not have, as the notebook calls them, with the code they get."""


def read_notebook(path: Path, dates: Dates | None = None) -> list[Line]:
    """The lines of a notebook.

    The head line names `jar`, `date` and `note`, in any order, separated by commas, semicolons or
    tabs; UTF-8, else Latin-1. Dates are 2026-11-25, or by `dates` 25.11.2026 or 11/25/2026.

    Raises
    ------
    BadFile
        Naming the line that cannot be read.
    """
    try:
        raw = path.read_bytes()
    except OSError as reason:
        raise BadFile(f"{path} cannot be read: {reason.strerror or reason}.") from reason
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    head = text.split("\n", 1)[0].strip()
    found = [each for each in _SEPARATORS if each in head]
    if len(found) != 1:
        raise BadFile(f"{path}, line 1: the head line is jar,date,note, with one separator.")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=found[0], strict=True)
    try:
        rows = [(reader.line_num, row) for row in reader if any(each.strip() for each in row)]
    except csv.Error as reason:
        raise BadFile(f"{path}, line {reader.line_num}: {reason}.") from reason
    if len(rows) < 2:
        raise BadFile(f"{path} has no line below its head line.")
    if len(rows) > MOST_LINES:
        raise BadFile(f"{path} has {len(rows)} lines; up to {MOST_LINES} are taken at once.")
    return _lines(path, rows, dates)


def _lines(path: Path, rows: list[tuple[int, list[str]]], dates: Dates | None) -> list[Line]:
    names = [each.strip().casefold() for each in rows[0][1]]
    lacking = [each for each in ("jar", "date", "note") if each not in names]
    if lacking:
        raise BadFile(f"{path}, line 1: there is no column {', '.join(lacking)}.")
    same: Counter[str] = Counter()
    lines = []
    for number, row in rows[1:]:
        if len(row) != len(names):
            raise BadFile(
                f"{path}, line {number}: {len(row)} cells where the head has {len(names)}."
            )
        cells = {name: unguarded(cell.strip()) for name, cell in zip(names, row, strict=True)}
        if not cells["jar"] or not cells["note"]:
            raise BadFile(f"{path}, line {number}: a line names a jar and says something of it.")
        day = _day(cells["date"], dates, f"{path}, line {number}")
        said = "\x1f".join((cells["jar"].casefold(), day.isoformat(), cells["note"]))
        same[said] += 1
        lines.append(Line(cells["jar"], day, cells["note"], hashed(f"{said}\x1f{same[said]}")))
    return lines


def _day(text: str, dates: Dates | None, where: str) -> date:
    iso = re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})", text)
    told = iso or re.fullmatch(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})", text)
    if told is None:
        raise BadFile(f"{where}: {text[:40]!r} is no date; write it as 2026-11-25.")
    if iso is None and dates is None:
        raise BadFile(
            f"{where}: {text!r} has day and month in an order that it does not say; "
            "add --dates day-first or --dates month-first."
        )
    first, second, third = map(int, told.groups())
    try:
        if iso:
            return date(first, second, third)
        return date(third, second, first) if dates == "day-first" else date(third, first, second)
    except ValueError as reason:
        raise BadFile(f"{where}: {text!r} is no date: {reason}.") from reason


def hashed(text: str) -> str:
    """An id that follows from a text."""
    return blake2b(text.encode(), digest_size=8).hexdigest()


def plan_lines(
    connection: Connection, lines: list[Line], zone: tzinfo, jar_kind: str | None
) -> Plan:
    """What of a notebook the book lacks, as entries of one step.

    A jar is found by its code, or by the name written on it; one that is not there is made, of
    `jar_kind`, filled on the day of its first line. A line's instant is noon in `zone`.
    """
    ids = {line.record for line in lines}
    there = {record for part in in_parts(ids) for record in connection.execute(
        select(RECORDS.c.id).where(RECORDS.c.id.in_(part))).scalars()}  # fmt: skip
    plan = Plan(len(lines), len(there))
    wanted = [line for line in lines if line.record not in there]
    jars = {name: _jar_there(connection, name) for name in {line.jar for line in wanted}}
    first: dict[str, date] = {}
    for line in wanted:
        if jars[line.jar] is None:
            first[line.jar] = min(line.day, first.get(line.jar, line.day))
    if first and jar_kind is None:
        raise Unusable(
            f"{len(first)} jars of the notebook are not in the book, such as {min(first)!r}; say "
            "what kind they are, as in --jar quart."
        )
    number = connection.execute(select(func.count()).select_from(JARS)).scalar_one()
    for name, day in sorted(first.items(), key=lambda item: (item[1], item[0])):
        code, number = free_code(connection, number)
        record = hashed(f"jar\x1f{name.casefold()}\x1f{day}")
        plan.new_jars[name], jars[name] = code, record
        made = {"code": code, "jar_kind": jar_kind, "name": name, "filled_at": _noon(day, zone)}
        plan.entries.append(Entry(record, "jar", made))
    for line in wanted:
        fields = {"jar": jars[line.jar], "at": _noon(line.day, zone), "note": line.note}
        plan.entries.append(Entry(line.record, "look", fields))
    return plan


def _noon(day: date, zone: tzinfo) -> str:
    return instant_text(datetime.combine(day, time(12), zone))


def _jar_there(connection: Connection, name: str) -> str | None:
    try:
        code = read_code(name)
    except Unusable:
        code = ""
    query = select(JARS.c.id).where(
        ~JARS.c.undone, (JARS.c.code == code) | (func.lower(JARS.c.name) == name.lower())
    )
    found = connection.execute(query.order_by(JARS.c.code != code, JARS.c.filled_at.desc())).first()
    return None if found is None else str(found[0])


def free_code(connection: Connection, number: int) -> tuple[str, int]:
    """The first code from a number on that no jar has, and the number after it."""
    while True:
        code = code_of(number)
        number += 1
        if connection.execute(select(JARS.c.id).where(JARS.c.code == code)).first() is None:
            return code, number
