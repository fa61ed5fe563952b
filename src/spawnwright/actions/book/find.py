"""Which jar a person means by what they typed or scanned."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spawnwright.records.book.codes import read_code

if TYPE_CHECKING:
    from sqlalchemy import Connection


def code_of_typed(connection: Connection, typed: str) -> str:
    """The code of a jar that is in the book, from a code or the address on a label.

    Raises `Unusable` for what is no code, `UnknownName` with the nearest for one that no jar has.
    """
    from spawnwright.store.book.shelf import jar_with_code

    code = typed.rsplit("/j/", 1)[-1].strip("/ ")
    jar_with_code(connection, code)
    return read_code(code)


def jar_of_typed(connection: Connection, typed: str) -> str:
    """The id of the jar that a typed code, or the address on a label, names."""
    from spawnwright.store.book.shelf import jar_with_code

    return jar_with_code(connection, typed.rsplit("/j/", 1)[-1].strip("/ "))
