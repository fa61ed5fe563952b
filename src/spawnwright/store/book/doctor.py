"""What may be wrong with a record book, looked at with nothing but the standard library."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from itertools import groupby
from pathlib import Path
from typing import Any

from spawnwright.errors import BadFile
from spawnwright.records.book.form import columns, references
from spawnwright.records.book.kinds import KINDS
from spawnwright.records.book.steps import Said, fold, row_of
from spawnwright.store.book.backup import backups_of, problems_of
from spawnwright.store.book.place import HEAD, check_is_book, warnings_about

COMPARED = 20_000
"""Records that are compared with their history, unless all are asked for."""
PICTURES_COMPARED = 100
"""Pictures that are compared with their names, likewise; a thousand take some seconds."""
OLDEST_BACKUP = timedelta(days=2)
LEAST_FREE = 50_000_000


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at, and what was found."""

    what: str
    says: str
    is_problem: bool = False


def examine(path: Path, now: datetime, *, all_records: bool = False) -> list[Finding]:
    """Look a book over without changing it; problems say what would do.

    Parameters
    ----------
    path : Path
        The file; it may be in use.
    now : datetime
        For the age of the last backup.
    all_records : bool
        Whether to compare every record with its history, which takes about a minute for a
        million, rather than the first `COMPARED`.
    """
    if not path.exists():
        kept = backups_of(path)
        if kept:
            says = f"the record book {path} is gone; restore its last backup, {kept[-1].path}"
            return [Finding("file", says, True)]
        return [Finding("file", f"there is no record book {path} yet")]
    try:
        check_is_book(path)
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as opened:
            found = [*_file(path, opened)]
            if not any(each.is_problem for each in found):
                found += [*_content(opened, all_records), *_backups(path, opened, now)]
    except (BadFile, sqlite3.DatabaseError) as reason:
        restorable = backups_of(path)
        hint = f" The last backup is {restorable[-1].path}." if restorable else ""
        found = [Finding("file", f"{str(reason).rstrip('.')}.{hint}", True)]
    return [*found, *_disk(path)]


def _file(path: Path, opened: sqlite3.Connection) -> Iterator[Finding]:
    problems = problems_of(path)
    if problems:
        yield Finding("integrity", f"{problems[0]}; restore the last good backup", True)
        return
    yield Finding("integrity", "whole, and no link leads to a row that is not there")
    (mode,) = opened.execute("PRAGMA journal_mode").fetchone()
    if mode != "wal":
        yield Finding("log", f"the file is in mode {mode}; it is set right when next opened")
    (form,) = opened.execute("SELECT version_num FROM alembic_version").fetchone()
    if form > HEAD:
        says = f"form {form} is newer than this program, which knows {HEAD}; update the program"
        yield Finding("form", says, True)
    elif form < HEAD:
        says = f"form {form}; it is brought to {HEAD} when next opened, after a backup"
        yield Finding("form", says)
    else:
        yield from _schema(opened)


def _schema(opened: sqlite3.Connection) -> Iterator[Finding]:
    lacking = []
    for kind in KINDS.values():
        there = {row[1] for row in opened.execute(f"PRAGMA table_info({kind.TABLE})")}
        wanted = {n for n, each in columns(kind).items() if each.metadata["type"] != "series"}
        lacking += [f"{kind.TABLE}.{name}" for name in sorted(wanted - there)]
    if lacking:
        says = f"{', '.join(lacking[:5])} is missing; restore the last good backup"
        yield Finding("form", says, True)
    else:
        yield Finding("form", f"{HEAD}, complete")


def _content(opened: sqlite3.Connection, all_records: bool) -> Iterator[Finding]:
    opened.row_factory = sqlite3.Row
    yield _counts(opened)
    yield _against_history(opened, None if all_records else COMPARED)
    yield from _pictures(opened, None if all_records else PICTURES_COMPARED)
    resting = [
        f"{kind.KIND} {row[0]}"
        for kind in KINDS.values()
        for name in references(kind)
        for row in opened.execute(_resting_on_undone(kind.TABLE, name))
    ]
    if resting:
        says = f"{len(resting)} rest on what was undone, such as the {resting[0]}; undo one of both"
        yield Finding("links", says, True)
    else:
        yield Finding("links", "none leads to what was undone")
    twice = [row[0] for row in opened.execute(
        "SELECT code FROM jars WHERE NOT undone GROUP BY code HAVING count(*) > 1 ORDER BY code"
    )]  # fmt: skip
    if twice:
        says = f"{', '.join(twice[:5])} stands on more than one jar; give one of them another"
        yield Finding("codes", says, True)
    else:
        yield Finding("codes", "each stands on one jar")
    disputed = sum(
        opened.execute(f"SELECT count(disputed) FROM {kind.TABLE}").fetchone()[0]
        for kind in KINDS.values()
    )
    if disputed:
        says = f"{disputed} records of which two devices said different things; settle them"
        yield Finding("disputes", says)


