"""A round: all jars of a batch as expected in one tap, but for those that are marked."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, tzinfo
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from spawnwright.actions.book import looking as book_looking
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.book.shelf import batch_name
from spawnwright.errors import UnknownName, Unusable
from spawnwright.records.book.signs import SIGN_NAMED
from spawnwright.web import drawings, jar_words
from spawnwright.web.forecasting import Forecaster
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.pages.shelf import glyph_of
from spawnwright.web.show import show


def of_batch(
    request: Request, typed: Mapping[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """The round of a batch."""
    desk, batch = desk_of(request), request.path_params["batch"]
    after = (typed or {}).get("after", [request.query_params.get("after", "")])[-1]
    with desk.book.read() as connection:
        name = batch_name(connection, batch)
        if name is None:
            raise UnknownName("batch", batch, ())
        jars, more = book_looking.jars_of_round(
            connection, Forecaster(desk).judge, batch, desk.now(), after or None
        )
    glyphs: dict[str, tuple[drawings.Drawn, str]] = {}
    now, zone = desk.now(), desk.zone()
    rows = [_row(each, glyphs, now, zone) for each in jars]
    return show(
        request, "round.html", typed=typed or {}, problem=problem, rows=rows, glyphs=glyphs,
        name=name, batch=batch, more=more, after=after, signs=SIGN_NAMED.values(),
        waiting=sum(each.standing.is_waiting for each in jars),
    )  # fmt: skip


def _row(
    jar: book_looking.RoundJar, glyphs: dict[str, tuple[drawings.Drawn, str]],
    now: datetime, zone: tzinfo,
) -> dict[str, Any]:  # fmt: skip
    standing = jar.standing
    return {
        "id": jar.id, "code": standing.jar["code"], "glyph": glyph_of(standing, glyphs),
        "how": standing.how, "said": standing.said,
        "expected": drawings.said(standing.expected),
        "seen": jar_words.seen_words(standing, now, zone),
        "where": standing.jar["stored_where"] or "", "is_control": bool(standing.jar["is_control"]),
    }  # fmt: skip


def keep_of_batch(request: Request, form: Form, hand: Hand) -> Done:
    """Keep the round of a batch, or of one page of it."""
    desk, batch = desk_of(request), request.path_params["batch"]
    jars = [jar for jar in form.all("jar") if not form.flag(f"skip-{jar}")]
    if not jars:
        raise Unusable("No jar is left in this round; mark fewer as not looked at.")
    exceptions = {jar: found for jar in jars if (found := _exception(form, jar))}
    kept = book_looking.enter_round(desk.book, hand, jars, exceptions, desk.now())
    more = form.text("more")
    following = f"/round/{quote(batch)}?after={quote(more)}" if more else f"/shelf?batch={batch}"
    if not more and any(each.get("sign") not in _WELL for each in exceptions.values()):
        following = f"/shelf?which=asking&batch={batch}"
    return Done(following, kept.step, f"Round of {len(jars)} jars kept.")


_WELL = (None, "as expected", "white", "nothing yet")


def _exception(form: Form, jar: str) -> dict[str, Any]:
    """What was marked of a jar; empty if it is as expected."""
    percent = form.number(f"percent-{jar}", "how far it is")
    told = {
        "percent": percent, "sign": form.text(f"sign-{jar}"), "note": form.text(f"note-{jar}"),
    }  # fmt: skip
    return {name: value for name, value in told.items() if value is not None}


def by_codes(
    request: Request, typed: Mapping[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """A round by codes that are typed or scanned."""
    with desk_of(request).book.read() as connection:
        is_empty = book_looking.is_shelf_empty(connection)
    return show(
        request, "round_codes.html", typed=typed or {}, problem=problem, is_empty=is_empty,
        signs=SIGN_NAMED.values(),
    )  # fmt: skip


def keep_by_codes(request: Request, form: Form, hand: Hand) -> Done:
    """Keep the same look at each of the jars that were named."""
    desk = desk_of(request)
    codes = form.needed("codes", "The list of codes").replace(",", " ").replace(";", " ").split()
    with desk.book.read() as connection:
        jars = book_looking.ids_of_codes(connection, codes)
    about = {"percent": form.number("percent", "how far they are"), "sign": form.text("sign")}
    told = {name: value for name, value in about.items() if value is not None}
    exceptions = dict.fromkeys(jars.values(), told) if told else {}
    kept = book_looking.enter_round(
        desk.book, hand, list(jars.values()), exceptions, desk.now()
    )  # fmt: skip
    return Done("/round", kept.step, f"Round of {len(jars)} jars kept.")


ROUTES = [
    entry("/round", keep_by_codes, by_codes),
    entry("/round/{batch}", keep_of_batch, of_batch),
]
