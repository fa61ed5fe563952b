"""What becomes of jars: filled under a code, spoiled and made harmless, back on the rack."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.errors import Contradiction
from spawnwright.records.book.steps import Entry, Kept, Step

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book


LONGEST_TITLE = 200


@dataclass(frozen=True)
class Hand:
    """Who enters something, where, and when by that device's clock; `step` comes from there too.

    A device that may send twice makes the step's id itself.
    """

    who: str
    device: str
    at: datetime
    step: str = ""


def new_id() -> str:
    """An id for a record or a step: 16 hexadecimal digits."""
    return secrets.token_hex(8)


def enter(book: Book, hand: Hand, title: str, entries: tuple[Entry, ...], now: datetime) -> Kept:
    """Keep entries as one step of a hand.

    The title may hold names that somebody typed: what cannot be printed in them becomes a space.
    """
    from spawnwright.store.book.journal import keep

    at = hand.at.isoformat()
    shown = " ".join("".join(sign if sign.isprintable() else " " for sign in title).split())
    step = Step(hand.step or new_id(), at, hand.who, hand.device, shown[:LONGEST_TITLE], entries)
    return keep(book, step, now)


def undo(book: Book, hand: Hand, target: str, now: datetime) -> Kept:
    """Undo a step; that is a step too, and can be undone."""
    from spawnwright.store.book.journal import keep

    at = hand.at.isoformat()
    step = Step(hand.step or new_id(), at, hand.who, hand.device, "undo", undoes=target)
    return keep(book, step, now)


def fill_jars(
    book: Book, hand: Hand, count: int, about: dict[str, Any], now: datetime
) -> dict[str, str]:
    """Enter freshly filled jars, each under the next free code; gives their ids by code.

    `about` holds what is the same for all: `jar_kind`, `fill`, `grain_batch`, `lid_batch`, …
    The same step sent again gives the same jars.
    """
    from sqlalchemy import func, select

    from spawnwright.store.book.notebook import free_code, hashed
    from spawnwright.store.book.tables import ENTRIES, JARS

    hand = replace(hand, step=hand.step or new_id())
    with book.read() as connection:
        there = select(JARS.c.code, JARS.c.id).join(ENTRIES, ENTRIES.c.record == JARS.c.id)
        found = {row[0]: row[1] for row in connection.execute(
            there.where(ENTRIES.c.step == hand.step))}  # fmt: skip
        if found:
            return found
        number = connection.execute(select(func.count()).select_from(JARS)).scalar_one()
        codes = []
        for _ in range(count):
            code, number = free_code(connection, number)
            codes.append(code)
    jars = {code: hashed(f"{hand.step}\x1f{code}") for code in codes}
    filled = {"filled_at": hand.at} | about
    entries = tuple(Entry(jar, "jar", filled | {"code": code}) for code, jar in jars.items())
    enter(book, hand, "fill jars", entries, now)
    return jars


@dataclass(frozen=True)
class NextStep:
    """What a spoiled jar needs next."""

    title: str
    detail: str
    cautions: tuple[str, ...] = ()


_SHUT = "Do not open it and do not smell at it: spores of mold are bad for lungs and for all jars."
_PRESSURE = "The canner's own manual comes first; never above its rated pressure."


def next_for_spoiled(connection: Connection, jar: str) -> NextStep | None:
    """The next step for a jar that is spoiled; none for any other, or when all is done."""
    from spawnwright.store.book.history import current
    from spawnwright.store.book.shelf import runs_with_spoiled

    row = current(connection, [jar])[jar]
    return next_by_runs(row, runs_with_spoiled(connection, [jar]).get(jar, []))


def next_by_runs(row: Mapping[str, Any], runs: Sequence[Mapping[str, Any]]) -> NextStep | None:
    """The same, where the jar's row and the runs in which it was sterilized shut are known."""
    if row["outcome"] != "spoiled":
        return None
    if row["moved_away_at"] is None:
        return NextStep(
            "Move it away, shut",
            "Carry it out of the room of the others, lid on, and wash your hands.",
            (_SHUT,),
        )
    if not runs:
        return NextStep(
            "Sterilize it shut, in a run of its own",
            "A full cycle, at least as long as for a fresh jar of this size, with no jar in the "
            "canner that is to be used.",
            (_SHUT, _PRESSURE),
        )
    if runs[-1]["opened_at"] is None:
        return NextStep(
            "Let the canner cool and open it",
            "Only at zero pressure; hot glass breaks on a cold surface.",
            (_PRESSURE,),
        )
    if row["jar_back"] is None or row["lid_back"] is None:
        return NextStep(
            "Empty it outdoors",
            "The grain goes on the compost or into the bin. Wash the jar, or bin it if it is "
            "chipped; bin the filter, and the lid if its port or seal has suffered.",
            ("Hold your face away when the lid comes off.",),
        )
    return None


