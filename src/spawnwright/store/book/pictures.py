"""Pictures: named by the SHA-256 of their bytes, only ever added, read one at a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from hashlib import sha256

from sqlalchemy import Connection, insert, select

from spawnwright.errors import Unusable
from spawnwright.store.book.refold import in_parts
from spawnwright.store.book.tables import PICTURES


@dataclass(frozen=True)
class Picture:
    """The bytes of a picture, and what kind of file they are."""

    media_type: str
    data: bytes

    @property
    def content(self) -> str:
        """Its name: the SHA-256 of its bytes, in hexadecimal digits."""
        return sha256(self.data).hexdigest()


def picture(connection: Connection, content: str) -> Picture | None:
    """The picture of a name; none if the book does not have it."""
    query = select(PICTURES.c.media_type, PICTURES.c.data).where(PICTURES.c.content == content)
    row = connection.execute(query).one_or_none()
    return None if row is None else Picture(row[0], bytes(row[1]))


def contents(connection: Connection) -> list[str]:
    """The names of all pictures, in order."""
    return list(
        connection.execute(select(PICTURES.c.content).order_by(PICTURES.c.content)).scalars()
    )


def each_picture(connection: Connection) -> Iterator[tuple[str, Picture]]:
    """All pictures by name, in order, no more than one in memory."""
    for content in contents(connection):
        found = picture(connection, content)
        if found is not None:
            yield content, found


def add_pictures(connection: Connection, pictures: Iterable[Picture]) -> None:
    """Add the pictures that the book does not have yet."""
    for each in pictures:
        content = each.content
        there = select(PICTURES.c.content).where(PICTURES.c.content == content)
        if connection.execute(there).first() is None:
            row = {"content": content, "media_type": each.media_type, "data": each.data}
            connection.execute(insert(PICTURES), row)


def lacking(connection: Connection, wanted: Iterable[str]) -> set[str]:
    """Those of some names that the book has no picture of."""
    names = set(wanted)
    there: set[str] = set()
    for part in in_parts(names):
        query = select(PICTURES.c.content).where(PICTURES.c.content.in_(part))
        there.update(connection.execute(query).scalars())
    return names - there


def check_there(connection: Connection, wanted: Iterable[str]) -> None:
    """Refuse names of which the book has no picture."""
    absent = lacking(connection, wanted)
    if absent:
        raise Unusable(f"There is no picture {min(absent)} for the photo; send it along.")
