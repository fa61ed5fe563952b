"""What a browser sends: read carefully, entered once, answered with the next page.

A form works without script: it is posted, kept as one step of the book, and the browser is sent on.
Each form carries `step`, an id made when the page was drawn, so that a form that is sent twice is
kept once. A script may send the same form with the header `X-Outbox`; it gets JSON then.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from spawnwright import units
from spawnwright.actions.book.jars import Hand
from spawnwright.errors import SpawnwrightError, Unusable
from spawnwright.web.addresses import own_path
from spawnwright.web.desk import Desk
from spawnwright.web.once import SaidOtherwise, told
from spawnwright.web.show import show

Page = Callable[..., Response]
"""Draws a page; takes the request, and `typed` and `problem` when it is drawn again."""


@dataclass(frozen=True)
class Done:
    """What became of a form: where to go next, and the step that was kept, which can be undone."""

    next: str
    step: str = ""
    said: str = ""


@dataclass(frozen=True)
class Form:
    """The fields of a form as text; a field that was left empty counts as not there."""

    values: dict[str, list[str]] = field(default_factory=dict)
    files: dict[str, list[UploadFile]] = field(default_factory=dict)

    def text(self, name: str) -> str | None:
        """The text of a field."""
        found = [each.strip() for each in self.values.get(name, []) if each.strip()]
        return found[-1] if found else None

    def needed(self, name: str, what: str) -> str:
        """The text of a field that cannot be left out; `what` names it in the sentence."""
        text = self.text(name)
        if text is None:
            raise Unusable(f"{what} is missing; fill it in.")
        return text

    def all(self, name: str) -> list[str]:
        """All texts of a field that may come several times."""
        return [each.strip() for each in self.values.get(name, []) if each.strip()]

    def flag(self, name: str) -> bool:
        """Whether a box is ticked."""
        return self.text(name) is not None

    def quantity(self, name: str, kind: str, unit: str) -> float | None:
        """A number with its unit, in SI; a bare number is taken to be in `unit`, as the box says.

        `kind` is one of `units.parse`.
        """
        text = self.text(name)
        if text is None:
            return None
        bare = text.replace(",", "").replace(".", "").replace("-", "").strip()
        return units.parse(f"{text} {unit}" if bare.isdecimal() else text, kind)

    def number(self, name: str, what: str) -> float | None:
        """A plain number; decimal comma and a percent sign are understood, the sign dropped."""
        text = self.text(name)
        return None if text is None else units.parse_plain(text.rstrip("% "), what)

    def count(self, name: str, what: str) -> int | None:
        """A whole number."""
        found = self.number(name, what)
        if found is not None and found != int(found):
            raise Unusable(f"{what} is {found:g}; it is counted in whole ones.")
        return None if found is None else int(found)

    def instant(self, name: str, desk: Desk) -> datetime | None:
        """A date and time as a browser's box gives it, in the time zone of the kit.

        Of a time that the clocks show twice, when summer time ends, the later one that has been;
        one that they leave out is refused.
        """
        text = self.text(name)
        if text is None:
            return None
        try:
            found = datetime.fromisoformat(text)
        except ValueError:
            raise Unusable(f"{text[:40]!r} is no date and time; write 2026-11-25 10:17.") from None
        return found if found.tzinfo else _on_the_clock(found, desk)

    def told(self, path: str) -> bytes:
        """A mark of all that it says at an address; not its step, its clock, where it leads."""
        said = [path]
        for name in sorted(self.values.keys() - {"step", "at_device", "next"}):
            said += [name, *self.values[name], ""]
        for name in sorted(self.files):
            said += [f"{name} {each.filename} {each.size}" for each in self.files[name]]
        return told(said)

    def seen(self) -> tuple[str, ...]:
        """The steps that the page showed as the last ones about the record."""
        return tuple((self.text("seen") or "").split())


def _on_the_clock(local: datetime, desk: Desk) -> datetime:
    zone, now = desk.zone(), desk.now()
    try:
        both = [local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1)]
        shown = [at for at in both if at.astimezone(zone).replace(tzinfo=None, fold=0) == local]
    except OverflowError:
        raise Unusable(f"{local:%Y-%m-%d %H:%M} is a time that no calendar here has.") from None
    if not shown:
        raise Unusable(
            f"{local:%Y-%m-%d %H:%M} is a time that the clocks left out, when summer time began."
        )
    return max([at for at in shown if at <= now], default=min(shown))


def desk_of(request: Request) -> Desk:
    """What all pages share."""
    desk: Desk = request.app.state.desk
    return desk


CLOCKS_DIFFER = timedelta(minutes=10)
"""A device's clock that differs by more is wrong, and is put right."""
FIRST_YEAR = 2020
"""Nothing was entered on a page before."""


def hand_of(request: Request, form: Form) -> Hand:
    """Who enters something, by which device; when, by its clock if the page's script told."""
    desk = desk_of(request)
    who = form.text("who") or desk.kit().name or "grower"
    at = _entered_at(request, form.text("at_device"), desk.now())
    return Hand(  # in the zone of the kit, of which its day is then one
        who, request.state.device or "unknown", at.astimezone(desk.zone()), form.text("step") or ""
    )


