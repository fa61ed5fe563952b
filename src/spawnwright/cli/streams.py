"""Standard output and error that can take any text, whatever the terminal's alphabet."""

from __future__ import annotations

import codecs
import os
import sys
import unicodedata

SPELLED_OUT = {
    "°": "deg ", "²": "2", "³": "3", "×": "x", "·": "*", "±": "+/-", "≈": "~", "≤": "<=", "≥": ">=",
    "−": "-", "–": "-", "—": "-", "…": "...", "→": "->", "’": "'", "‘": "'", "“": '"', "”": '"',
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "µ": "u", "μ": "u", "Δ": "D",
    "η": "eta", "λ": "lambda", "•": "*", "\u00a0": " ", "\u2009": " ", "\u202f": " ",
}  # fmt: skip


def take_any_text() -> None:
    """Let both streams spell out what their encoding lacks, instead of failing on it."""
    codecs.register_error("spawnwright", _spelled_out)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="spawnwright")


def _spelled_out(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    lacking = problem.object[problem.start : problem.end]
    return "".join(_plain(character) for character in lacking), problem.end


def _plain(character: str) -> str:
    if character in SPELLED_OUT:
        return SPELLED_OUT[character]
    base = unicodedata.normalize("NFKD", character).encode("ascii", "ignore").decode()
    return base or "?"


def is_utf8(encoding: str | None) -> bool:
    """Whether an encoding is UTF-8, under any of its names."""
    return bool(encoding) and codecs.lookup(str(encoding)).name == "utf-8"


class Unwritable(Exception):
    """Standard output takes no more, for a reason other than that its reader has left."""


def write(text: str) -> None:
    """Write to standard output, all the way."""
    try:
        print(text, flush=True)
    except BrokenPipeError:
        raise
    except OSError as problem:
        raise Unwritable(f"The answer could not be written: {problem.strerror}.") from problem


def close_quietly() -> None:
    """Send what is still to be written nowhere, since nobody takes it."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
