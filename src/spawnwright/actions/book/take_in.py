"""A file that a page was handed, on its way into the book: kept aside, shown, taken in."""

from __future__ import annotations

import re
import secrets
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from spawnwright.actions.own_files import own_files
from spawnwright.errors import BadFile, Unusable

if TYPE_CHECKING:
    from spawnwright.actions.book.importing import Imported, NotebookChoices

FOLDER = "handed-in"
ENDS = (".json", ".csv", ".jsonl")
KEPT_FOR = timedelta(hours=6)


def set_aside(name: str, content: bytes, now: datetime) -> str:
    """Keep a file aside until somebody has seen what it would do; gives its name there.

    Raises `Unusable` for a file of a sort that is not taken.
    """
    end = Path(name).suffix.lower()
    if end not in ENDS:
        raise Unusable(
            f"{name[:80]!r} is not taken: an export ends with .json, a notebook or a logger's "
            "file with .csv, a watched run with .jsonl."
        )
    if not content:
        raise Unusable(f"{name[:80]!r} is empty.")
    folder = own_files() / FOLDER
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for old in folder.iterdir():
            if now.timestamp() - old.stat().st_mtime > KEPT_FOR.total_seconds():
                old.unlink()
        kept = f"{secrets.token_hex(8)}{end}"
        (folder / kept).write_bytes(content)
    except OSError as reason:
        raise BadFile(f"{folder} cannot be written: {reason.strerror or reason}.") from reason
    return kept


def _aside(kept: str) -> Path:
    if not re.fullmatch(r"[0-9a-f]{16}\.(json|csv|jsonl)", kept):
        raise Unusable("That file was not handed in here; choose it again.")
    path = own_files() / FOLDER / kept
    if not path.is_file():
        raise Unusable("The file that was handed in is gone; choose it again.")
    return path


def preview_file(named: str | None, kept: str, choices: NotebookChoices, now: datetime) -> Imported:
    """What taking in a file that was set aside would do."""
    from spawnwright.actions.book.importing import import_file

    return import_file(named, _aside(kept), choices, now, do=False)


def take_file(named: str | None, kept: str, choices: NotebookChoices, now: datetime) -> Imported:
    """Take in a file that was set aside, after a backup; it is deleted if that succeeds."""
    from spawnwright.actions.book.importing import import_file

    path = _aside(kept)
    done = import_file(named, path, choices, now, do=True)
    if done.is_done:
        path.unlink(missing_ok=True)
    return done


def backups_there(book: Path | None) -> list[tuple[Path, datetime, int]]:
    """The copies of a book, newest first: path, when it was made, size [bytes]."""
    from spawnwright.store.book.backup import backups_of

    if book is None:
        return []
    return [(each.path, each.made, each.path.stat().st_size) for each in backups_of(book)][::-1]
