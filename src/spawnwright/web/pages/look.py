"""A look at a jar in three taps, beside its drawing; and many jars in a row, by their codes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from spawnwright.actions.book import looking as book_looking
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.book.photo import MOST_BYTES, MOST_PIXELS
from spawnwright.errors import Unusable
from spawnwright.records.book.codes import SIGNS as CODE_SIGNS
from spawnwright.records.book.grown import MOLD_SIGNS
from spawnwright.records.book.signs import HARM, KEEP_SHUT, QUIET, SIGN_NAMED, WATCH, WELL
from spawnwright.web import jar_words
from spawnwright.web.forecasting import Forecaster
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

GROUPS = (
    ("All well", (WELL, QUIET)), ("Have an eye on it", (WATCH,)), ("Keep it shut", (HARM,)),
)  # fmt: skip
MOST_PHOTOS = 4


def sign_groups() -> list[tuple[str, list[Any]]]:
    """The signs as they are offered: those of no concern first."""
    return [
        (title, [sign for sign in SIGN_NAMED.values() if sign.how in hows])
        for title, hows in GROUPS
    ]


def _common() -> dict[str, Any]:
    no_smell = [each.name for each in SIGN_NAMED.values() if each.how == HARM]
    return {
        "groups": sign_groups(), "shares": book_looking.SHARES, "keep_shut": KEEP_SHUT,
        "no_smell": frozenset(no_smell) | frozenset(MOLD_SIGNS),
        "megabytes": MOST_BYTES // 1_000_000, "megapixels": MOST_PIXELS // 1_000_000,
    }  # fmt: skip


def one(
    request: Request, typed: Mapping[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """The look at one jar."""
    desk = desk_of(request)
    with desk.book.read() as connection:
        jar = book_looking.jar_of(connection, request.path_params["code"])
        standing = Forecaster(desk).standing(connection, jar)
    return show(
        request, "look_one.html", typed=typed or {}, problem=problem, jar=jar, standing=standing,
        normal=book_looking.normal_for(standing.asked.species),
        drawn=jar_words.expected_drawn(standing), words=jar_words,
        offered=book_looking.words_for(standing.expected), **_common(),
    )  # fmt: skip


def keep_one(request: Request, form: Form, hand: Hand) -> Done:
    """Keep the look at the jar of the address."""
    return _kept(request, form, hand, request.path_params["code"], "/j/{code}")


def many(
    request: Request, typed: Mapping[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """Looks at one jar after another."""
    is_empty = False
    if not typed:
        with desk_of(request).book.read() as connection:
            is_empty = book_looking.is_shelf_empty(connection)
    return show(
        request, "look_many.html", typed=typed or {}, problem=problem, is_empty=is_empty,
        code_signs=CODE_SIGNS, code=request.query_params.get("code", ""), **_common(),
    )  # fmt: skip


def keep_many(request: Request, form: Form, hand: Hand) -> Done:
    """Keep the look at the jar whose code was typed."""
    return _kept(request, form, hand, form.needed("code", "The code of the jar"), "/look")


def _kept(request: Request, form: Form, hand: Hand, typed_code: str, following: str) -> Done:
    desk = desk_of(request)
    with desk.book.read() as connection:
        jar = book_looking.jar_of(connection, typed_code)
        standing = Forecaster(desk).standing(connection, jar, min(hand.at, desk.now()))
    far = form.text("percent") or form.text("far")
    sign = form.text("sign")
    smell = None if sign in _common()["no_smell"] else form.text("smell")
    told = {"sign": sign, "smell": smell, "place": form.text("place"), "note": form.text("note")}
    about = book_looking.about_look(far, told, standing)
    photos = photos_of(form)
    if not about and not photos:
        raise Unusable("Tap how far it is, or a sign; then keep it.")
    entered = book_looking.enter_look(desk.book, hand, jar["id"], about, desk.now(), photos)
    code = jar["code"]
    if book_looking.is_harm(about.get("sign"), standing.asked.species):
        return Done(f"/j/{code}/outcome?outcome=spoiled", entered.kept.step, KEEP_SHUT)
    return Done(following.format(code=code), entered.kept.step, f"Look at {code} kept.")


def photos_of(form: Form) -> list[bytes]:
    """The photos that a form brought, as they were sent."""
    files = form.files.get("photo", [])
    if len(files) > MOST_PHOTOS:
        raise Unusable(f"These are {len(files)} photos; up to {MOST_PHOTOS} are taken at once.")
    return [each.file.read(MOST_BYTES + 1) for each in files]


ROUTES = [entry("/look", keep_many, many), entry("/j/{code}/look", keep_one, one)]
