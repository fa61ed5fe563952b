"""Looks at jars: one, a round of a whole shelf with its exceptions, a photo, a shake."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import Entered, arrived, made_id, rows_of, with_step
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.errors import Contradiction, Unusable
from spawnwright.records.book.form import instant_text
from spawnwright.records.book.steps import Entry, Kept, Step

if TYPE_CHECKING:
    from spawnwright.store.book.engine import Book
    from spawnwright.store.book.pictures import Picture

AS_EXPECTED: dict[str, Any] = {"sign": "as expected"}
MOST_IN_A_ROUND = 2000


def add_look(book: Book, hand: Hand, jar: str, about: Mapping[str, Any], now: datetime) -> Entered:
    """Enter one look at one jar, at the hand's time unless `about` has another.

    `about` holds `percent`, `sign`, `place`, `smell`, `note`; a smell is refused where the sign
    may be mold.
    """
    hand = with_step(hand)
    look = made_id(hand, "look", jar)
    kept = arrived(book, hand)
    if not kept:
        with book.read() as connection:
            code = rows_of(connection, [jar], "jar")[jar]["code"]
        entry = Entry(look, "look", {"at": hand.at} | dict(about) | {"jar": jar})
        kept = enter(book, hand, f"look at {code}", (entry,), now)
    return Entered(look, kept)


def round_as_expected(
    book: Book,
    hand: Hand,
    jars: Sequence[str],
    now: datetime,
    exceptions: Mapping[str, Mapping[str, Any]] | None = None,
) -> Kept:
    """Enter a round: one step with a look at each jar, "as expected" but for the exceptions.

    Parameters
    ----------
    book, hand, now
        Where to, who, and the time of receipt.
    jars : sequence of str
        The ids of all jars that were looked at, the exceptions among them.
    exceptions : mapping, optional
        What was seen at a jar instead, by the jar's id: `percent`, `sign`, `note`, ….

    Raises
    ------
    Contradiction
        If a jar had its outcome by then, an exception is no jar of the round, or a jar is named
        twice. Nothing of the round is then kept.
    """
    hand, others = with_step(hand), dict(exceptions or {})
    kept = arrived(book, hand)
    if kept:
        return kept
    if not jars or len(jars) > MOST_IN_A_ROUND:
        raise Unusable(f"A round has {len(jars)} jars; it can have 1 to {MOST_IN_A_ROUND}.")
    if len(set(jars)) != len(jars) or others.keys() - set(jars):
        raise Contradiction(
            "A round names each jar once, and its exceptions are jars of the round."
        )
    with book.read() as connection:
        rows = rows_of(connection, jars, "jar")
    at = instant_text(hand.at)
    gone = sorted(
        f"{row['code']} ({row['outcome']})"
        for row in rows.values()
        if row["outcome"] is not None and row["outcome_at"] <= at
    )
    if gone:
        raise Contradiction(
            f"{', '.join(gone[:10])}: no longer on the shelf, so no part of a round. Leave "
            "them out; nothing was kept."
        )
    entries = tuple(
        Entry(
            made_id(hand, "look", jar),
            "look",
            {"at": hand.at} | dict(others.get(jar, AS_EXPECTED)) | {"jar": jar},
        )
        for jar in jars
    )
    return enter(book, hand, f"round of {len(jars)} jars", entries, now)


def add_photo(
    book: Book, hand: Hand, jar: str, look: str | None, data: bytes, now: datetime,
    note: str | None = None,
) -> Entered:  # fmt: skip
    """Enter a photo of a jar, taken at a look or by itself.

    It is made fit to keep first: see `book_photo.prepared`, which refuses what is too large or no
    photo. The picture comes in the same transaction.
    """
    from spawnwright.actions.book.photo import prepared
    from spawnwright.store.book.journal import keep
    from spawnwright.store.book.pictures import Picture

    hand = with_step(hand)
    photo = made_id(hand, "photo", jar)
    kept = arrived(book, hand)
    if kept:
        return Entered(photo, kept)
    with book.read() as connection:
        code = rows_of(connection, [jar], "jar")[jar]["code"]
        if look is not None and rows_of(connection, [look], "look")[look]["jar"] != jar:
            raise Contradiction(f"That look is at another jar than {code}.")
    fit = prepared(data)
    picture = Picture(fit.media_type, fit.data)
    fields = {
        "jar": jar, "look": look, "taken_at": hand.at, "content": picture.content,
        "media_type": fit.media_type, "width": fit.width, "height": fit.height, "note": note,
    }  # fmt: skip
    said = {name: value for name, value in fields.items() if value is not None}
    step = Step(
        hand.step, hand.at.isoformat(), hand.who, hand.device, f"photo of {code}",
        (Entry(photo, "photo", said),),
    )  # fmt: skip
    return Entered(photo, keep(book, step, now, [picture]))


def photo_picture(book: Book, photo: str) -> Picture | None:
    """The picture that a photo shows; none if there is no such photo or it was undone."""
    from spawnwright.store.book.history import current
    from spawnwright.store.book.pictures import picture

    with book.read() as connection:
        row = current(connection, [photo]).get(photo)
        if row is None or row["kind_of_record"] != "photo" or row["undone"]:
            return None
        return picture(connection, row["content"])


def add_shake(
    book: Book, hand: Hand, jars: Sequence[str], now: datetime, note: str | None = None
) -> Kept:
    """Enter that jars were shaken: one step, at the hand's time."""
    hand = with_step(hand)
    kept = arrived(book, hand)
    if kept:
        return kept
    with book.read() as connection:
        rows = rows_of(connection, jars, "jar")
    said = {"at": hand.at} | ({} if note is None else {"note": note})
    entries = tuple(
        Entry(made_id(hand, "shake", jar), "shake", said | {"jar": jar}) for jar in jars
    )
    codes = ", ".join(row["code"] for row in rows.values())
    return enter(book, hand, f"shake {codes}", entries, now)
