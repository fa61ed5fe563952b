"""The shelf at a glance: how each jar stands, which ask for somebody; and the jars of the past."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, tzinfo
from functools import lru_cache
from math import ceil
from typing import Any
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.actions.book import shelf as book_shelf
from spawnwright.actions.book.standing import Standing
from spawnwright.records.book.grown import OUTCOMES
from spawnwright.records.book.signs import HARM
from spawnwright.web import drawings, jar_words
from spawnwright.web.forecasting import Forecaster
from spawnwright.web.forms import desk_of
from spawnwright.web.show import environment, show

WHICH = (("all", "All"), ("asking", "Needs you"), ("ready", "Ready"))
LONGEST_SCALE_D = 60.0


@dataclass(frozen=True)
class Row:
    """A jar as a row or a tile shows it."""

    code: str
    glyph: Markup
    how: str
    said: str
    age: str
    seen: str
    expected: str
    ready: str
    band: tuple[float, float, float] | None
    place: str
    is_control: bool
    doubts: tuple[str, ...]


def shelf(request: Request) -> Response:
    """A page of the active jars."""
    desk, asked = desk_of(request), request.query_params
    which = asked.get("which", "all")
    which = which if which in book_shelf.FILTERS else "all"
    batch, now, zone = asked.get("batch") or None, desk.now(), desk.zone()
    with desk.book.read() as connection:
        page = book_shelf.shelf_page(
            connection, Forecaster(desk), now, which=which, batch=batch, after=asked.get("after")
        )
        batches = book_shelf.batches_going_on(connection)
        name = book_shelf.batch_name(connection, batch) if batch else None
    glyphs: dict[str, tuple[drawings.Drawn, str]] = {}
    rows = [_row(each, glyphs, now, zone, name is not None) for each in page.jars]
    return show(
        request, "shelf.html", page=page, rows=rows, glyphs=glyphs, which=which, filters=WHICH,
        batch=batch, batch_name=name, batches=batches, scale=_scale(rows), tile=tile,
        next_page=_address(which, batch, page.after) if page.after else "",
        address=lambda one: _address(one, batch), is_first="after" not in asked,
    )  # fmt: skip


def _address(which: str, batch: str | None, after: str | None = None) -> str:
    told = {"which": which if which != "all" else None, "batch": batch, "after": after}
    query = urlencode({name: value for name, value in told.items() if value})
    return f"/shelf?{query}" if query else "/shelf"


def _row(
    standing: Standing,
    glyphs: dict[str, tuple[drawings.Drawn, str]],
    now: datetime,
    zone: tzinfo,
    is_one_batch: bool,
) -> Row:
    jar, named = standing.jar, "" if is_one_batch else standing.asked.batch_name
    return Row(
        code=jar["code"], glyph=glyph_of(standing, glyphs), how=standing.how, said=standing.said,
        age=jar_words.age_words(standing, now, zone),
        seen=jar_words.seen_words(standing, now, zone) if standing.seen_at else "",
        expected="" if standing.sign_how == HARM else jar_words.expected_words(standing),
        ready=_ready(standing),
        band=_band(standing), place=" · ".join(filter(None, (jar["stored_where"], named))),
        is_control=bool(jar["is_control"]), doubts=standing.doubts,
    )  # fmt: skip


def glyph_of(standing: Standing, glyphs: dict[str, tuple[drawings.Drawn, str]]) -> Markup:
    """The small drawing of how a jar should look today; what is new goes into `glyphs`.

    Without a forecast it is drawn as it was seen last.
    """
    seen = standing.percent or 0.0
    percent = drawings.rounded(standing.expected or (seen, seen, seen))
    fill = drawings.rounded_fill(standing.jar["fill"])
    key = drawings.glyph_key(jar_words.way_drawn(standing), fill, percent, "")
    if key not in glyphs:
        glyphs[key] = (drawings.drawn(jar_words.way_drawn(standing), fill, percent), "")
    words = drawings.said(standing.expected)
    if words:
        return drawings.use(key, f"Should be {words}")
    return drawings.use(key, f"Seen last: {seen:.0f} % white" if seen else "A jar of grain")


def _ready(standing: Standing) -> str:
    if standing.state in ("ready", "white", "gone") or standing.sign_how == HARM:
        return ""
    return "Forecast being worked out" if standing.is_waiting else (
        jar_words.ready_words(standing.ready_in)
    )  # fmt: skip


def _band(standing: Standing) -> tuple[float, float, float] | None:
    found = standing.ready_in
    if found is None or not _ready(standing):
        return None
    low, likely, high = found
    if low is None or likely is None or high is None:
        return None
    ends = [round(2 * min(max(each, 0.0), LONGEST_SCALE_D)) / 2 for each in (low, likely, high)]
    return ends[0], ends[1], ends[2]


@lru_cache(maxsize=2048)
def tile(row: Row, scale: float) -> Markup:
    """A jar's row or tile; drawn once as long as it says the same, which is most of a day."""
    return Markup(environment().get_template("tile.html").render(row=row, scale=scale))


def _scale(rows: list[Row]) -> float:
    """The longest of the page's bands, so that all are drawn alike [d]."""
    longest = max([row.band[2] for row in rows if row.band is not None] + [1.0])
    return 10.0 * ceil(longest / 10)


def past(request: Request) -> Response:
    """A page of the jars that have their outcome."""
    desk, asked = desk_of(request), request.query_params
    outcome = asked.get("outcome")
    outcome = outcome if outcome in OUTCOMES else None
    with desk.book.read() as connection:
        page = book_shelf.past_shelf(connection, outcome, asked.get("after"))
    told: dict[str, Any] = {"outcome": outcome, "after": page.after}
    query = urlencode({name: value for name, value in told.items() if value})
    return show(
        request, "past.html", page=page, outcome=outcome, outcomes=OUTCOMES,
        next_page=f"/shelf/past?{query}" if page.after else "",
    )  # fmt: skip


ROUTES = [Route("/shelf", shelf), Route("/shelf/past", past)]
