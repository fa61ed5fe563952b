"""Jars that stand already when the book begins: a batch without a plan, as one step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.fill import MOST_JARS, free_codes
from spawnwright.actions.book.hand import Entered, arrived, check_days, made_id, with_step
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.errors import Unusable
from spawnwright.records.book.steps import Entry

if TYPE_CHECKING:
    from spawnwright.store.book.engine import Book


@dataclass(frozen=True)
class Standing:
    """Jars that stand already, alike but for their codes.

    `inoculated_at` is none for jars that wait for their culture.
    """

    name: str
    count: int
    jar_kind: str
    filled_at: datetime
    species: str
    inoculated_at: datetime | None = None
    fill: float | None = None
    grain: str | None = None
    shelf_c: float | None = None
    culture: str | None = None
    """What the culture is called; left out, it is called after the batch."""


def take_in_jars(book: Book, hand: Hand, jars: Standing, now: datetime) -> Entered:
    """Enter jars that stand already: a batch, its grain, its culture, each jar under a code.

    Parameters
    ----------
    book, hand, now
        Where to, who, and the time of receipt.
    jars : Standing
        What is known of them.

    Returns
    -------
    Entered
        The batch.

    Raises
    ------
    Unusable
        If their number cannot be, or they were filled or inoculated in the future, or inoculated
        before they were filled.
    """
    hand = with_step(hand)
    batch = made_id(hand, "batch")
    kept = arrived(book, hand)
    if kept:
        return Entered(batch, kept)
    _check(jars, now)
    with book.read() as connection:
        codes = free_codes(connection, jars.count)
    about = {
        "name": jars.name, "species": jars.species, "shelf_c": jars.shelf_c,
        "started_at": jars.filled_at,
    }  # fmt: skip
    entries = [Entry(batch, "batch", _known(about))]
    shared: dict[str, Any] = {
        "jar_kind": jars.jar_kind, "filled_at": jars.filled_at, "fill": jars.fill, "batch": batch,
    }  # fmt: skip
    if jars.grain:
        shared["grain_batch"] = made_id(hand, "grain batch")
        made = {"made_at": jars.filled_at, "grain": jars.grain}
        entries.append(Entry(shared["grain_batch"], "grain batch", made))
    ids = [made_id(hand, "jar", code) for code in codes]
    entries += [
        Entry(jar, "jar", _known(shared) | {"code": code})
        for jar, code in zip(ids, codes, strict=True)
    ]
    if jars.inoculated_at is not None:
        entries += _inoculated(hand, jars, ids)
    title = f"take in {jars.count} jars, {codes[0]} to {codes[-1]}"
    return Entered(batch, enter(book, hand, title, tuple(entries), now))


def _check(jars: Standing, now: datetime) -> None:
    if not 1 <= jars.count <= MOST_JARS:
        raise Unusable(f"{jars.count} jars cannot be taken in at once; 1 to {MOST_JARS} can.")
    check_days({"filled": jars.filled_at, "inoculated": jars.inoculated_at}, now,
               filled="The day on which they were filled,",
               inoculated="The day on which they were inoculated,")  # fmt: skip
    if jars.filled_at > now:
        raise Unusable(f"{jars.filled_at:%Y-%m-%d} is yet to come; when were the jars filled?")
    if jars.inoculated_at is not None and jars.inoculated_at > now:
        raise Unusable(f"{jars.inoculated_at:%Y-%m-%d} is yet to come; leave it out until then.")
    if jars.inoculated_at is not None and jars.inoculated_at < jars.filled_at:
        raise Unusable("Jars are inoculated after they are filled; one of the two days is wrong.")


def _known(fields: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if value is not None}


def _inoculated(hand: Hand, jars: Standing, ids: list[str]) -> list[Entry]:
    """The culture that they came from, and each jar's inoculation."""
    strain, culture = made_id(hand, "strain"), made_id(hand, "culture")
    name = jars.culture or f"Culture of {jars.name}"
    known = {"name": name, "species": jars.species}
    return [
        Entry(strain, "strain", known),
        Entry(culture, "culture", {"name": name, "form": "liquid culture", "strain": strain}),
        *(
            Entry(made_id(hand, "inoculation", jar), "inoculation",
                  {"jar": jar, "at": jars.inoculated_at, "culture": culture, "number": number})
            for number, jar in enumerate(ids, 1)
        ),
    ]  # fmt: skip


def at_noon(day: date, zone: Any) -> datetime:
    """A day of which the hour is not known: its noon."""
    return datetime(day.year, day.month, day.day, 12, tzinfo=zone)
