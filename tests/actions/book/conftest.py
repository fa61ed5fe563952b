"""The same two books as in the tests of the store."""

from __future__ import annotations

from tests.store.book.conftest import book, cluster, database, file_book, folder

__all__ = ["book", "cluster", "database", "file_book", "folder"]
