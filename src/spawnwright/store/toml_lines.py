"""Where a key stands in a TOML text, for errors that name the line."""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any

from spawnwright.errors import BadFile
from spawnwright.store import catalog


def unknown_keys(
    text: str, origin: str, within: str, content: Any, known: Iterable[str], place: int = 0
) -> None:
    """Refuse a key that nothing reads; the nearest known one is offered."""
    known = tuple(known)
    for key in content:
        if key in known:
            continue
        near = get_close_matches(key, known, 1)
        offer = f"; did you mean {near[0]!r}?" if near else f"; known here: {', '.join(known)}."
        where = f" in [{within}]" if within else ""
        raise BadFile(
            f"{origin}, {line_in(text, within, key, place)}: unknown key {key!r}{where}{offer}"
        )


def line_in(text: str, within: str, key: str, place: int = 0) -> str:
    """The line, as "line 12", of a key of a table; of the table's head if the key is not there.

    `place` is which of several tables of that name, from 0.
    """
    lines = text.splitlines()
    start = 0
    if within:
        head = re.compile(rf"""\s*\[+\s*["']?{re.escape(within)}["']?\s*(?:\.[^\]]*)?\]+""")
        heads = [number for number, line in enumerate(lines) if head.match(line)]
        if not heads:
            return catalog.line_of(text, key)
        start = heads[min(place, len(heads) - 1)]
    own = re.compile(rf"""(?:.*[{{,]\s*|\s*){_quoted(key)}\s*=|\s*\[+.*{_quoted(key)}\s*\]""")
    for number, line in enumerate(lines[start:], start + 1):
        if number > start + 1 and within and re.match(r"\s*\[", line) and not own.match(line):
            break
        if own.match(line.split("#")[0]):
            return f"line {number}"
    return f"line {start + 1}"


def _quoted(key: str) -> str:
    return rf"""["']?{re.escape(key)}["']?"""
