"""A look in three taps: what such a jar should look like, what was tapped, the look that is kept.

Somebody who sees a jar and its drawing side by side says "as drawn", "less" or "more", or a share.
"As drawn" is kept as the sign "as expected" and no share; of the others, the middle of what the
word leaves open is kept, with a note that says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.hand import Entered, arrived, made_id, rows_of, with_step
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.book.standing import Standing
from spawnwright.errors import Contradiction, Unusable
from spawnwright.records.book.signs import HARM, SIGN_NAMED, how_worrying
from spawnwright.records.book.steps import Entry, Kept, Step

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.store.book.engine import Book

WORDS = ("as drawn", "less", "more")
SHARES = (0, 25, 50, 75, 100)
"""What may be tapped for how far a jar is: a word, or a percentage."""
NO_LESS, NO_MORE = 5.0, 95.0
"""A forecast this near to nothing, or to all white, leaves no room for less, or for more [%]."""


@dataclass(frozen=True)
class NormalFor:
    """What a species is called, and what is normal for it and may be taken for trouble."""

    name: str
    looks: str


def normal_for(species: str | None) -> NormalFor | None:
    """The words of the catalog for a species; none if it is not known."""
    if species is None:
        return None
    from spawnwright.errors import SpawnwrightError
    from spawnwright.records.species import Species
    from spawnwright.store.catalog import find

    try:
        found = find(Species, "species", species)
    except SpawnwrightError:
        # A book from elsewhere may name a species of that grower's own file.
        return NormalFor(species, "")
    return NormalFor(found.common, found.looks_like_trouble)


def jar_of(connection: Connection, typed: str) -> dict[str, Any]:
    """The row of the jar that a code, or the address on a label, names.

    Raises `Unusable` for what is no code, `UnknownName` with the nearest for one that no jar has.
    """
    from spawnwright.actions.book.find import jar_of_typed

    jar = jar_of_typed(connection, typed)
    return rows_of(connection, [jar], "jar")[jar]


def about_look(far: str | None, told: Mapping[str, Any], standing: Standing) -> dict[str, Any]:
    """The columns of a look from what was tapped.

    Parameters
    ----------
    far : str, optional
        One of `WORDS`, or a percentage as text.
    told : mapping
        `sign`, `place`, `smell`, `note`; what is none is left out.
    standing : Standing
        How the jar stands, with its forecast of today.
    """
    about = {name: value for name, value in told.items() if value is not None}
    sign = about.get("sign")
    if sign is not None and sign not in SIGN_NAMED:
        raise Unusable(f"There is no sign {sign!r}; it can be {', '.join(SIGN_NAMED)}.")
    if far is None:
        return about
    if far not in WORDS:
        return about | {"percent": _percent(far)}
    if far == "as drawn":
        return {"sign": "as expected"} | about
    share, note = _middle(far, standing)
    said = " ".join(filter(None, (note, about.get("note"))))
    return about | {"note": said} | ({} if share is None else {"percent": share})


def _percent(text: str) -> float:
    from spawnwright.units import parse_plain

    found = parse_plain(text.rstrip("% "), "how far it is")
    if not 0 <= found <= 100:
        raise Unusable(f"How far it is can be 0 to 100 %, not {found:g}.")
    return found


def words_for(expected: tuple[float, float, float] | None) -> tuple[str, ...]:
    """Those of `WORDS` that mean something beside a forecast: none is less than nothing [%]."""
    if expected is None:
        return ()
    low, _, high = expected
    less, more = low > NO_LESS, high < NO_MORE
    return ("as drawn", *(("less",) if less else ()), *(("more",) if more else ()))


def _middle(word: str, standing: Standing) -> tuple[float | None, str]:
    """The middle of what "less" or "more" than the forecast leaves open [%], and the note."""
    if word not in words_for(standing.expected):
        return None, f"{word.capitalize()} white than expected."
    assert standing.expected is not None
    low, _, high = standing.expected
    share = low / 2 if word == "less" else (high + 100) / 2
    end = f"less than {low:.0f}" if word == "less" else f"more than {high:.0f}"
    return round(share), f"Seen as {end} %; the middle of that is kept."


def is_harm(sign: str | None, species: str | None) -> bool:
    """Whether a sign means: keep it shut and away."""
    return how_worrying(sign, species) == HARM


def enter_look(
    book: Book,
    hand: Hand,
    jar: str,
    about: Mapping[str, Any],
    now: datetime,
    photos: Sequence[bytes] = (),
) -> Entered:
    """Enter a look, its photos with it, as one step; nothing is kept if a photo is refused.

    Parameters
    ----------
    book, hand, now
        Where to, who, and the time of receipt.
    jar : str
        The jar's id.
    about : mapping
        From `about_look`.
    photos : sequence of bytes
        Files as they were sent; see `book_photo.prepared` for what is refused.
    """
    from spawnwright.actions.book.looks import add_look

    if not photos:
        return add_look(book, hand, jar, about, now)
    from spawnwright.actions.book.photo import prepared
    from spawnwright.store.book.journal import keep
    from spawnwright.store.book.pictures import Picture

    hand = with_step(hand)
    look = made_id(hand, "look", jar)
    there = arrived(book, hand)
    if there:
        return Entered(look, there)
    with book.read() as connection:
        code = rows_of(connection, [jar], "jar")[jar]["code"]
    said = {"at": hand.at} | dict(about or {"note": "Photo."}) | {"jar": jar}
    entries, pictures = [Entry(look, "look", said)], []
    for number, data in enumerate(photos):
        fit = prepared(data)
        picture = Picture(fit.media_type, fit.data)
        fields = {
            "jar": jar, "look": look, "taken_at": hand.at, "content": picture.content,
            "media_type": fit.media_type, "width": fit.width, "height": fit.height,
        }  # fmt: skip
        entries.append(Entry(made_id(hand, "photo", str(number)), "photo", fields))
        pictures.append(picture)
    at = hand.at.isoformat()
    step = Step(hand.step, at, hand.who, hand.device, f"look at {code}", tuple(entries))
    return Entered(look, keep(book, step, now, pictures))


def picture_named(book: Book, content: str) -> tuple[str, bytes] | None:
    """Media type and bytes of a picture by the SHA-256 of them; none if it is not there."""
    from spawnwright.store.book.pictures import picture

    with book.read() as connection:
        found = picture(connection, content)
    return None if found is None else (found.media_type, found.data)


@dataclass(frozen=True)
class RoundJar:
    """A jar of a round: how it stands, and its id."""

    id: str
    standing: Standing


def jars_of_round(
    connection: Connection, judge: Any, batch: str, now: datetime, after: str | None = None
) -> tuple[list[RoundJar], str | None]:
    """The jars of a batch that a round may look at, by code, and where the next page begins.

    Jars that wait for their culture are left out, controls are in. `judge` takes a connection,
    rows and the time, and says how the jars stand.
    """
    from spawnwright.store.book.shelf import bare_jars

    rows = sorted(bare_jars(connection, None, MOST_OF_BATCH, batch), key=lambda row: row["code"])
    standings = [each for each in judge(connection, rows, now) if each.state != "empty"]
    found = [RoundJar(each.jar["id"], each) for each in standings]
    left = [each for each in found if after is None or each.standing.jar["code"] > after]
    page = left[:ON_A_PAGE]
    more = page[-1].standing.jar["code"] if len(left) > ON_A_PAGE else None
    return page, more


MOST_OF_BATCH = 2000
ON_A_PAGE = 150
"""Jars of a round on one page; the next page is a round of its own."""


def enter_round(
    book: Book,
    hand: Hand,
    jars: Sequence[str],
    exceptions: Mapping[str, Mapping[str, Any]],
    now: datetime,
) -> Kept:
    """Enter a round: a look at each jar, as expected but for the exceptions."""
    from spawnwright.actions.book.looks import round_as_expected

    for about in exceptions.values():
        if about.get("sign") is not None and about["sign"] not in SIGN_NAMED:
            raise Unusable(f"There is no sign {about['sign']!r}.")
    return round_as_expected(book, hand, jars, now, exceptions)


def ids_of_codes(connection: Connection, typed: Sequence[str]) -> dict[str, str]:
    """Ids by code of the jars that were typed or scanned; one that is no jar's refuses all."""
    found = {}
    for each in typed:
        row = jar_of(connection, each)
        found[row["code"]] = row["id"]
    return found


def is_shelf_empty(connection: Connection) -> bool:
    """Whether no jar stands on the shelf."""
    from spawnwright.store.book.shelf import bare_jars

    return not bare_jars(connection, None, 1)


def shake(
    book: Book, hand: Hand, standing: Standing, now: datetime, note: str | None = None
) -> Kept:
    """Enter that a jar was shaken; one with a bad sign, or in doubt, is refused.

    Raises
    ------
    Contradiction
        If the last sign is trouble: a shake would spread it, in the jar and, through a wet
        filter, beyond it.
    """
    from spawnwright.actions.book.looks import add_shake

    there = arrived(book, hand)
    if there:
        return there
    if standing.sign_how == HARM:
        raise Contradiction(
            f"Jar {standing.jar['code']} was last seen with {standing.sign}: a shake would spread "
            "it. If that was a mistake, enter a new look first."
        )
    return add_shake(book, hand, [standing.jar["id"]], now, note)
