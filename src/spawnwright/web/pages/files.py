"""The book out to files, files into the book, backups; on this machine only."""

from __future__ import annotations

import tempfile
from pathlib import Path

from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from spawnwright.actions.book.files import backup_book, export_book
from spawnwright.actions.book.importing import NotebookChoices
from spawnwright.actions.book.jars import Hand
from spawnwright.actions.book.take_in import backups_there, set_aside
from spawnwright.actions.choices import jar_choices
from spawnwright.errors import Unusable
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.show import show

DATES = (("day-first", "day first: 25/11/2026"), ("month-first", "month first: 11/25/2026"))
_TAKE_IN = "spawnwright.actions.book.take_in"


def files(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """What can be taken out and in, and the backups that there are."""
    desk = desk_of(request)
    return show(
        request, "files.html", book=desk.book.name, backups=backups_there(desk.book.path),
        dates=DATES, jars=jar_choices(), typed=typed or {}, problem=problem,
    )  # fmt: skip


def export(request: Request) -> Response:
    """The book as JSON, or as a CSV for each kind of record."""
    desk = desk_of(request)
    end = request.path_params["end"]
    if end not in ("json", "zip"):
        raise Unusable("The book is written as .json or as .zip of CSV files.")
    folder = Path(tempfile.mkdtemp(prefix="spawnwright-export-"))
    target = folder / f"record-book-{desk.now():%Y-%m-%d}.{end}"
    export_book(desk.book_named, target, None, end == "zip")

    def clear() -> None:
        target.unlink(missing_ok=True)
        folder.rmdir()

    return FileResponse(target, filename=target.name, background=BackgroundTask(clear))


def keep_backup(request: Request, form: Form, hand: Hand) -> Done:
    """Copy the book now."""
    desk = desk_of(request)
    backup_book(desk.book_named, None, desk.now())
    return Done("/files?saved=1")


def _choices(form: Form, hand: Hand) -> NotebookChoices:
    return NotebookChoices(hand.who, hand.device, form.text("dates"), form.text("jar"))


def keep_file(request: Request, form: Form, hand: Hand) -> Done:
    """Set a file aside, to be shown first."""
    desk = desk_of(request)
    sent = form.files.get("file", [])
    if not sent:
        raise Unusable("No file was chosen.")
    kept = set_aside(sent[0].filename or "", sent[0].file.read(), desk.now())
    choices = [f"{name}={form.text(name)}" for name in ("dates", "jar") if form.text(name)]
    return Done("&".join([f"/import/{kept}?shown=1", *choices]))


def preview(
    request: Request, typed: dict[str, list[str]] | None = None, problem: str = ""
) -> Response:
    """What a file would do."""
    desk, kept = desk_of(request), request.path_params["kept"]
    asked = Form({name: [value] for name, value in request.query_params.items()})
    choices = _choices(asked, Hand(desk.kit().name or "grower", "this computer", desk.now()))
    found = desk.compute.answer(
        f"{_TAKE_IN}:preview_file", desk.book_named, kept, choices, desk.now()
    )
    return show(
        request, "import.html", found=found, kept_file=kept, asked=asked.values,
        typed=typed or {}, problem=problem,
    )  # fmt: skip


def keep_import(request: Request, form: Form, hand: Hand) -> Done:
    """Take it in."""
    desk, kept = desk_of(request), request.path_params["kept"]
    done = desk.compute.answer(
        f"{_TAKE_IN}:take_file", desk.book_named, kept, _choices(form, hand), desk.now()
    )
    if done.problems:
        raise Unusable(done.problems[0])
    return Done("/files?taken=1")


ROUTES = [
    Route("/files", files),
    Route("/export/book.{end}", export),
    entry("/backup", keep_backup),
    entry("/import", keep_file),
    entry("/import/{kept}", keep_import, preview),
]