def _resting_on_undone(table: str, name: str) -> str:
    of = references(next(kind for kind in KINDS.values() if table == kind.TABLE))[name]
    kinds = [KINDS[of]] if of else list(KINDS.values())
    targets = " UNION ALL ".join(f"SELECT id FROM {kind.TABLE} WHERE undone" for kind in kinds)
    return (
        f"SELECT id FROM {table} WHERE NOT undone AND {name} IS NOT NULL "
        f"AND {name} IN ({targets}) LIMIT 1000"
    )


def _counts(opened: sqlite3.Connection) -> Finding:
    by_kind = dict(
        tuple(row) for row in opened.execute("SELECT kind, count(*) FROM records GROUP BY kind")
    )
    (steps,) = opened.execute("SELECT count(*) FROM steps").fetchone()
    wrong = [
        kind.TABLE
        for name, kind in KINDS.items()
        if opened.execute(f"SELECT count(*) FROM {kind.TABLE}").fetchone()[0]
        != by_kind.get(name, 0)
    ]
    if wrong:
        says = f"{', '.join(wrong)} holds other records than the history; export, import anew"
        return Finding("records", says, True)
    return Finding("records", f"{sum(by_kind.values())} from {steps} steps")


def _against_history(opened: sqlite3.Connection, most: int | None) -> Finding:
    query = (
        "SELECT e.record, r.kind, e.step, e.seen, e.fields, s.undone, s.received FROM entries e "
        "JOIN records r ON r.id = e.record JOIN steps s ON s.id = e.step "
        "ORDER BY e.record, s.received, s.id"
    )
    compared = 0
    for record, group in groupby(opened.execute(query), key=lambda row: row["record"]):
        if compared == most:
            break
        compared += 1
        rows = list(group)
        if not _is_as_said(opened, record, rows):
            says = f"the {rows[0]['kind']} {record} is not what its history adds up to; "
            return Finding("history", f"{says}export the book and import it anew", True)
    return Finding("history", f"{compared} records are what their entries add up to")


def _is_as_said(opened: sqlite3.Connection, record: str, rows: list[Any]) -> bool:
    folded = fold(
        [
            Said(
                row["step"],
                json.loads(row["fields"]),
                tuple(row["seen"].split()),
                bool(row["undone"]),
            )
            for row in rows
        ]
    )
    folded.fields["changed"] = rows[-1]["received"]
    kind = KINDS[rows[0]["kind"]]
    names = [n for n, each in columns(kind).items() if each.metadata["type"] != "series"]
    found = opened.execute(f"SELECT * FROM {kind.TABLE} WHERE id = ?", [record]).fetchone()
    return found is not None and dict(found) == row_of(record, folded, names)


def _pictures(opened: sqlite3.Connection, most: int | None) -> Iterator[Finding]:
    query = "SELECT content, data FROM pictures ORDER BY content"
    compared, damaged = 0, []
    for content, data in opened.execute(f"{query} LIMIT {-1 if most is None else most}"):
        compared += 1
        if sha256(data).hexdigest() != content:
            damaged.append(content)
    if damaged:
        says = f"{len(damaged)} are damaged, such as {damaged[0]}; restore the last good backup"
        yield Finding("pictures", says, True)
    elif compared:
        yield Finding("pictures", f"{compared} are what their names say")


def _backups(path: Path, opened: sqlite3.Connection, now: datetime) -> Iterator[Finding]:
    first, last = opened.execute("SELECT min(received), max(received) FROM steps").fetchone()
    bad = 0
    for each in reversed(backups_of(path)):
        if problems_of(each.path):
            bad += 1
            continue
        age = now.astimezone(UTC) - each.made
        is_old = age > OLDEST_BACKUP and last is not None and _instant(last) > each.made
        old = "; the book has grown since: run backup" if is_old else ""
        yield Finding("backup", f"the last good one is {_written(age)} old{old}", is_old)
        break
    else:
        due = first is not None and now.astimezone(UTC) - _instant(first) > OLDEST_BACKUP
        yield Finding("backup", "there is no good one yet" + ("; run backup" if due else ""), due)
    if bad:
        yield Finding("backup", f"{bad} newer copies are damaged; delete them", True)


def _disk(path: Path) -> Iterator[Finding]:
    free = shutil.disk_usage(path.resolve().parent).free
    wanted = LEAST_FREE + 2 * (path.stat().st_size if path.exists() else 0)
    says = f"{free / 1e6:,.0f} MB free"
    if free < wanted:
        yield Finding("disk", f"{says}; free some, {wanted / 1e6:,.0f} MB are needed", True)
    else:
        yield Finding("disk", says)
    for warning in warnings_about(path):
        yield Finding("place", warning)


def _instant(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _written(age: timedelta) -> str:
    hours = max(0.0, age.total_seconds() / 3600)
    return f"{hours:.0f} h" if hours < 48 else f"{hours / 24:.0f} days"
