"""What was seen of many jars, in one question for a page of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sqlalchemy import Connection, bindparam, select

from spawnwright.store.book.refold import in_parts
from spawnwright.store.book.tables import LOOKS

_LOOKS = (
    select(LOOKS.c.jar, LOOKS.c.at, LOOKS.c.percent, LOOKS.c.sign)
    .where(LOOKS.c.jar.in_(bindparam("jars", expanding=True)), ~LOOKS.c.undone)
    .order_by(LOOKS.c.jar, LOOKS.c.at)
)


@dataclass(frozen=True)
class Seen:
    """What the looks at one jar come to; instants are UTC text.

    A look that names no sign does not take back the sign that was seen before.
    """

    last_at: str
    sign: str | None = None
    sign_at: str | None = None
    percent: float | None = None
    percent_at: str | None = None
    white_at: str | None = None
    """Since when every percentage was at least the one asked about."""


def seen_of(connection: Connection, jars: Iterable[str], white: float) -> dict[str, Seen]:
    """What was seen of some jars; those never looked at are left out.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    jars : iterable of str
        Their ids.
    white : float
        The percentage from which on a jar counts as white all round [%].
    """
    told: dict[str, dict[str, str | float | None]] = {}
    for part in in_parts(set(jars)):
        for jar, at, percent, sign in connection.execute(_LOOKS, {"jars": part}).all():
            one = told.setdefault(jar, {})
            one["last_at"] = at
            if sign is not None:
                one["sign"], one["sign_at"] = sign, at
            if percent is not None:
                one["percent"], one["percent_at"] = percent, at
                if percent < white:
                    one["white_at"] = None
                elif one.get("white_at") is None:
                    one["white_at"] = at
    return {jar: Seen(**one) for jar, one in told.items()}  # type: ignore[arg-type]


def percents_before(connection: Connection, instants: Mapping[str, str]) -> dict[str, float]:
    """For each jar, the percent of its last look at or before an instant, as far as it had one."""
    found: dict[str, float] = {}
    for part in in_parts(instants):
        query = select(LOOKS.c.jar, LOOKS.c.at, LOOKS.c.percent).where(
            LOOKS.c.jar.in_(part), ~LOOKS.c.undone, LOOKS.c.percent.is_not(None)
        )
        for jar, at, percent in connection.execute(query.order_by(LOOKS.c.at)):
            if at <= instants[jar]:
                found[jar] = percent
    return found
