"""One text for several steps of a kind: what they share once, what differs side by side."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from spawnwright.paper.dates import DAYS, MONTHS

_MOST_DIFFERENT = 6  # places of a text; with more it is clearer to print the texts apart

_MOST_LISTED = 4


def merged(texts: Sequence[str], names: Sequence[str]) -> str:
    """One text that says all of `texts`; `names` tell them apart where they differ too much.

    >>> merged(["Soak 2 kg until 10:00", "Soak 1.4 kg until 10:00"], ["1", "2"])
    'Soak 2 / 1.4 kg until 10:00'
    >>> merged(["Rinse twice", "Rinse", "Rinse"], ["1", "2", "3"])
    '1: Rinse twice 2, 3: Rinse'
    """
    if len(set(texts)) == 1:
        return texts[0]
    words = [text.split(" ") for text in texts]
    if len({len(each) for each in words}) == 1:
        side_by_side = _side_by_side(list(zip(*words, strict=True)))
        if side_by_side is not None:
            return side_by_side
    named: dict[str, list[str]] = {}
    for text, name in zip(texts, names, strict=True):
        named.setdefault(text, []).append(name)
    return " ".join(f"{', '.join(who)}: {text}" for text, who in named.items())


def _side_by_side(words: list[tuple[str, ...]]) -> str | None:
    """The text with the words that differ one after another; None if they do too often."""
    out, differing = [], 0
    for is_same, group in groupby(words, lambda each: len(set(each)) == 1):
        run = list(group)
        if is_same:
            out += [each[0] for each in run]
            continue
        differing += 1
        if not all(_is_a_value(word) for each in run for word in each):
            return None
        out.append(_listed([" ".join(column) for column in zip(*run, strict=True)]))
    return " ".join(out) if differing <= _MOST_DIFFERENT else None


def _listed(values: list[str]) -> str:
    """Values one after another; where they are many, neighbors that are the same are counted."""
    last = values[0][-1:]
    if last in ",.;:" and all(value.endswith(last) for value in values):
        return _listed([value[:-1] for value in values]) + last
    if len(values) <= _MOST_LISTED:
        return " / ".join(values)
    counted = [(value, len(list(group))) for value, group in groupby(values)]
    return " / ".join(value if n == 1 else f"{value} ({n}×)" for value, n in counted)


def _is_a_value(word: str) -> bool:
    """Whether a word is a number, a date or a run's letter, and not one that changes the sense."""
    bare = word.strip(",.;:()")
    is_letter = len(bare) <= 2 and bare.isupper()
    return any(sign.isdigit() for sign in word) or is_letter or bare in DAYS + MONTHS
