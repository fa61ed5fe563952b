"""What each form said that was kept, so that a changed form is not taken for the same one again.

A browser that goes back may show the form of an entry that was kept, with the same step. Sent
unchanged it is the same entry, which arrives once. Changed it is another, and passing it over as
known would lose it without a word.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Iterable
from threading import Lock

from spawnwright.errors import Contradiction

REMEMBERED = 20_000
"""Forms that are remembered; a form is hardly ever sent again after so many others."""


class SaidOtherwise(Contradiction):
    """A form that was kept came again and says something else."""


class Once:
    """The forms kept last, by their steps, while the server runs."""

    def __init__(self) -> None:
        self._said: OrderedDict[str, bytes] = OrderedDict()
        self._lock = Lock()

    def check(self, step: str, said: bytes) -> None:
        """Refuse a form of a step that was kept, if it says something else; nothing is kept."""
        with self._lock:
            known = self._said.get(step)
        if known is not None and known != said:
            raise SaidOtherwise(
                "This form was kept already, and now it says something else. What was kept first "
                "stands under What was entered, where it can be undone. If this is an entry of "
                "its own, send it again."
            )

    def note(self, step: str, said: bytes) -> None:
        """Remember what the form of a step said when it was kept."""
        with self._lock:
            self._said[step] = said
            while len(self._said) > REMEMBERED:
                self._said.popitem(last=False)


def told(parts: Iterable[str]) -> bytes:
    """A short mark of all that a form says, the same for the same parts in the same order."""
    return hashlib.sha256("\x1f".join(parts).encode("utf-8", "surrogatepass")).digest()
