"""Verified copies of a record book, made while it is in use, and kept in generations.

Only the sqlite3 of the standard library is used here, so that a copy can be made and put back when
all else is broken.
"""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
from collections.abc import Iterable
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from spawnwright.errors import BadFile
from spawnwright.store.book.place import Hold

DAYS, WEEKS, MONTHS = 7, 4, 12
A_DAY = timedelta(days=1)
_NAME = re.compile(r"-(\d{8}T\d{6})Z-([a-z-]+?)(?:-\d+)?\.db$")


@dataclass(frozen=True)
class Backup:
    """A copy in the folder of backups, and why it was made: daily, asked, before-update, …"""

    path: Path
    made: datetime
    why: str


def backup_folder(book: Path) -> Path:
    """Where the copies of a book are kept: `backups`, beside it."""
    return book.parent / "backups"


def backups_of(book: Path) -> list[Backup]:
    """The copies of a book, oldest first."""
    found = []
    for path in backup_folder(book).glob(f"{book.stem}-*.db"):
        told = _NAME.fullmatch(path.name.removeprefix(book.stem))
        if told:
            made = datetime.strptime(told[1], "%Y%m%dT%H%M%S").replace(tzinfo=UTC)
            found.append(Backup(path, made, told[2]))
    return sorted(found, key=lambda each: (each.made, each.path.name))


def make_backup(book: Path, why: str, now: datetime | None = None) -> Backup:
    """Copy a book as it is now into the folder of backups, check the copy, thin out old ones.

    Raises
    ------
    BadFile
        If the copy cannot be made or is not whole; there is then no copy.
    """
    now = (now or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    folder = backup_folder(book)
    try:
        folder.mkdir(exist_ok=True)
    except OSError as reason:
        raise BadFile(
            f"The folder {folder} for backups cannot be made: {reason.strerror or reason}."
        ) from reason
    name = f"{book.stem}-{now:%Y%m%dT%H%M%SZ}-{why}"
    target, again = folder / f"{name}.db", 1
    while target.exists():
        again += 1
        target = folder / f"{name}-{again}.db"
    copy_book(book, target)
    for old in to_thin_out(backups_of(book)):
        old.path.unlink(missing_ok=True)
    return Backup(target, now, why)


def daily_backup(book: Path, now: datetime | None = None) -> Backup | None:
    """Make today's copy (UTC) if there is none yet; none is made of an empty book."""
    now = now or datetime.now(UTC)
    days = {each.made.date() for each in backups_of(book)}
    if now.astimezone(UTC).date() in days or not _has_steps(book):
        return None
    return make_backup(book, "daily", now)


def _has_steps(book: Path) -> bool:
    with closing(sqlite3.connect(f"{book.resolve().as_uri()}?mode=ro", uri=True)) as connection:
        found = connection.execute("SELECT EXISTS (SELECT 1 FROM steps)").fetchone()
    return bool(found[0])


def to_thin_out(backups: Iterable[Backup]) -> list[Backup]:
    """The copies that can go: all but the last of each of the last days, weeks and months.

    Only days, weeks and months that have a copy count, so that a book left alone for a year
    keeps its old ones. What was made within a day of the last copy stays too, and the last copy
    made for each reason.
    """
    newest = sorted(backups, key=lambda each: (each.made, each.path.name), reverse=True)
    stays = {each.path: each for each in newest if newest[0].made - each.made < A_DAY}
    for count, form in ((DAYS, "%Y-%m-%d"), (WEEKS, "%G-%V"), (MONTHS, "%Y-%m")):
        spans: dict[str, Backup] = {}
        for each in newest:
            spans.setdefault(each.made.strftime(form), each)
        stays.update({each.path: each for each in list(spans.values())[:count]})
    reasons: dict[str, Backup] = {}
    for each in newest:
        reasons.setdefault(each.why, each)
    stays.update({each.path: each for each in reasons.values()})
    return [each for each in newest if each.path not in stays]


def copy_book(book: Path, target: Path) -> None:
    """Copy a book, also while others write to it, and check the copy before it gets its name.

    Raises
    ------
    BadFile
        If it cannot be copied, or the copy is not whole.
    """
    _check_room(book, target.parent)
    half = target.with_name(f".{target.name}.{os.getpid()}")
    try:
        with (
            closing(sqlite3.connect(f"{book.resolve().as_uri()}?mode=ro", uri=True)) as source,
            closing(sqlite3.connect(half)) as copy,
        ):
            source.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")
        problems = problems_of(half)
        if problems:
            raise BadFile(f"The copy of {book} is not whole: {problems[0]}. Run doctor.")
        _settle(half)
        half.replace(target)
        _settle(target.parent)
    except (sqlite3.Error, OSError) as reason:
        raise BadFile(f"{book} could not be copied to {target}: {reason}.") from reason
    finally:
        with suppress(OSError):
            for left in half.parent.glob(f"{half.name}*"):
                left.unlink()


def problems_of(file: Path) -> list[str]:
    """What SQLite's own checks find wrong with a file that nobody writes to; nothing if whole."""
    try:
        with closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)) as opened:
            found = [row[0] for row in opened.execute("PRAGMA integrity_check(5)")]
            broken = opened.execute("PRAGMA foreign_key_check").fetchmany(5)
            tables = {row[0] for row in opened.execute("SELECT name FROM sqlite_master")}
    except sqlite3.Error as reason:
        return [str(reason)]
    problems = [each for each in found if each != "ok"]
    problems += [f"table {row[0]} leads to a row of {row[2]} that is not there" for row in broken]
    if not {"steps", "entries", "records"} <= tables:
        problems.append("it is no record book")
    return problems


