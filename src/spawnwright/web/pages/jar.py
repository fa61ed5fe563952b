"""A jar's page: how it stands, what comes next, its story, its lineage both ways."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.actions.book import end as book_end
from spawnwright.actions.book import looking as book_looking
from spawnwright.actions.book.jars import Hand, put_back
from spawnwright.actions.book.photo import MOST_BYTES, MOST_PIXELS
from spawnwright.actions.book.story import JarStory, story_of_jar
from spawnwright.records.book.grown import BACK, OUTCOMES
from spawnwright.records.book.signs import KEEP_SHUT
from spawnwright.web import jar_words, story_words, words
from spawnwright.web.forecasting import Forecaster
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

KIN_SHOWN = 40
CURVE_ROWS = 12
_DEEDS = {
    "Move it away, shut": "away",
    "Sterilize it shut, in a run of its own": "run",
    "Let the canner cool and open it": "open",
    "Empty it outdoors": "back",
}
"""Which form helps with the next step of a spoiled jar."""


def jar_page(request: Request) -> Response:
    """Everything about one jar."""
    desk = desk_of(request)
    with desk.book.read() as connection:
        row = book_looking.jar_of(connection, request.path_params["code"])
        story = story_of_jar(connection, row["id"], desk.zone())
        standing = Forecaster(desk).standing(connection, row)
    units = desk.kit().units
    events = [story_words.told(each, units, standing.asked.species) for each in story.events]
    place = next((e.row["place"] or "" for e in reversed(story.events)
                  if e.what == "look" and e.row["sign"]), "")  # fmt: skip
    return show(
        request, "jar.html", jar=row, story=story, events=events, standing=standing,
        normal=book_looking.normal_for(standing.asked.species), words=jar_words,
        expected=jar_words.expected_drawn(standing), seen=jar_words.seen_drawn(standing, place),
        next_deed=_DEEDS.get(story.next_step.title) if story.next_step else None, backs=BACK,
        up=_kin(story.came_from), down=_kin(story.came_of_it), keep_shut=KEEP_SHUT,
        address_of=story_words.address_of, has_chart=_has_chart(standing),
        megabytes=MOST_BYTES // 1_000_000, megapixels=MOST_PIXELS // 1_000_000,
    )  # fmt: skip


def _kin(all_: tuple[Any, ...]) -> list[Any]:
    return [each for each in all_ if each.kind not in ("inoculation", "use", "load")][:KIN_SHOWN]


def _has_chart(standing: Any) -> bool:
    return standing.forecast is not None and bool(standing.forecast.day)


def chart(request: Request) -> Response:
    """Colonization of a jar against its forecast: a chart, and a table that says the same."""
    desk = desk_of(request)
    with desk.book.read() as connection:
        row = book_looking.jar_of(connection, request.path_params["code"])
        story = story_of_jar(connection, row["id"], desk.zone())
        standing = Forecaster(desk).standing(connection, row)
    began = standing.asked.inoculated_at
    looks, rows = [], []
    if began is not None:
        looks = _looks(story, began)
    if began is not None and standing.forecast is not None:
        found = standing.forecast
        rows = [
            (day, words.instant(began) + timedelta(days=day), low, likely, high)
            for day, low, likely, high in zip(
                found.day, found.low, found.likely, found.high, strict=True
            )
        ]
    step = max(1, len(rows) // CURVE_ROWS)
    return show(
        request, "jar_chart.html", jar=row, standing=standing, words=jar_words, looks=looks,
        rows=rows, shown=rows[::step], data=_data(rows, looks, began),
    )  # fmt: skip


def _looks(story: JarStory, began: str) -> list[tuple[float, str, float]]:
    """Day, instant and percent of each look that named one."""
    start = words.instant(began)
    return [
        ((words.instant(each.at) - start).total_seconds() / 86400, each.at, each.row["percent"])
        for each in story.events
        if each.what == "look" and each.row["percent"] is not None
    ]


def _data(rows: list[Any], looks: list[Any], began: str | None) -> dict[str, Any]:
    """What the chart draws: days and percentages, rounded, as JSON for a data attribute."""
    return {
        "began": began,
        "curve": [[round(each[0], 2), *(round(v, 1) for v in each[2:])] for each in rows],
        "looks": [[round(day, 2), percent] for day, _, percent in looks],
    }


def outcome(
    request: Request, typed: Mapping[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """What became of a jar."""
    with desk_of(request).book.read() as connection:
        row = book_looking.jar_of(connection, request.path_params["code"])
    asked = request.query_params.get("outcome", "")
    return show(
        request, "outcome.html", typed=typed or {}, problem=problem, jar=row, outcomes=OUTCOMES,
        asked=asked if asked in OUTCOMES else row["outcome"] or "", keep_shut=KEEP_SHUT,
    )  # fmt: skip


def keep_outcome(request: Request, form: Form, hand: Hand) -> Done:
    """Keep what became of a jar, or correct it."""
    desk, row = desk_of(request), _row(request)
    told = form.needed("outcome", "What became of it")
    seen = form.seen() if form.flag("corrects") else None
    kept = book_end.end_jar(
        desk.book, hand, row["id"], told, desk.now(), form.text("note"), seen
    )  # fmt: skip
    return Done(f"/j/{row['code']}", kept.step, f"{row['code']}: {told}.")


def keep_shake(request: Request, form: Form, hand: Hand) -> Done:
    """Keep that a jar was shaken."""
    desk = desk_of(request)
    with desk.book.read() as connection:
        row = book_looking.jar_of(connection, request.path_params["code"])
        standing = Forecaster(desk).standing(connection, row)
    kept = book_looking.shake(desk.book, hand, standing, desk.now(), form.text("note"))
    return Done(f"/j/{row['code']}", kept.step, f"{row['code']} shaken.")


def keep_away(request: Request, form: Form, hand: Hand) -> Done:
    """Keep that a spoiled jar was carried away, shut."""
    desk, row = desk_of(request), _row(request)
    kept = book_end.move_away(desk.book, hand, row["id"], desk.now(), form.seen() or None)
    return Done(f"/j/{row['code']}", kept.step, f"{row['code']} moved away.")


def keep_back(request: Request, form: Form, hand: Hand) -> Done:
    """Keep that jar and lid are washed or binned."""
    desk, row = desk_of(request), _row(request)
    kept = put_back(
        desk.book, hand, row["id"], form.needed("glass", "What became of the jar"),
        form.needed("lid", "What became of the lid"), form.seen() or tuple(row["seen"].split()),
        desk.now(),
    )  # fmt: skip
    return Done(f"/j/{row['code']}", kept.step, f"{row['code']}: jar and lid back.")


def _row(request: Request) -> dict[str, Any]:
    with desk_of(request).book.read() as connection:
        return book_looking.jar_of(connection, request.path_params["code"])


ROUTES = [
    Route("/j/{code}", jar_page),
    Route("/j/{code}/chart", chart),
    entry("/j/{code}/outcome", keep_outcome, outcome),
    entry("/j/{code}/shake", keep_shake),
    entry("/j/{code}/away", keep_away),
    entry("/j/{code}/back", keep_back),
]
