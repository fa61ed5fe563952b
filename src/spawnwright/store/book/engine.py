"""The open record book: one writer, many readers, on SQLite or on PostgreSQL."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

from spawnwright.errors import BadFile, SpawnwrightError, Unusable
from spawnwright.store.book.place import (
    Hold,
    book_path,
    check_is_book,
    is_url,
    make_folder,
    warnings_about,
)

BUSY_MS = 10_000
WRITER_CACHE_KB, READER_CACHE_KB = 32_768, 4096
"""Of each connection; there may be a reader for each page that is drawn at once."""
ROWS_SEEN = 10_000
"""Rows of each index from which SQLite tells how it is spread. With fewer, a column that is the
same in all rows ("not undone") passes for one that finds a few."""
_LOCK_NUMBER = 5_353_687
"""Any number, the same in every program that writes to one PostgreSQL book."""

_SAID = {
    5: "is held by another process for too long; close it there, or try again",
    7: "needs more memory than there is",
    8: "cannot be written to: file or folder is read-only",
    10: "cannot be read or written: the disk reports an error. Look at the disk, then run doctor",
    11: "is damaged. Run doctor, then restore the last good backup",
    13: "cannot grow: the disk is full. Free some space and do it again",
    14: "cannot be opened. Look whether its folder is there and may be written to",
    26: "is no record book, or is damaged. If it was one, restore the last good backup",
}


class Book:
    """A record book that is open; `warnings` say what is wrong with its place."""

    def __init__(self, writer: Engine, reader: Engine, name: str, hold: Hold | None) -> None:
        self.writer, self.reader, self.name, self._hold = writer, reader, name, hold
        self.path: Path | None = None
        self.warnings: tuple[str, ...] = ()

    @property
    def is_sqlite(self) -> bool:
        """Whether it is a file rather than a database elsewhere."""
        return self.writer.dialect.name == "sqlite"

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """A transaction that may write, alone; kept whole at the end, or not at all."""
        with explained(self.name), self.writer.begin() as connection:
            if not self.is_sqlite:
                connection.execute(text(f"SELECT pg_advisory_xact_lock({_LOCK_NUMBER})"))
            yield connection

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """A view of the book as it is now, beside whoever writes."""
        with explained(self.name), self.reader.begin() as connection:
            yield connection

    def learn_sizes(self) -> None:
        """Let SQLite see how large its tables are by now, so that it asks the right index.

        Without that it takes any index for as good as another, and may read all jars to find one.
        It looks at some rows of each index only: a tenth of a second at most, whatever the size.
        """
        if not self.is_sqlite:
            return  # PostgreSQL does so by itself
        with self.write() as connection:
            connection.exec_driver_sql(f"PRAGMA analysis_limit={ROWS_SEEN}")
            connection.exec_driver_sql("ANALYZE")
        self.reader.dispose()  # what is open does not know yet

    def close(self) -> None:
        """Let go of the book."""
        self.reader.dispose()
        self.writer.dispose()
        if self._hold is not None:
            self._hold.release()

    def __enter__(self) -> Book:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


@contextmanager
def explained(name: str) -> Iterator[None]:
    """Turn what a database reports of its file into a sentence; the transaction is undone."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as problem:
        known = explanation(problem, name)
        if known is None:
            raise
        raise known from problem


def explanation(problem: Exception, name: str) -> SpawnwrightError | None:
    """The sentence for a database's report; none if the report is a mistake of the program."""
    original: Any = problem.orig if isinstance(problem, DBAPIError) else problem
    code = getattr(original, "sqlite_errorcode", None)
    if code is not None:
        said = _SAID.get(code & 0xFF)
        if said is None:
            return None
        return BadFile(f"The record book {name} {said}. What was kept before is still there.")
    if isinstance(problem, DBAPIError) and type(original).__name__ == "OperationalError":
        first = str(original).strip().splitlines()[0]
        return Unusable(f"The record book {name} does not answer: {first[:200]}")
    return None


def open_book(named: str | Path | None = None, *, create: bool = True) -> Book:
    """Open a record book, making it or bringing it up to date if need be.

    Parameters
    ----------
    named : str or Path, optional
        A file, or the URL of a PostgreSQL database; without it, the file in the own folder.
    create : bool
        Whether to make one where there is none.

    Raises
    ------
    BadFile
        If it is no record book, is damaged, newer than this program or cannot be written.
    """
    from spawnwright.store.book.migrate import bring_up_to_date

    book = _open_url(str(named)) if is_url(named) else _open_file(book_path(named), create)
    try:
        bring_up_to_date(book)
    except BaseException:
        book.close()
        raise
    return book


def _open_file(path: Path, create: bool) -> Book:
    if path.is_dir():
        raise BadFile(f"{path} is a folder; name a file in it for the record book.")
    if not path.exists():
        if not create:
            raise BadFile(f"There is no record book {path}.")
        make_folder(path)
    check_is_book(path)
    hold = Hold(path)
    try:
        check_is_book(path)
        writer, reader = _file_engines(path)
        book = Book(writer, reader, str(path), hold)
    except BaseException:
        hold.release()
        raise
    book.path, book.warnings = path, warnings_about(path)
    return book


def _file_engines(path: Path) -> tuple[Engine, Engine]:
    url = f"sqlite:///{path}"
    writer = create_engine(url, poolclass=QueuePool, pool_size=1, max_overflow=0, pool_timeout=30)
    reader = create_engine(url, poolclass=QueuePool, pool_size=4, max_overflow=12)
    event.listen(writer, "connect", _set_up_writer)
    event.listen(reader, "connect", _set_up_reader)
    event.listen(writer, "begin", lambda connection: connection.exec_driver_sql("BEGIN IMMEDIATE"))
    event.listen(reader, "begin", lambda connection: connection.exec_driver_sql("BEGIN"))
    return writer, reader


def set_up(connection: sqlite3.Connection) -> None:
    """The settings under which a committed entry outlives a power cut [SQLite]."""
    connection.isolation_level = None
    connection.execute(f"PRAGMA busy_timeout={BUSY_MS}")
    connection.execute("PRAGMA foreign_keys=ON")
    connection.execute("PRAGMA trusted_schema=OFF")
    connection.execute("PRAGMA synchronous=FULL")
    connection.execute("PRAGMA fullfsync=ON")
    connection.execute("PRAGMA checkpoint_fullfsync=ON")


def _set_up_writer(connection: sqlite3.Connection, _: object) -> None:
    set_up(connection)
    connection.execute(f"PRAGMA cache_size=-{WRITER_CACHE_KB}")
    (mode,) = connection.execute("PRAGMA journal_mode=WAL").fetchone()
    if str(mode).lower() not in ("wal", "memory"):
        raise BadFile(
            f"The record book cannot be kept safely here: its disk allows no write-ahead log "
            f"(it stays at {mode!r}). Keep it on this machine's own disk."
        )


def _set_up_reader(connection: sqlite3.Connection, _: object) -> None:
    set_up(connection)
    connection.execute(f"PRAGMA cache_size=-{READER_CACHE_KB}")
    connection.execute("PRAGMA query_only=ON")


def _open_url(url: str) -> Book:
    try:
        import psycopg  # noqa: F401
    except ImportError as reason:
        raise Unusable(
            "A record book on PostgreSQL needs the package psycopg: install the extra "
            "`postgresql`, or name a file."
        ) from reason
    address = "postgresql+psycopg:" + url.split(":", 1)[1]
    engine = create_engine(address, pool_pre_ping=True)
    reader = engine.execution_options(postgresql_readonly=True)
    return Book(engine, reader, engine.url.render_as_string(hide_password=True), None)
