"""Files that nobody else on this machine may read, replaced whole or not at all."""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from pathlib import Path

from spawnwright.errors import BadFile


def write_private(path: Path, content: bytes) -> None:
    """Put `content` in the place of a file, readable by its owner only.

    Raises
    ------
    BadFile
        If the file cannot be written; the old one is still there then.
    """
    half = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with os.fdopen(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        half.replace(path)
    except OSError as reason:
        with suppress(OSError):
            half.unlink()
        raise BadFile(f"{path} cannot be written: {reason.strerror or reason}.") from reason
