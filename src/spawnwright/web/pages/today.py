"""What waits today, and saying of a task that it is done, left out, or open again."""

from __future__ import annotations

from collections.abc import Callable
from itertools import groupby

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.actions.book import batches as book_batches
from spawnwright.actions.book.batch_deeds import deed_of
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.book.today import next_beyond, old_backup, today, wrong_clock
from spawnwright.records.book.signs import KEEP_SHUT
from spawnwright.records.book.steps import Kept
from spawnwright.web.amounts import said_amounts
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

SHOWN = 12
"""Late tasks on the page, and so many that come; the calendar has the others."""


def today_page(request: Request) -> Response:
    """What is late, what is due, what comes."""
    desk = desk_of(request)
    now = desk.now().astimezone(desk.zone())
    with desk.book.read() as connection:
        found, ahead_of_us = today(connection, now), wrong_clock(connection, now)
        is_still = found.is_quiet and not found.due.coming and not found.is_empty
        ahead = next_beyond(connection, now) if is_still else ()
    if found.is_empty:
        return show(request, "first.html")
    firsts: dict[str, str] = {}
    for task in (*found.due.overdue, *found.due.today):
        firsts.setdefault(task.batch, task.id)
    coming = [(on, list(tasks)) for on, tasks in
              groupby(found.due.coming[:SHOWN], lambda task: task.at.date())]  # fmt: skip
    return show(
        request, "today.html", today=found, late=found.due.overdue[:SHOWN],
        more_late=max(0, len(found.due.overdue) - SHOWN), coming=coming,
        is_more_coming=len(found.due.coming) > SHOWN, deed_of=deed_of,
        amounts=said_amounts, firsts=set(firsts.values()), backup=old_backup(desk.book, desk.now()),
        keep_shut=KEEP_SHUT, ahead=ahead, last_entry=ahead_of_us,
    )  # fmt: skip


def keep_done(request: Request, form: Form, hand: Hand) -> Done:
    """Say that a task is done."""
    return _settled(request, form, book_batches.finish_task, hand)


def keep_skip(request: Request, form: Form, hand: Hand) -> Done:
    """Say that a task is left out."""
    return _settled(request, form, book_batches.skip_task, hand)


def _settled(request: Request, form: Form, settle: Callable[..., Kept], hand: Hand) -> Done:
    desk, task = desk_of(request), request.path_params["task"]
    kept = settle(desk.book, hand, task, desk.now(), form.text("note"), form.seen() or None)
    return Done(form.text("next") or "/", kept.step)


def keep_reopen(request: Request, form: Form, hand: Hand) -> Done:
    """Open a task again."""
    desk, task = desk_of(request), request.path_params["task"]
    kept = book_batches.reopen_task(desk.book, hand, task, desk.now(), form.seen() or None)
    return Done(form.text("next") or "/", kept.step)


ROUTES = [
    Route("/", today_page),
    entry("/tasks/{task}/done", keep_done),
    entry("/tasks/{task}/skip", keep_skip),
    entry("/tasks/{task}/reopen", keep_reopen),
]
