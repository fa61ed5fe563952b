"""Read how full a jar is to be, as a grower says it."""

from __future__ import annotations

import re

from spawnwright import units
from spawnwright.errors import NotAQuantity
from spawnwright.records.fill import Fill

_BELOW_RIM = re.compile(
    r"(?P<distance>.+?)\s*(?:below|under|from)\s+(?:the\s+)?(?:rim|brim|top)", re.IGNORECASE
)
_WAYS = 'write it like "70%", "2/3", "3 cm below the rim" or "480 g"'


def read_fill(text: str) -> Fill:
    """The fill that a text means: "70%", "2/3", "3 cm below the rim" or "480 g" of wet grain.

    Raises `NotAQuantity` for anything else, a bare number included.
    """
    written = text.strip()
    below = _BELOW_RIM.fullmatch(written)
    if below:
        return Fill("below rim", units.parse(below["distance"], "length"), written)
    share = re.sub(r"\s*\bfull$", "", written, flags=re.IGNORECASE)
    if share.endswith("%") or re.search(r"[/½¼¾⅓⅔]\s*\d*$", share):
        return Fill("share", units.parse_share(share, "a fill"), share)
    try:
        return Fill("mass", units.parse(written, "mass"), written)
    except NotAQuantity as problem:
        raise NotAQuantity(f"{written!r} is not a fill; {_WAYS}.") from problem
