"""Kit and settings: what is the same from batch to batch."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from spawnwright.actions.book.jars import Hand
from spawnwright.actions.choices import canner_choices, grain_choices, jar_choices
from spawnwright.actions.own_kit.kit import change_kit, needs_models
from spawnwright.records.kit import NAMES
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

UNITS = (("metric", "grams, °C, meters"), ("us", "pounds, °F, feet"))
HOBS = (("gas", "gas"), ("electric", "electric"), ("induction", "induction"))
PLAIN_UNITS = {
    "elevation": "m", "boils_at": "C", "gauge": "psi", "burner": "W", "shelf": "C", "dose": "mL",
    "fill": "%",
}  # fmt: skip
"""What a bare number in a box means, as the box says."""


def page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """The kit as a form."""
    kit = desk_of(request).kit()
    return show(
        request, "kit.html", kit=kit, jars=jar_choices(), grains=grain_choices(),
        canners=canner_choices(), unit_choices=UNITS, hobs=HOBS, typed=typed or {},
        problem=problem,
    )  # fmt: skip


def keep(request: Request, form: Form, hand: Hand) -> Done:
    """Change the kit's file; a box that was emptied takes its line out."""
    changes = {key: _line(form, key) for key in NAMES if key in form.values}
    if needs_models(changes):  # in the worker, so that the server stays without them
        desk_of(request).compute.answer("spawnwright.actions.own_kit.kit:change_kit", changes)
    else:
        change_kit(changes)
    return Done("/kit?saved=1")


def _line(form: Form, key: str) -> str | None:
    text = form.text(key)
    if text is None or key not in PLAIN_UNITS:
        return text
    bare = text.replace(",", "").replace(".", "").replace("-", "").strip()
    return f"{text} {PLAIN_UNITS[key]}" if bare.isdecimal() else text


ROUTES = [entry("/kit", keep, page)]
