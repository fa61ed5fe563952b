"""Open a book to read it, to serve its pages, or an export as if it were a book."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from spawnwright.actions.book.files import open_named
from spawnwright.errors import BadFile, Unusable

if TYPE_CHECKING:
    from spawnwright.store.book.engine import Book


@contextmanager
def reading(named: str | None) -> Iterator[Book]:
    """The book that was named, or the grower's own; or an export as .json, which stays as it is.

    Of an export a book is made in a folder that goes away again, so that it can be asked too.
    """
    if named is None or not named.lower().endswith(".json"):
        with open_named(named) as book:
            yield book
        return
    import tempfile

    from spawnwright.store.book.engine import open_book
    from spawnwright.store.book.import_json import merge

    source = Path(named).expanduser()
    if not source.is_file():
        raise BadFile(f"There is no file {source}.")
    with (
        tempfile.TemporaryDirectory(prefix="spawnwright-") as folder,
        open_book(Path(folder) / "book.db") as book,
    ):
        problems = merge(book, source).problems
        if problems:
            raise BadFile(f"{source} cannot be read as a book: {problems[0]}")
        yield book


@contextmanager
def writing(named: str | None) -> Iterator[Book]:
    """The book that was named, or the grower's own; an export is refused, since it is no book."""
    if named is not None and named.lower().endswith(".json"):
        raise Unusable(f"{named} is an export; nothing is entered in it. Name a record book.")
    with open_named(named) as book:
        yield book


@contextmanager
def served(book: Book, address: str) -> Iterator[None]:
    """Hold a book as the one process that serves its pages; a second one is refused.

    A PostgreSQL book may be served from several machines.
    """
    from spawnwright.store.book.place import ServeHold

    hold = None if book.path is None else ServeHold(book.path, address)
    try:
        yield
    finally:
        if hold is not None:
            hold.release()
