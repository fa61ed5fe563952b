"""Runs of the canner: begun with their jars, watched live, looked back at."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from spawnwright.actions.book import run as book_run
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.book.wish import wish_of_batch
from spawnwright.actions.choices import canner_choices
from spawnwright.errors import SpawnwrightError, Unusable
from spawnwright.records.run_log import EventName, Stage
from spawnwright.web.desk import Desk
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

PAGE = 50
WORKER = "spawnwright.actions.sterilizing.watch_live"
DEEDS: dict[EventName, str] = {
    "heat on": "Burner is lit", "steady jet": "Steam blows in a steady jet",
    "vent closed": "Weight is on, vent closed", "pressure reached": "Pressure reached",
    "pressure lost": "Pressure lost", "back at pressure": "Back at pressure",
    "heat off": "Heat is off", "zero pressure": "Gauge at zero", "opened": "Lid is off",
}  # fmt: skip
"""The events at the canner as a person says them."""
THEN: dict[str, str] = {
    "heat up": "Wait until steam blows in a steady jet.",
    "vent": "Put the weight on, or close the vent.",
    "come to pressure": "Wait until the weight rocks, or the dial stands at the mark.",
    "hold": "Turn the heat off.",
    "cool to zero": "Let the gauge fall to zero by itself; then take the weight off.",
    "rest": "Open the lid away from your face.",
}
"""What ends each part of a run, for somebody who then taps the event on the page."""
NEXT: dict[Stage, tuple[EventName, ...]] = {
    "not begun": ("heat on", "steady jet", "pressure reached"),
    "heating": ("steady jet", "vent closed", "pressure reached", "heat off"),
    "venting": ("vent closed", "pressure reached", "heat off"),
    "coming to pressure": ("pressure reached", "heat off"),
    "holding": ("heat off", "pressure lost"),
    "pressure lost": ("back at pressure", "heat off"),
    "cooling": ("zero pressure",),
    "at zero pressure": ("opened",),
    "opened": (),
}
"""What may be noted next; the first is what comes if all goes well."""


@dataclass(frozen=True)
class Watched:
    """A run as its page shows it: the story, and where it stands, or why that is not known."""

    story: dict[str, Any]
    state: dict[str, Any] | None
    assumed: list[str]
    trouble: str


def _watched(desk: Desk, run: str) -> Watched:
    story, head, events, assumed = _known(desk, run)
    try:
        state = desk.compute.answer(f"{WORKER}:live_state", run, head, events, desk.now())
    except SpawnwrightError as problem:
        return Watched(story, None, assumed, str(problem))
    return Watched(story, state, assumed, "")


def _known(desk: Desk, run: str) -> tuple[dict[str, Any], dict[str, Any], Any, list[str]]:
    with desk.book.read() as connection:
        story = book_run.run_story(connection, run)
        head, assumed = book_run.setup_of_run(connection, run, desk.kit())
        events = book_run.run_events(connection, run)
    return story, head, events, assumed


def run_list(request: Request) -> Response:
    """All runs, last begun first."""
    before = request.query_params.get("before")
    with desk_of(request).book.read() as connection:
        rows = book_run.past_runs(connection, PAGE + 1, before)
    following = rows[PAGE - 1]["started_at"] if len(rows) > PAGE else ""
    return show(request, "runs.html", runs=rows[:PAGE], following=following, before=before)


def run_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """One run: live while it goes on, told afterwards."""
    run = request.path_params["run"]
    watched = _watched(desk_of(request), run)
    stage: Stage = watched.state["stage"] if watched.state else _stage(watched.story)
    return show(
        request, "run.html", run=watched.story, state=watched.state, assumed=watched.assumed,
        trouble=watched.trouble, stage=stage, deeds=DEEDS, next_deeds=NEXT.get(stage, ()),
        then=THEN, typed=typed or {}, problem=problem,
    )  # fmt: skip


def _stage(story: dict[str, Any]) -> Stage:
    """Where a run stands by its events alone, when the sums cannot be done."""
    noted = [each["what"] for each in story["events"] if each["what"] in DEEDS]
    after: dict[str, Stage] = {
        "heat on": "heating", "steady jet": "venting", "vent closed": "coming to pressure",
        "pressure reached": "holding", "pressure lost": "pressure lost",
        "back at pressure": "holding", "heat off": "cooling",
        "zero pressure": "at zero pressure", "opened": "opened",
    }  # fmt: skip
    return after[noted[-1]] if noted else "not begun"


def run_now(request: Request) -> Response:
    """The part of a run's page that changes by itself, for the page's script."""
    watched = _watched(desk_of(request), request.path_params["run"])
    stage = watched.state["stage"] if watched.state else _stage(watched.story)
    answer = show(
        request, "run_now.html", state=watched.state, stage=stage, trouble=watched.trouble,
        run=watched.story, then=THEN,
    )  # fmt: skip
    answer.headers["x-events"] = str(len(watched.story["events"]))
    return answer


def run_curve(request: Request) -> Response:
    """Steam, core and lethality over the run, for the chart."""
    desk, run = desk_of(request), request.path_params["run"]
    _, head, events, _ = _known(desk, run)
    curve = desk.compute.answer(f"{WORKER}:live_curve", run, head, events, desk.now())
    with desk.book.read() as connection:
        curve["probes"] = book_run.probes_of(connection, run)
    return JSONResponse(curve)


def new_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """Load the canner: which jars, at what, for how long."""
    desk = desk_of(request)
    batch = request.query_params.get("batch") or None
    is_spoiled = request.query_params.get("purpose") == "spoiled"
    with desk.book.read() as connection:
        jars = book_run.jars_to_load(connection, batch, is_spoiled=is_spoiled)
        planned = book_run.planned_run(connection, batch, desk.now()) if batch else {}
        wished = wish_of_batch(connection, batch, desk.now()) if batch else {}
    return show(
        request, "run_new.html", jars=jars, batch=batch, planned=planned, wished=wished,
        kit=desk.kit(), is_spoiled=is_spoiled, canners=canner_choices(),
        typed=typed or {}, problem=problem,
    )  # fmt: skip


def keep_new(request: Request, form: Form, hand: Hand) -> Done:
    """Begin a run."""
    desk = desk_of(request)
    about = {
        "purpose": "spoiled jars" if form.text("purpose") == "spoiled" else "sterilize",
        "gauge_pa": form.quantity("gauge", "gauge pressure", "psi"),
        "hold_min": _minutes(form.quantity("hold", "duration", "min")),
        "elevation_m": form.quantity("elevation", "elevation", "m"),
        "vessel": form.text("canner"),
        "batch": form.text("batch"),
    }
    if about["gauge_pa"] is None or about["hold_min"] is None:
        raise Unusable("Pressure and hold are needed: what the weight is marked, and how long.")
    jars = dict.fromkeys(form.all("jar"), "")
    if not jars:
        raise Unusable("No jar is ticked; tick those that stand in the canner.")
    known = {name: value for name, value in about.items() if value is not None}
    entered = book_run.begin_run(desk.book, hand, known, jars, desk.now())
    return Done(f"/runs/{entered.record}", entered.kept.step)


def _minutes(seconds: float | None) -> float | None:
    if seconds is not None and seconds <= 0:
        raise Unusable("A hold of no minutes sterilizes nothing; give the minutes at pressure.")
    return None if seconds is None else seconds / 60


def keep_event(request: Request, form: Form, hand: Hand) -> Done:
    """Note what happened."""
    desk, run = desk_of(request), request.path_params["run"]
    name = form.needed("what", "What happened")
    is_left = form.text("at") == form.text("at_shown")  # the box says: left as it is, now
    at = hand.at if is_left else form.instant("at", desk) or hand.at
    event = book_run.event_at(name, at, form.quantity("reading", "gauge pressure", "psi"))
    lethality = None
    if name == "opened":
        _, head, events, _ = _known(desk, run)
        lethality = desk.compute.answer(
            f"{WORKER}:delivered", run, head, (*events, event), desk.now()
        )
    kept = book_run.note_run_event(desk.book, hand, run, event, desk.now(), lethality)
    return Done(f"/runs/{run}", kept.step)


ROUTES = [
    Route("/runs", run_list),
    entry("/runs/new", keep_new, new_page),
    Route("/runs/{run}/now", run_now),
    Route("/runs/{run}/curve", run_curve),
    entry("/runs/{run}/events", keep_event),
    Route("/runs/{run}", run_page),
]
