"""The record book as files: exported, backed up, restored, looked over."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spawnwright.errors import BadFile, Contradiction, SpawnwrightError, Unusable

if TYPE_CHECKING:
    from spawnwright.store.book.engine import Book


@dataclass(frozen=True)
class Exported:
    """What was written: where to, and how much of each kind."""

    file: Path | None
    steps: int
    records: dict[str, int]
    rows: int | None = None
    """Lines of a CSV of one kind."""


def open_named(named: str | None, *, create: bool | None = None) -> Book:
    """The book that was named, or the grower's own, which is made if there is none yet."""
    from spawnwright.store.book.engine import open_book

    return open_book(named, create=named is None if create is None else create)


def export_book(named: str | None, target: Path | None, kind: str | None, mark: bool) -> Exported:
    """Write the book: all as JSON, all kinds as CSV in a zip, or one kind as CSV.

    Parameters
    ----------
    named : str, optional
        The book; without it, the grower's own.
    target : Path, optional
        A file that ends with .json, .zip or .csv; an older one is replaced. Without it nothing
        is written, only counted.
    kind : str, optional
        The kind of record for a .csv.
    mark : bool
        Whether a CSV begins with a byte-order mark.
    """
    end = target.suffix.lower() if target else ""
    if target is not None:
        if end not in (".json", ".zip", ".csv"):
            raise Unusable(f"{target} ends with neither .json, .zip nor .csv; name it so.")
        if (end == ".csv") != (kind is not None):
            raise Contradiction(
                "A .csv holds one kind of record: name it, as in --kind jar, and only then."
            )
    with open_named(named) as book:
        counted = _counted(book, target)
        if target is None:
            return counted
        rows = _write(book, target, kind, mark)
        return Exported(target, counted.steps, counted.records, rows)


def whole_book(named: str | None) -> dict[str, Any]:
    """The whole book as the one object that its JSON export is."""
    from spawnwright.store.book.export_json import lines

    with open_named(named) as book, book.read() as connection:
        whole: dict[str, Any] = json.loads("".join(lines(connection)))
        return whole


def _counted(book: Book, target: Path | None) -> Exported:
    from sqlalchemy import func, select

    from spawnwright.store.book.tables import RECORDS, STEPS

    with book.read() as connection:
        steps = connection.execute(select(func.count()).select_from(STEPS)).scalar_one()
        query = select(RECORDS.c.kind, func.count()).group_by(RECORDS.c.kind)
        records = {row[0]: row[1] for row in connection.execute(query)}
    return Exported(target, steps, dict(sorted(records.items())))


def _write(book: Book, target: Path, kind: str | None, mark: bool) -> int | None:
    from spawnwright.store.book.export_csv import rows_of, write_csv, write_zip
    from spawnwright.store.book.export_json import lines
    from spawnwright.store.files import check_writable

    check_writable(target, book.path)
    half = target.with_name(f".{target.name}.half")
    rows = None
    try:
        with book.read() as connection:
            if kind is not None:
                coding = "utf-8-sig" if mark else "utf-8"
                with half.open("w", encoding=coding, newline="") as file:
                    rows = write_csv(rows_of(connection, kind), file)
            elif target.suffix.lower() == ".zip":
                write_zip(connection, half, mark)
            else:
                with half.open("w", encoding="utf-8", newline="") as file:
                    file.writelines(lines(connection))
        half.replace(target)
    except OSError as reason:
        raise BadFile(f"{target} cannot be written: {reason.strerror or reason}.") from reason
    finally:
        with suppress(OSError):
            half.unlink()
    return rows


@dataclass(frozen=True)
class DailyBackup:
    """Today's backup if it was made just now; or why it could not be made."""

    path: Path | None = None
    problem: str = ""


