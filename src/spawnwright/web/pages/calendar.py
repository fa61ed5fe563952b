"""All batches on a calendar, a month at a time."""

from __future__ import annotations

from datetime import date

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.actions.book.calendar import month, month_named
from spawnwright.web.forms import desk_of
from spawnwright.web.show import show
from spawnwright.web.words import DAYS, MONTHS

SHOWN = 4
"""Steps of a day that stand openly; the others unfold."""
MOST = 12


def calendar(request: Request) -> Response:
    """A month: a grid on a wide screen, its days one below the other on a narrow one."""
    desk = desk_of(request)
    now = desk.now().astimezone(desk.zone())
    first = month_named(request.query_params.get("month"), now)
    with desk.book.read() as connection:
        found = month(connection, first, now)
    return show(
        request, "calendar.html", month=found, weekdays=DAYS, shown=SHOWN, most=MOST,
        today=now.date(), title=f"{MONTHS[first.month - 1]} {first.year}",
        day_number=lambda kept: date.fromisoformat(kept).toordinal(),
    )  # fmt: skip


ROUTES = [Route("/calendar", calendar)]
