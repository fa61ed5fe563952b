"""Where the record book lies: its path, what is said about a bad place, who holds it."""

from __future__ import annotations

import fcntl
import os
import re
from io import BytesIO
from pathlib import Path
from typing import IO

from spawnwright.errors import BadFile, Contradiction
from spawnwright.store.catalog import own_folder

BOOK_NAME = "record-book.db"
APPLICATION_ID = 0x53505742
"""Marks a file as a record book; "SPWB"."""
HEAD = "0002"
"""The form that this program writes; a test holds it to the last of the migrations."""
_NETWORK = {
    "nfs", "nfs4", "cifs", "smb3", "smbfs", "afpfs", "webdav", "ncpfs", "9p", "drvfs", "ceph",
    "glusterfs", "afs", "fuse.sshfs", "fuse.rclone", "fuse.davfs", "fuse.gvfsd-fuse",
}  # fmt: skip
_SYNCED = re.compile(r"cloud|sync|drive|box$|^mobile documents$", re.IGNORECASE)


def book_path(named: str | Path | None) -> Path:
    """The file that was named, else the one in the folder of the grower's own files."""
    return Path(named).expanduser() if named else own_folder() / BOOK_NAME


def is_url(named: str | Path | None) -> bool:
    """Whether the book is a PostgreSQL database rather than a file."""
    return isinstance(named, str) and named.startswith(("postgresql:", "postgresql+", "postgres:"))


def warnings_about(path: Path, mounts: str | None = None) -> tuple[str, ...]:
    """What is wrong with keeping a database at a path: a network share, a synced folder.

    `mounts` is the text of /proc/mounts, read if it is there.
    """
    said = []
    folder = path.resolve().parent
    kind = _file_system(folder, _mounts() if mounts is None else mounts)
    if kind in _NETWORK:
        said.append(
            f"{folder} is on a network share or another system's disk ({kind}). Two machines that "
            "write there can damage the book; keep it on this machine's own disk, or use "
            "PostgreSQL for several machines."
        )
    if any(_SYNCED.search(part) for part in folder.parts):
        said.append(
            f"{folder} looks like a folder that is copied to other machines while the book is "
            "open, which can damage it. Keep the book elsewhere, and its backups there."
        )
    return tuple(said)


def _mounts() -> str:
    file = Path("/proc/mounts")
    return file.read_text(encoding="utf-8", errors="replace") if file.is_file() else ""


def _file_system(folder: Path, mounts: str) -> str:
    best, kind = "", ""
    for line in mounts.splitlines():
        parts = line.split(" ")
        if len(parts) < 3:
            continue
        mounted = parts[1].encode().decode("unicode_escape")
        inside = folder == Path(mounted) or Path(mounted) in folder.parents
        if inside and len(mounted) >= len(best):
            best, kind = mounted, parts[2]
    return kind


def make_folder(path: Path) -> None:
    """Make the folder of a book; raises `BadFile` if that cannot be."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as reason:
        raise BadFile(
            f"The folder {path.parent} for the record book cannot be made: "
            f"{reason.strerror or reason}. Name another file with --file."
        ) from reason
    if not os.access(path.parent, os.W_OK):
        raise BadFile(
            f"The folder {path.parent} cannot be written to, and the record book writes beside "
            "itself. Name a file elsewhere with --file, or make the folder writable."
        )


def check_is_book(path: Path) -> None:
    """Refuse a file that is no record book, going by its first bytes; a new one passes."""
    try:
        size = path.stat().st_size if path.exists() else 0
        with path.open("rb") if size else BytesIO() as file:
            head = file.read(100)
    except OSError as reason:
        raise BadFile(
            f"The record book {path} cannot be read: {reason.strerror or reason}."
        ) from reason
    if not head:
        return
    if head[:16] != b"SQLite format 3\0" or len(head) < 100:
        raise BadFile(
            f"{path} is no record book, or is damaged at its beginning. If it was one, restore "
            "the last good backup; the file was left as it is."
        )
    if int.from_bytes(head[68:72], "big") not in (0, APPLICATION_ID):
        raise BadFile(f"{path} belongs to another program; name another file with --file.")


class ServeHold:
    """The hold of the one process that serves a book's pages; a second one is refused.

    It is another lock than `Hold`, so that commands go on while pages are served.
    """

    def __init__(self, path: Path, address: str = "") -> None:
        lock = path.with_name(f"{path.name}.serve-lock")
        try:
            self._file: IO[str] = lock.open("a+", encoding="utf-8")
        except OSError as reason:
            raise BadFile(
                f"{lock} cannot be written: {reason.strerror or reason}. The record book needs "
                "a folder that it can write to."
            ) from reason
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as reason:
            self._file.seek(0)
            told = self._file.readline(200).strip()
            self._file.close()
            at = f" at {told}" if told else ""
            raise Contradiction(
                f"The pages of the record book {path} are being served already{at}. Use those, "
                "or stop them with Ctrl-C in their window first."
            ) from reason
        self._file.truncate(0)
        self._file.write(f"{address} (process {os.getpid()})\n")
        self._file.flush()

    def release(self) -> None:
        """Let go of it."""
        self._file.close()


class Hold:
    """A hold on a book, shared by all who use it, or one's own while it is replaced.

    The lock is the operating system's, so that it goes with the process that has it.
    """

    def __init__(self, path: Path, *, alone: bool = False) -> None:
        lock = path.with_name(f"{path.name}.lock")
        try:
            self._file: IO[str] = lock.open("a+", encoding="utf-8")
        except OSError as reason:
            raise BadFile(
                f"{lock} cannot be written: {reason.strerror or reason}. The record book needs "
                "a folder that it can write to."
            ) from reason
        how = fcntl.LOCK_EX if alone else fcntl.LOCK_SH
        try:
            fcntl.flock(self._file, how | fcntl.LOCK_NB)
        except OSError as reason:
            self._file.close()
            who = "is open in another process; close it there first" if alone else (
                "is being restored or moved by another process; try again in a moment"
            )  # fmt: skip
            raise Contradiction(f"The record book {path} {who}. Nothing was changed.") from reason

    def release(self) -> None:
        """Let go of it."""
        self._file.close()
