"""Jars that stand already when somebody begins to keep the book."""

from __future__ import annotations

from datetime import date, datetime

from starlette.requests import Request
from starlette.responses import Response

from spawnwright.actions import choices
from spawnwright.actions.book import standing_jars as book_standing_jars
from spawnwright.actions.book.jars import Hand
from spawnwright.errors import Unusable
from spawnwright.units import parse_share
from spawnwright.web.desk import Desk
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show


def jars_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """The form."""
    desk = desk_of(request)
    return show(
        request, "jars_new.html", kit=desk.kit(), species=choices.species_choices(),
        jars=choices.jar_choices(), grains=choices.grain_choices(), typed=typed or {},
        problem=problem, today=desk.now().astimezone(desk.zone()).date(),
    )  # fmt: skip


def keep_jars(request: Request, form: Form, hand: Hand) -> Done:
    """Take them in."""
    desk = desk_of(request)
    count = form.count("count", "The number of jars")
    if count is None:
        raise Unusable("How many jars is missing; fill it in.")
    filled = _day(form, "filled", desk)
    if filled is None:
        raise Unusable("When they were filled is missing; about is good enough.")
    fill = form.text("fill")
    species = form.needed("species", "The species")
    said = dict(choices.species_choices()).get(species, species).split(" (")[0]
    entered = book_standing_jars.take_in_jars(desk.book, hand, book_standing_jars.Standing(
        name=form.text("name") or f"{said[0].upper()}{said[1:]} of {filled.date()}",
        count=count, jar_kind=form.needed("jar", "The kind of jar"), filled_at=filled,
        species=species, inoculated_at=_day(form, "inoculated", desk),
        fill=parse_share(fill if "%" in fill else f"{fill}%", "fill") if fill else None,
        grain=form.text("grain"), culture=form.text("culture"),
        shelf_c=form.quantity("shelf", "temperature", "F" if desk.kit().units == "us" else "C"),
    ), desk.now())  # fmt: skip
    return Done(f"/batches/{entered.record}/codes", entered.kept.step)


def _day(form: Form, name: str, desk: Desk) -> datetime | None:
    text = form.text(name)
    if text is None:
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise Unusable(f"{text!r} is no date; write 2026-11-25.") from None
    return min(book_standing_jars.at_noon(day, desk.zone()), desk.now()) if (
        day == desk.now().astimezone(desk.zone()).date()
    ) else book_standing_jars.at_noon(day, desk.zone())  # fmt: skip


ROUTES = [entry("/jars/new", keep_jars, jars_page)]
