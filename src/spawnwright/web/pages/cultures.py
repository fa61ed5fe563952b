"""Cultures: what there is, what is left, what a test said, what came of them."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.actions.book import culture as book_culture
from spawnwright.actions.book.culture_story import culture_story
from spawnwright.actions.book.inoculate import species_of_batch
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.choices import culture_choices, species_choices, strain_choices
from spawnwright.errors import Unusable
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

FORMS = (("liquid culture", "liquid culture"), ("syringe", "syringe"), ("agar", "agar"))
TESTS = (("clean", "clean"), ("unclear", "cannot tell"), ("spoiled", "spoiled"))
CLARITY = (("clear", "clear"), ("cloudy", "cloudy"))


def culture_list(request: Request) -> Response:
    """The cultures that are there."""
    is_all = request.query_params.get("ended") == "1"
    with desk_of(request).book.read() as connection:
        lines = book_culture.cultures(connection, ended=is_all)
    return show(request, "cultures.html", lines=lines, is_all=is_all)


def new_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """Enter a culture; for the jars of a batch, if one is named."""
    batch = request.query_params.get("batch")
    with desk_of(request).book.read() as connection:
        likely = species_of_batch(connection, batch) if batch else None
        strains = strain_choices(connection)
        parents = culture_choices(book_culture.cultures(connection, counted=False))
    return show(
        request, "culture_new.html", strains=strains, parents=parents, forms=FORMS,
        species=species_choices(), likely=likely or "", clarity=CLARITY, typed=typed or {},
        problem=problem,
    )  # fmt: skip


def keep_new(request: Request, form: Form, hand: Hand) -> Done:
    """Keep a new culture, with a new strain if one is named."""
    desk = desk_of(request)
    volume = form.quantity("volume", "volume", "mL")
    about = {
        "name": form.needed("name", "The name of the culture"),
        "form": form.needed("form", "What it is: liquid culture, syringe or agar,"),
        "strain": form.text("strain"),
        "parent": form.text("parent"),
        "recipe": form.text("recipe"),
        "made_on": form.text("made_on"),
        "volume_ml": None if volume is None else volume * 1e6,
        "clarity": form.text("clarity"),
        "stored_where": form.text("where"),
        "note": form.text("note"),
    }
    strain = None
    if not about["strain"] and not about["parent"]:
        species = form.text("species")
        if species is None:
            raise Unusable("Say of which strain it is, or of which species a new strain is.")
        name = form.text("strain_name") or form.needed("name", "The name of the culture")
        strain = {"name": name, "species": species, "from_whom": form.text("from_whom")}
        strain = {key: value for key, value in strain.items() if value is not None}
    said = {key: value for key, value in about.items() if value is not None}
    entered = book_culture.new_culture(desk.book, hand, said, desk.now(), strain)
    batch = request.query_params.get("batch")
    if batch:  # it was entered for the jars that wait there
        told = urlencode({"batch": batch, "culture": entered.record})
        return Done(f"/inoculate?{told}", entered.kept.step)
    return Done(f"/cultures/{entered.record}", entered.kept.step)


def culture_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """One culture: what is left, its test, what it came from and what came of it."""
    with desk_of(request).book.read() as connection:
        story = culture_story(connection, request.path_params["culture"])
    return show(
        request, "culture.html", story=story, row=story.line.row, tests=TESTS,
        typed=typed or {}, problem=problem,
    )  # fmt: skip


def keep_left(request: Request, form: Form, hand: Hand) -> Done:
    """Say how much is left."""
    desk, culture = desk_of(request), request.path_params["culture"]
    left = form.quantity("left", "volume", "mL")
    if left is None:
        raise Unusable("How much is left is missing; fill it in, 0 if nothing is.")
    kept = book_culture.measure_left(
        desk.book, hand, culture, left * 1e6, desk.now(), form.seen() or None
    )
    return Done(f"/cultures/{culture}", kept.step)


def keep_test(request: Request, form: Form, hand: Hand) -> Done:
    """Say how a test came out."""
    desk, culture = desk_of(request), request.path_params["culture"]
    result = form.needed("result", "How the test came out")
    kept = book_culture.say_test(
        desk.book, hand, culture, result, desk.now(), None, form.seen() or None
    )
    return Done(f"/cultures/{culture}", kept.step)


def keep_end(request: Request, form: Form, hand: Hand) -> Done:
    """Say that it is used up or thrown away."""
    desk, culture = desk_of(request), request.path_params["culture"]
    kept = book_culture.end_culture(desk.book, hand, culture, desk.now(), None, form.seen() or None)
    return Done("/cultures", kept.step)


ROUTES = [
    Route("/cultures", culture_list),
    entry("/cultures/new", keep_new, new_page),
    entry("/cultures/{culture}/left", keep_left, None),
    entry("/cultures/{culture}/test", keep_test, None),
    entry("/cultures/{culture}/end", keep_end, None),
    Route("/cultures/{culture}", culture_page),
]
