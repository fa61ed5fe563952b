"""From a wish to a plan, and from the plan to a batch."""

from __future__ import annotations

from collections import OrderedDict
from datetime import datetime, timedelta
from itertools import groupby
from threading import Lock
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from spawnwright.actions.book.batches import replan_batch, start_batch
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.book.wish import wish_of_batch
from spawnwright.actions.planning import form as plan_form
from spawnwright.actions.planning.questions import DAYS, GROUPS
from spawnwright.errors import SpawnwrightError, Unusable
from spawnwright.records.plan import Plan
from spawnwright.web.amounts import said_amounts
from spawnwright.web.desk import Desk
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

WORK = "spawnwright.actions.planning.asked:planned"
STALE = timedelta(hours=24)
KEPT_PLANS = 8


class Plans:
    """The last plans that were worked out, so that taking one does not work it out again."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[str, str], Plan] = OrderedDict()
        self._lock = Lock()

    def plan(self, desk: Desk, text: str, as_of: datetime) -> Plan:
        """The plan for a wish as of an instant; raises `Unusable` if there can be none."""
        key = (text, as_of.isoformat())
        with self._lock:
            if key in self._kept:
                return self._kept[key]
        found: Plan = desk.compute.answer(WORK, text, as_of)
        with self._lock:
            self._kept[key] = found
            while len(self._kept) > KEPT_PLANS:
                self._kept.popitem(last=False)
        return found


PLANS = Plans()


def plan_page(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """The wish as a form, and the plan for it once it was asked for."""
    desk = desk_of(request)
    batch = _batch_named(desk, request.query_params.get("batch", ""))
    if typed is not None and "wish" in typed:
        fields = plan_form.typed_of(typed["wish"][-1], desk.kit().units)
        return _form(request, fields, batch, problem=problem)
    if "amount" in request.query_params:
        return _answered(request, _query(request), batch)
    now = desk.now().astimezone(desk.zone())
    fields = plan_form.first_typed(desk.kit(), desk.kit().units, now)
    if batch is not None and batch["wish"]:
        done = plan_form.in_boxes(batch["under_way"], desk.kit().units)
        fields = plan_form.typed_of(batch["wish"], desk.kit().units) | done
    return _form(request, fields, batch)


def _batch_named(desk: Desk, batch: str) -> dict[str, Any] | None:
    if not batch:
        return None
    with desk.book.read() as connection:
        return wish_of_batch(connection, batch, desk.now().astimezone(desk.zone()))


def _query(request: Request) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, value in request.query_params.multi_items():
        found.setdefault(name, []).append(value)
    return found


def _form(
    request: Request, fields: dict[str, list[str]], batch: dict[str, Any] | None,
    problem: str = "", trouble: str = "", status: int = 200, **found: Any,
) -> Response:  # fmt: skip
    given: dict[str, Any] = {"plan": None, "wish": None, "text": "", "as_of": "", "days": ()}
    return show(
        request, "plan.html", status=status, fields=fields, groups=GROUPS, weekdays=DAYS,
        offered=plan_form.offered, batch=batch, problem=problem, trouble=trouble,
        amounts=said_amounts, **(given | found),
    )  # fmt: skip


def _answered(
    request: Request, fields: dict[str, list[str]], batch: dict[str, Any] | None
) -> Response:
    desk = desk_of(request)
    as_of = desk.now().astimezone(desk.zone()).replace(second=0, microsecond=0)
    try:
        text, wish = plan_form.read_typed(fields, desk.kit().units, as_of)
        plan = PLANS.plan(desk, text, as_of)
    except SpawnwrightError as problem:
        return _form(request, fields, batch, trouble=str(problem), status=422)
    zone = wish.place.time_zone
    days = [(on, list(steps)) for on, steps in
            groupby(plan.steps, key=lambda step: step.at.astimezone(zone).date())]  # fmt: skip
    return _form(
        request, fields, batch, plan=plan, wish=wish, text=text, as_of=as_of.isoformat(),
        days=days, title=plan_form.wanted_words(wish, plan.jars_wanted),
        name=batch["name"] if batch else plan_form.batch_name(wish),
    )  # fmt: skip


def keep_plan(request: Request, form: Form, hand: Hand) -> Done:
    """Make a plan that was shown into a batch, or put it in the place of a batch's plan."""
    desk = desk_of(request)
    text = f"{form.needed('wish', 'The wish')}\n"
    as_of = _as_of(form, desk)
    plan = PLANS.plan(desk, text, as_of)
    batch = form.text("batch")
    if batch is not None:
        kept = replan_batch(desk.book, hand, batch, text, plan, desk.now())
        return Done(f"/batches/{batch}", kept.step)
    name = form.needed("name", "A name for the batch")
    batch = start_batch(desk.book, hand, name, text, plan, desk.now())
    return Done(f"/batches/{batch}", hand.step)


def _as_of(form: Form, desk: Desk) -> datetime:
    """The instant that the plan was made for; a plan of another day is to be made again."""
    try:
        as_of = datetime.fromisoformat(form.text("as_of") or "")
    except ValueError:
        raise Unusable("This form does not say when it was planned; plan again.") from None
    if as_of.tzinfo is None or not timedelta() <= desk.now() - as_of <= STALE:
        raise Unusable("This plan was made on another day; plan again, and take the new one.")
    return as_of.astimezone(desk.zone())


ROUTES = [entry("/plan", keep_plan, plan_page)]
