"""Where the grower's own files lie."""

from __future__ import annotations

from pathlib import Path


def own_files() -> Path:
    """The folder of the grower's own files."""
    from spawnwright.store.catalog import own_folder

    return own_folder()
