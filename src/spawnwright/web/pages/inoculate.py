"""Jars inoculated: from a culture, or grain-to-grain from another jar."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from spawnwright.actions.book import inoculate as book_inoculate
from spawnwright.actions.book.culture import cultures
from spawnwright.actions.book.find import jar_of_typed
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.choices import culture_choices
from spawnwright.errors import Contradiction, Unusable
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

WAYS = (("spread", "spread between the grain"), ("top", "on top"), ("wall", "down the wall"),
        ("through", "through the middle"))  # fmt: skip
USUAL_DOSE_ML = 2


def page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """Which jars, from what, how much."""
    batch = request.query_params.get("batch") or None
    with desk_of(request).book.read() as connection:
        jars = book_inoculate.jars_waiting(connection, batch)
        known = culture_choices(cultures(connection, counted=False))
        dose = book_inoculate.planned_dose(connection, batch) if batch else None
    return show(
        request, "inoculate.html", jars=jars, cultures=known, batch=batch, ways=WAYS,
        culture=request.query_params.get("culture", known[0][0] if len(known) == 1 else ""),
        dose=round(dose, 1) if dose else USUAL_DOSE_ML, typed=typed or {}, problem=problem,
    )  # fmt: skip


def keep(request: Request, form: Form, hand: Hand) -> Done:
    """Keep one sitting."""
    desk = desk_of(request)
    jars, batch = form.all("jar"), request.query_params.get("batch")
    culture, from_jar = form.text("culture"), form.text("from_jar")
    if culture and from_jar:
        raise Contradiction("A culture and a jar are both named; clear one of them.")
    if not culture and not from_jar:
        raise Unusable("From which culture, or from which jar? Name one of them.")
    if not jars:
        raise Unusable("No jar is ticked; tick those that were inoculated.")
    dose, grain = form.quantity("dose", "volume", "mL"), form.quantity("dose_g", "mass", "g")
    about = {
        "way": form.text("way"),
        "worked_where": form.text("where"),
        "note": form.text("note"),
        "dose_ml": None if dose is None or from_jar else dose * 1e6,
        "dose_g": None if grain is None else grain * 1000,
    }
    in_spite = form.flag("in_spite")
    if culture:
        kept = book_inoculate.inoculate(
            desk.book, hand, culture, jars, desk.now(), about, in_spite=in_spite
        )
    else:
        with desk.book.read() as connection:
            source = jar_of_typed(connection, from_jar or "")
        kept = book_inoculate.grain_to_grain(
            desk.book, hand, source, jars, desk.now(), about, in_spite=in_spite
        )
    return Done(f"/batches/{batch}" if batch else "/shelf", kept.step)


ROUTES = [entry("/inoculate", keep, page)]
