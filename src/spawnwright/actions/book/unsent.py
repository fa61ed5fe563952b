"""Entries that a phone could not send and saved to a file, read with care.

The file is JSON, written by the page on the phone; `docs/phone.md` says what is in it.
"""

from __future__ import annotations

import json
from base64 import b64decode
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spawnwright.errors import BadFile

if TYPE_CHECKING:
    from spawnwright.store.book.engine import Book

FORMAT = "spawnwright unsent entries"
VERSION = 1
ENDING = ".unsent.json"
LARGEST = 300_000_000


@dataclass(frozen=True)
class UnsentPicture:
    """A file that goes with an entry."""

    field: str
    name: str
    kind: str
    content: bytes


@dataclass(frozen=True)
class UnsentEntry:
    """A form as it was filled in: where it goes, the id of its step, what was typed."""

    step: str
    address: str
    title: str
    made_at: datetime
    fields: tuple[tuple[str, str], ...]
    pictures: tuple[UnsentPicture, ...] = ()


@dataclass(frozen=True)
class Unsent:
    """All entries of a file in their order, and the phone that they were made on."""

    device: str
    entries: tuple[UnsentEntry, ...]


def is_unsent(source: Path) -> bool:
    """Whether a file's name says that it holds unsent entries."""
    return source.name.lower().endswith(ENDING)


def read_unsent(source: Path) -> Unsent:
    """The entries of a file.

    Raises
    ------
    BadFile
        If it is anything else; says which entry.
    """
    try:
        if source.stat().st_size > LARGEST:
            raise BadFile(f"{source} is larger than {LARGEST // 1_000_000} MB; it is not read.")
        text = source.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise BadFile(f"There is no file {source}.") from None
    except (OSError, UnicodeDecodeError) as reason:
        raise BadFile(f"{source} cannot be read as text.") from reason
    return unsent_of(text, source.name)


def unsent_of(text: str, name: str) -> Unsent:
    """The entries of a file's text; `name` is what the file is called in a sentence."""
    try:
        told = json.loads(text)
    except (ValueError, RecursionError) as reason:
        raise BadFile(f"{name} is cut off or no JSON; save it on the phone again.") from reason
    if not isinstance(told, dict) or told.get("format") != FORMAT:
        raise BadFile(f"{name} holds no unsent entries of a phone.")
    if told.get("version") != VERSION:
        raise BadFile(f"{name} was written by another version; update Spawnwright here.")
    entries = told.get("entries")
    if not isinstance(entries, list):
        raise BadFile(f"{name} holds no list of entries.")
    found = []
    for number, each in enumerate(entries, 1):
        try:
            found.append(_entry(each))
        except (ValueError, TypeError, KeyError, AttributeError) as reason:
            raise BadFile(f"{name}: entry {number} is damaged; save it on the phone again.") from (
                reason
            )
    device = told.get("device")
    return Unsent(device if isinstance(device, str) and device.strip() else "phone", tuple(found))


def _entry(told: dict[str, Any]) -> UnsentEntry:
    made_at = datetime.fromisoformat(_text(told["made_at"]))
    if made_at.tzinfo is None:
        raise ValueError("no offset from UTC")
    fields = tuple((_text(name), _text(value)) for name, value in told["fields"])
    pictures = tuple(
        UnsentPicture(
            _text(each["field"]), _text(each["name"]), _text(each["kind"]),
            b64decode(_text(each["base64"]), validate=True),
        )
        for each in told["files"]
    )  # fmt: skip
    step = _text(told["step"])
    if dict(fields).get("step") != step:
        raise ValueError("the form is not that of the step")
    return UnsentEntry(
        step, _text(told["address"]), _text(told["title"]), made_at, fields, pictures
    )


def _text(told: Any) -> str:
    if not isinstance(told, str):
        raise TypeError("no text")
    return told


def there_already(book: Book, entries: Iterable[UnsentEntry]) -> frozenset[str]:
    """The steps among them that the book has."""
    from spawnwright.store.book.history import step_kept

    with book.read() as connection:
        return frozenset(each.step for each in entries if step_kept(connection, each.step))


def back_up_before(book: Book, now: datetime) -> Path | None:
    """A checked copy of the book before entries are taken in; none of a PostgreSQL book."""
    from spawnwright.store.book.backup import make_backup

    return None if book.path is None else make_backup(book.path, "before-import", now).path
