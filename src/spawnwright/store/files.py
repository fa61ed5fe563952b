"""Files written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path

from spawnwright.errors import BadFile


def check_writable(path: Path, keep: Path | None = None) -> None:
    """Refuse a place that `write_whole` could not write to, before any work is done for it.

    Parameters
    ----------
    path : Path
        Where a file is to be written; an older one there is replaced.
    keep : Path, optional
        A file that must not be replaced: the one that the answer is made from.

    Raises
    ------
    BadFile
        If it is a folder, `keep` itself, or its folder is not there or cannot be written to.
    """
    if path.is_dir():
        raise BadFile(f"{path} is a folder; name a file in it.")
    if path.exists() and not path.is_file():
        raise BadFile(f"{path} is no ordinary file, and would be replaced by one; name another.")
    if keep is not None and path.resolve() == keep.resolve():
        raise BadFile(f"{path} is the file that the answer is made from; name another one.")
    folder = path.parent
    if not folder.is_dir():
        raise BadFile(f"There is no folder {folder} to write {path.name} into; make it first.")
    if not os.access(folder, os.W_OK):
        raise BadFile(f"The folder {folder} cannot be written to; name a file elsewhere.")


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that there is never half of it: beside it first, then renamed.

    Raises
    ------
    BadFile
        If it cannot be written; an older file is then still there as it was.
    """
    made: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".", delete=False) as file:
            made = Path(file.name)
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        made.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_mask())
        made.replace(path)
    except OSError as reason:
        if made is not None:
            with suppress(OSError):
                made.unlink(missing_ok=True)
        raise BadFile(f"{path} cannot be written: {reason.strerror or reason}.") from reason


def _mask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