def _entered_at(request: Request, told: str | None, now: datetime) -> datetime:
    """When something was entered: never in the future, whatever the device's clock says.

    A script that sends an entry, perhaps days after it was made, tells what its clock says then
    too: what that is wrong by, the entry is. A form without one has just been sent.
    """
    if told is None:
        return now
    at = _instant_told(told)
    sent = request.headers.get("x-sent-at")
    if "x-outbox" not in request.headers:
        return at if abs(at - now) <= CLOCKS_DIFFER and at <= now else now
    if sent is not None and abs(wrong := _instant_told(sent) - now) > CLOCKS_DIFFER:
        try:
            at -= wrong
        except OverflowError:
            return now
    # A clock that lost its battery begins anew in some year long ago.
    return min(at, now) if at.year >= FIRST_YEAR else now


def _instant_told(told: str) -> datetime:
    try:
        at = datetime.fromisoformat(told)
    except ValueError:
        raise Unusable(f"The device's time {told[:40]!r} cannot be read.") from None
    if at.tzinfo is None:
        raise Unusable(f"The device's time {told[:40]!r} has no offset from UTC.")
    return at


async def read_form(request: Request) -> Form:
    """All fields and files of a form; raises `Unusable` for what is no form."""
    try:
        sent = await request.form(max_files=20, max_fields=2000)
    except HTTPException as reason:
        raise Unusable(f"The form could not be read: {reason.detail}") from reason
    form = Form()
    for name, value in sent.multi_items():
        if isinstance(value, UploadFile):
            if value.filename:
                form.files.setdefault(name, []).append(value)
        else:
            form.values.setdefault(name, []).append(value)
    return form


Keep = Callable[[Request, Form, Hand], Done]


def entry(path: str, keep: Keep, page: Page | None = None, name: str | None = None) -> Route:
    """A form's address: posting it calls `keep`; getting it draws `page`.

    If `keep` raises one of our errors, nothing was kept: the page is drawn again with what was
    typed and the sentence why, or, without a page, the sentence alone with a way back.
    """

    async def posted(request: Request) -> Response:
        form = Form()
        try:
            form = await read_form(request)
            done = await run_in_threadpool(_kept, keep, request, form)
        except SaidOtherwise as problem:
            # Sent again it is an entry of its own, by somebody who has seen the page as it is now.
            for name in ("step", "seen"):
                form.values.pop(name, None)
            return await run_in_threadpool(refused, request, form, str(problem), page)
        except SpawnwrightError as problem:
            return await run_in_threadpool(refused, request, form, str(problem), page)
        finally:
            await request.close()  # files that were sent
        return _answered(request, done)

    async def asked(request: Request) -> Response:
        if request.method == "POST":
            return await posted(request)
        assert page is not None
        return await run_in_threadpool(page, request)

    methods = ["POST"] if page is None else ["GET", "POST"]
    return Route(path, _as_endpoint(asked), methods=methods, name=name)


def _as_endpoint(function: Callable[[Request], Awaitable[Response]]) -> Any:
    return function


def _kept(keep: Keep, request: Request, form: Form) -> Done:
    hand, once = hand_of(request, form), desk_of(request).once
    said = form.told(request.url.path)
    once.check(hand.step, said)
    done = keep(request, form, hand)
    if hand.step and done.step == hand.step:  # not the kit, not a file: those may be sent again
        once.note(hand.step, said)
    return done


def _answered(request: Request, done: Done) -> Response:
    following = own_path(done.next)  # it may come from the form, that is, from anybody
    if "x-outbox" in request.headers:
        return JSONResponse({"kept": done.step, "next": following, "said": done.said})
    place, _, anchor = following.partition("#")
    mark = "&" if "?" in place else "?"
    query = f"{mark}kept={done.step}" if done.step else ""
    return RedirectResponse(f"{place}{query}{'#' * bool(anchor)}{anchor}", 303)


def refused(request: Request, form: Form, problem: str, page: Page | None) -> Response:
    """The page again with what was typed, or the sentence alone."""
    problem = brief(problem)
    if "x-outbox" in request.headers:
        return JSONResponse({"problem": problem}, 422)
    if page is None:
        return show(request, "problem.html", status=422, shown=problem,
                    back=_own_path(request))  # fmt: skip
    drawn = page(request, typed=form.values, problem=problem)
    drawn.status_code = 422
    return drawn


LONGEST_WORD = 80


def brief(problem: str) -> str:
    """A sentence with what was typed cut short, so that it can be read on a phone."""
    return re.sub(rf"\S{{{LONGEST_WORD},}}", lambda found: f"{found[0][:40]} …", problem)


def _own_path(request: Request) -> str:
    """The path of the page that a form came from, if it was one of ours."""
    came = request.headers.get("referer", "")
    start = f"{request.url.scheme}://{request.headers.get('host', '')}/"
    return own_path(f"/{came.removeprefix(start)}") if came.startswith(start) else "/"


def first(values: Iterable[str]) -> str:
    """The last of what was typed into a box, empty if nothing was."""
    return next(reversed(list(values)), "")