def put_back(
    book: Book, hand: Hand, jar: str, glass: str, lid: str, seen: tuple[str, ...], now: datetime
) -> Kept:
    """Say that a jar and its lid are washed or binned, so that they are free, or gone.

    Raises
    ------
    Contradiction
        If the jar has no outcome yet, or is spoiled and was not made harmless before.
    """
    from spawnwright.store.book.history import current

    with book.read() as connection:
        row = current(connection, [jar])[jar]
        if row["outcome"] is None:
            raise Contradiction(f"Jar {row['code']} is still in use: say first what became of it.")
        waiting = next_for_spoiled(connection, jar)
    if waiting is not None and waiting.title != "Empty it outdoors":
        raise Contradiction(
            f"Jar {row['code']} is spoiled and must stay shut. First: {waiting.title.lower()}."
        )
    back = {"jar_back": glass, "jar_back_at": hand.at, "lid_back": lid, "lid_back_at": hand.at}
    return enter(book, hand, "jar and lid back", (Entry(jar, "jar", back, seen),), now)


def load_run(book: Book, hand: Hand, run: str, jars: dict[str, str], now: datetime) -> Kept:
    """Enter which jars stand where in a canner: ids of jars with their positions.

    Raises
    ------
    Contradiction
        If a spoiled jar is among those to be used, or the other way round.
    """
    from spawnwright.store.book.history import current
    from spawnwright.store.book.notebook import hashed

    hand = replace(hand, step=hand.step or new_id())
    with book.read() as connection:
        rows = current(connection, [run, *jars])
    purpose = rows[run]["purpose"]
    for jar in jars:
        is_spoiled = rows[jar]["outcome"] == "spoiled"
        if is_spoiled != (purpose == "spoiled jars"):
            raise Contradiction(
                f"Jar {rows[jar]['code']} is {'spoiled' if is_spoiled else 'not spoiled'}: "
                "spoiled jars go into a run of their own."
            )
    name = "spoiled_jar" if purpose == "spoiled jars" else "jar"
    entries = tuple(
        Entry(
            hashed(f"{hand.step}\x1fload\x1f{jar}"),
            "load",
            {"run": run, name: jar, "position": position or None},
        )
        for jar, position in jars.items()
    )
    return enter(book, hand, "load the canner", entries, now)


@dataclass(frozen=True)
class Recall:
    """How much descends from a record, by kind, and which of the jars are still here."""

    record: str
    kind: str
    counts: dict[str, int]
    """Of all that came from it; the record itself is not counted."""
    still_here: tuple[str, ...]
    """Codes of the jars among it that have no outcome yet."""

    @property
    def jars(self) -> int:
        """How many jars came from it."""
        return self.counts.get("jar", 0)


def recall(connection: Connection, record: str) -> Recall:
    """What would have to be called back if a record turned out bad; nothing is changed."""
    from spawnwright.store.book.lineage import below

    return recall_among(connection, record, below(connection, record))


def recall_among(connection: Connection, record: str, reached: set[int]) -> Recall:
    """The recall of a record when it is known already what came from it: numbers of records."""
    from spawnwright.store.book.history import current
    from spawnwright.store.book.lineage import jars_among, kinds_among

    kind = current(connection, [record])[record]["kind_of_record"]
    here = jars_among(connection, reached, [None])
    counts = kinds_among(connection, reached)
    return Recall(record, kind, counts, tuple(jar["code"] for jar in here))
