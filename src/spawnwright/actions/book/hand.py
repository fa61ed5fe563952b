"""What every entry of the grower needs: ids that a repeated step makes again, what was seen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.jars import Hand, new_id
from spawnwright.errors import Contradiction, UnknownName, Unusable
from spawnwright.records.book.steps import Entry, Kept

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book


@dataclass(frozen=True)
class Entered:
    """That a step is in the book, and the record that it is about or made."""

    record: str
    kept: Kept


def with_step(hand: Hand) -> Hand:
    """The hand with a step's id, made here if the device made none."""
    return hand if hand.step else replace(hand, step=new_id())


def made_id(hand: Hand, *parts: str) -> str:
    """The id of a record that a step makes: the same when the same step arrives again."""
    from spawnwright.store.book.notebook import hashed

    return hashed("\x1f".join((hand.step, *parts)))


def arrived(book: Book, hand: Hand) -> Kept | None:
    """That the step of a hand is in the book already; none if it is not.

    A device that got no answer sends again; what it did must then not be checked against itself.
    """
    from spawnwright.store.book.history import step_kept

    if not hand.step:
        return None
    with book.read() as connection:
        received = step_kept(connection, hand.step)
    return None if received is None else Kept(hand.step, received, was_there=True)


def rows_of(connection: Connection, records: Iterable[str], kind: str) -> dict[str, dict[str, Any]]:
    """The records of one kind as they are now; another kind, or none, is refused."""
    from spawnwright.store.book.history import current

    wanted = list(records)
    found = current(connection, wanted)
    for record in wanted:
        if record not in found:
            raise UnknownName(kind, record, ())
        if found[record]["kind_of_record"] != kind:
            told = found[record]["kind_of_record"]
            raise Contradiction(f"{record} is a {told}, not a {kind}.")
        if found[record]["undone"]:
            raise Contradiction(f"The {kind} {record} was undone; nothing can rest on it.")
    return found


def change_entry(
    row: dict[str, Any], fields: dict[str, Any], seen: tuple[str, ...] | None = None
) -> Entry:
    """An entry about a record that is there; without `seen`, its writer saw the row given."""
    return Entry(row["id"], row["kind_of_record"], fields, seen or tuple(row["seen"].split()))


OLDEST_YEAR = 1950
"""No culture, lot or jar of a book is older; a year before it is a slip of the finger."""


def check_days(about: Mapping[str, Any], now: datetime, **named: str) -> None:
    """Refuse days that cannot be of what has happened: yet to come, or before anybody's time.

    Parameters
    ----------
    about : mapping
        Fields of a record.
    now : datetime
        The present; its day and, since a device may be in another time zone, the next one count.
    **named : str
        The fields that are days, each with what it is in a sentence.
    """
    for name, what in named.items():
        told = about.get(name)
        if not isinstance(told, str | date):
            continue
        try:
            day = date.fromisoformat(told[:10]) if isinstance(told, str) else told
        except ValueError:
            raise Unusable(f"{what} {str(told)[:40]!r} is no date; write 2026-11-25.") from None
        day = day.date() if isinstance(day, datetime) else day
        if day > (now + timedelta(days=1)).date():
            raise Unusable(f"{what} {day} is yet to come; look at the year again.")
        if day.year < OLDEST_YEAR:
            raise Unusable(f"{what} {day} is too long ago; look at the year again.")


def check_above_zero(about: Mapping[str, Any], **named: str) -> None:
    """Refuse a mass of nothing, where something was weighed; what was left out is none."""
    for name, what in named.items():
        if about.get(name) is not None and about[name] <= 0:
            raise Unusable(f"{what} is 0; give what the scale shows, or leave it out.")
