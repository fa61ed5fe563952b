"""The grower's kit: read it, change a line of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spawnwright.records.kit import Kit

_last: tuple[tuple[str, int, int] | None, Kit] | None = None


def own_kit() -> Kit:
    """The kit as it is in its file now; an empty one if there is none.

    The file is read again only when it has changed, so that a page may ask each time.
    """
    from spawnwright.store.kit_file import kit_path, read_kit

    global _last
    path = kit_path()
    try:
        stat = path.stat()
        mark = (str(path), stat.st_mtime_ns, stat.st_size)
    except OSError:
        mark = None
    if _last is None or mark is None or _last[0] != mark:
        _last = (mark, read_kit(path))
    return _last[1]


def change_kit(changes: Mapping[str, str | None]) -> Kit:
    """Change lines of the kit and keep it; a line that is none is taken out.

    Raises
    ------
    Unusable
        If a line cannot be; nothing is written then.
    """
    from spawnwright.store.kit_file import kit_of, write_kit

    typed = own_kit().typed | {key: text for key, text in changes.items() if text is not None}
    for key, text in changes.items():
        if text is None:
            typed.pop(key, None)
    kit = kit_of(typed)
    write_kit(kit)
    return kit