def _check_room(book: Path, folder: Path) -> None:
    sizes = [file.stat().st_size for file in (book, Path(f"{book}-wal")) if file.exists()]
    free = shutil.disk_usage(folder).free
    if free < sum(sizes) + 1_000_000:
        raise BadFile(
            f"The disk of {folder} has {free / 1e6:.0f} MB free; a copy of the record book needs "
            f"{sum(sizes) / 1e6 + 1:.0f} MB. Free some space; nothing was changed."
        )


def _settle(path: Path) -> None:
    """Make the system write a file or folder to its disk now."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def restore(book: Path, copy: Path, now: datetime | None = None) -> Path | None:
    """Put a copy in the place of a book; the old one is kept, and its path given back.

    Parameters
    ----------
    book : Path
        The file to replace; it need not be there.
    copy : Path
        What to put there; it is checked first, and stays where it is.
    now : datetime, optional
        For the old one's name.

    Raises
    ------
    BadFile
        If the copy is not whole, or cannot be put there.
    Contradiction
        If any process holds the book.
    """
    now = (now or datetime.now(UTC)).astimezone(UTC)
    if not copy.is_file():
        raise BadFile(f"There is no file {copy} to restore from.")
    if book.exists() and book.samefile(copy):
        raise BadFile(f"{copy} is the record book itself; name a copy of it.")
    problems = problems_of(copy)
    if problems:
        raise BadFile(f"{copy} cannot be restored: {problems[0]}. The book was not touched.")
    hold = Hold(book, alone=True)
    try:
        _check_nobody_holds(book)
        fresh = book.with_name(f".{book.name}.restoring")
        copy_book(copy, fresh)
        old = _move_away(book, now)
        try:
            fresh.replace(book)
        except OSError as reason:
            if old is not None:
                _move(old, book)
            raise BadFile(f"{book} could not be replaced: {reason.strerror}.") from reason
        _settle(book.parent)
        _keep_log(book)
        return old
    finally:
        hold.release()


def _keep_log(book: Path) -> None:
    """Give the book its write-ahead log again, by which an open book can be told."""
    with closing(sqlite3.connect(book, isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("SELECT count(*) FROM steps").fetchone()


def _check_nobody_holds(book: Path) -> None:
    """Refuse while a process that does not know our lock has the file open.

    SQLite leaves the write-ahead log only when it is alone with the file.
    """
    from spawnwright.errors import Contradiction

    if not book.exists():
        return
    try:
        with closing(sqlite3.connect(book, timeout=0.5, isolation_level=None)) as connection:
            connection.execute("PRAGMA locking_mode=EXCLUSIVE")
            (mode,) = connection.execute("PRAGMA journal_mode=DELETE").fetchone()
            connection.execute("BEGIN EXCLUSIVE")
            connection.execute("ROLLBACK")
            busy = str(mode).lower() != "delete"
    except sqlite3.OperationalError as reason:
        busy = (reason.sqlite_errorcode & 0xFF) in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
    except sqlite3.DatabaseError:
        busy = False  # damaged: nobody can hold it usefully, and it is kept as it is
    if busy:
        raise Contradiction(
            f"The record book {book} is open in another program; close it there first. "
            "Nothing was changed."
        )


def _move_away(book: Path, now: datetime) -> Path | None:
    """Move the book with what belongs to it to a name of its own."""
    if not book.exists():
        for left in ("-wal", "-shm"):
            Path(f"{book}{left}").unlink(missing_ok=True)
        return None
    old = book.with_name(f"{book.stem}-replaced-{now:%Y%m%dT%H%M%S%fZ}.db")
    _move(book, old)
    return old


def _move(book: Path, target: Path) -> None:
    for end in ("-wal", "-shm", ""):
        part = Path(f"{book}{end}")
        if part.exists():
            part.replace(f"{target}{end}")