def backup_if_due(book: Book, now: datetime) -> DailyBackup:
    """Make today's backup if there is none yet, after something was entered; old ones go.

    What was entered is kept whether or not the copy succeeds, so a failure is told, not raised.
    A PostgreSQL book has no file to copy.
    """
    from spawnwright.store.book.backup import daily_backup

    if book.path is None:
        return DailyBackup()
    try:
        made = daily_backup(book.path, now)
    except BadFile as reason:
        return DailyBackup(problem=str(reason))
    return DailyBackup(None if made is None else made.path)


@dataclass(frozen=True)
class Restored:
    """That a copy took a book's place, and where the old book is; or why it could not."""

    book: Path
    old: Path | None = None
    problem: str = ""


def backup_book(named: str | None, target: Path | None, now: datetime) -> tuple[Path, Path]:
    """Copy the book and check the copy; gives the book and the copy.

    Without a target the copy goes to the folder of backups, where old ones are thinned out.
    """
    from spawnwright.store.book.backup import copy_book, make_backup
    from spawnwright.store.files import check_writable

    path = _file_named(
        named,
        "backup copies a file; a PostgreSQL book is backed up whole by `export FILE.json`, which "
        "`import` takes into an empty one",
    )
    with open_named(named):
        if target is None:
            return path, make_backup(path, "asked", now).path
        if target.exists():
            raise BadFile(f"{target} is there already; a backup never replaces a file.")
        check_writable(target, path)
        copy_book(path, target)
    return path, target


def restore_book(named: str | None, copy: Path, now: datetime) -> Restored:
    """Put a backup, or a JSON export, in the place of the book; the old book is kept."""
    from spawnwright.store.book.backup import make_backup, restore
    from spawnwright.store.book.place import make_folder

    path = _file_named(
        named,
        "restore swaps a file; into an empty PostgreSQL book an export is taken by `import "
        "FILE.json --yes`",
    )
    if not copy.is_file():
        raise BadFile(f"There is no file {copy} to restore from.")
    try:
        make_folder(path)
        with _as_database(copy, path.parent) as database:
            old = restore(path, database, now)
        make_backup(path, "restored", now)
        return Restored(path, old)
    except SpawnwrightError as reason:
        return Restored(path, problem=str(reason))


@contextmanager
def _as_database(copy: Path, folder: Path) -> Iterator[Path]:
    """The copy itself, or a book made of a JSON export in a folder that goes away again."""
    if copy.suffix.lower() != ".json":
        yield copy
        return
    import tempfile

    from spawnwright.store.book.engine import open_book
    from spawnwright.store.book.import_json import merge

    with tempfile.TemporaryDirectory(prefix=".restoring-", dir=folder) as name:
        database = Path(name) / "book.db"
        with open_book(database) as book:
            problems = merge(book, copy).problems
        if problems:
            raise BadFile(f"{copy} cannot be restored: {problems[0]}")
        yield database


def examine_book(named: str | None, now: datetime, all_records: bool) -> tuple[Path, list[Any]]:
    """Look the book over; gives its path and the findings."""
    from spawnwright.store.book.doctor import examine

    path = _file_named(
        named,
        "doctor looks at a file; a PostgreSQL server has tools of its own, and `export FILE.json` "
        "reads every step of the book",
    )
    found = examine(path, now, all_records=all_records)
    if named and not path.exists() and not any(each.is_problem for each in found):
        raise BadFile(f"There is no record book {path}.")
    return path, found


def _file_named(named: str | None, otherwise: str) -> Path:
    from spawnwright.store.book.place import book_path, is_url

    if is_url(named):
        raise Unusable(f"{otherwise[0].upper()}{otherwise[1:]}.")
    return book_path(named)


def now_utc() -> datetime:
    """The clock."""
    return datetime.now(UTC)


def warnings_of(named: str | None) -> Iterator[str]:
    """What is wrong with the place of the book, if it is a file."""
    from spawnwright.store.book.place import book_path, is_url, warnings_about

    if not is_url(named):
        yield from warnings_about(book_path(named))
