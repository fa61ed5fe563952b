"""Inoculation: jars in their order, from a culture or grain-to-grain from another jar."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.doubt import refuse_in_doubt
from spawnwright.actions.book.hand import arrived, change_entry, made_id, rows_of, with_step
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.errors import Contradiction, Unusable
from spawnwright.records.book.steps import Entry, Kept

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book


def inoculate(
    book: Book,
    hand: Hand,
    culture: str,
    jars: Sequence[str],
    now: datetime,
    about: Mapping[str, Any] | None = None,
    *,
    in_spite: bool = False,
) -> Kept:
    """Inoculate jars from one culture, in this order: one step.

    Parameters
    ----------
    book, hand, now
        Where to, who, and the time of receipt.
    culture : str
        The culture's id.
    jars : sequence of str
        Ids in the order of the sitting, which each inoculation keeps as its `number`.
    about : mapping, optional
        What holds for each jar: `dose_ml`, `who`, `worked_where`, `way`, `note`.
    in_spite : bool
        Whether a culture in quarantine is used in spite of it.

    Raises
    ------
    Contradiction
        If the culture tested spoiled, has ended or is in quarantine; or if a jar has an outcome,
        was inoculated before, or is a control jar.
    """
    hand = with_step(hand)
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        row = rows_of(connection, [culture], "culture")[culture]
        if row["test"] == "spoiled":
            raise Contradiction(f"{row['name']} tested spoiled: it would spoil every jar.")
        if row["ended_on"] is not None:
            raise Contradiction(f"{row['name']} ended on {row['ended_on']}; name another culture.")
        _check_jars(connection, jars)
        refuse_in_doubt(connection, [culture], in_spite)
    entries = _entries(hand, jars, {"culture": culture} | dict(about or {}))
    title = f"inoculate {len(jars)} jars from {row['name']}"
    return enter(book, hand, title, entries, now)


def grain_to_grain(
    book: Book,
    hand: Hand,
    from_jar: str,
    jars: Sequence[str],
    now: datetime,
    about: Mapping[str, Any] | None = None,
    *,
    is_emptied: bool = True,
    in_spite: bool = False,
) -> Kept:
    """Inoculate jars with the grain of another jar: one step; the jar it is from is then used.

    `about` holds what is the same for each jar: `dose_g`, `who`, `worked_where`, `way`, `note`.
    Refused as in `inoculate`, and if the jar that it is from spoiled or has been used up.
    """
    hand = with_step(hand)
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        source = rows_of(connection, [from_jar], "jar")[from_jar]
        if source["outcome"] is not None:
            raise Contradiction(f"Jar {source['code']} is {source['outcome']} already.")
        if from_jar in jars:
            raise Contradiction(f"Jar {source['code']} cannot be inoculated from itself.")
        _check_jars(connection, jars)
        refuse_in_doubt(connection, [from_jar], in_spite)
    entries = _entries(hand, jars, {"from_jar": from_jar} | dict(about or {}))
    if is_emptied:
        used = {"outcome": "used", "outcome_at": hand.at}
        entries = (*entries, change_entry(source, used))
    title = f"inoculate {len(jars)} jars from jar {source['code']}"
    return enter(book, hand, title, entries, now)


def _check_jars(connection: Connection, jars: Sequence[str]) -> None:
    from spawnwright.store.book.cultures import inoculated

    if not jars or len(set(jars)) != len(jars):
        raise Unusable("Name the jars that are inoculated, each once.")
    rows = rows_of(connection, jars, "jar")
    before = inoculated(connection, list(jars))
    for jar, row in rows.items():
        code = row["code"]
        if row["outcome"] is not None:
            raise Contradiction(f"Jar {code} is {row['outcome']} already; leave it out.")
        if jar in before:
            raise Contradiction(f"Jar {code} was inoculated already; leave it out.")
        if row["is_control"]:
            raise Contradiction(
                f"Jar {code} is a control jar: it stays uninoculated, to show whether grain and "
                "run were clean. Leave it out."
            )


def _entries(hand: Hand, jars: Sequence[str], about: dict[str, Any]) -> tuple[Entry, ...]:
    said = {name: value for name, value in about.items() if value is not None}
    return tuple(
        Entry(
            made_id(hand, "inoculation", jar),
            "inoculation",
            {"at": hand.at, "who": hand.who} | said | {"jar": jar, "number": number},
        )
        for number, jar in enumerate(jars, 1)
    )


def jars_waiting(connection: Connection, batch: str | None = None) -> list[dict[str, Any]]:
    """Jars that may be inoculated next: those of a batch, or all that are sterilized."""
    from spawnwright.store.book.cultures import jars_to_inoculate

    return jars_to_inoculate(connection, batch)


def planned_dose(connection: Connection, batch: str) -> float | None:
    """The dose of liquid culture that a batch's plan gives each jar [mL]; none if it says none."""
    from spawnwright.store.book.batches import tasks_of

    doses = [
        json.loads(task["amounts"] or "{}").get("dose_ml")
        for task in tasks_of(connection, batch)
        if task["kind"] == "inoculate"
    ]
    return next((float(dose) for dose in doses if dose is not None), None)


def species_of_batch(connection: Connection, batch: str) -> str | None:
    """The species of a batch by its key; none if there is no such batch, or it does not say."""
    from spawnwright.store.book.origins import batches_named

    return batches_named(connection, [batch]).get(batch, {}).get("species")
