"""Take a file into the record book: an export, a notebook, a watched run, a logger's file."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spawnwright.actions.book.files import open_named
from spawnwright.errors import BadFile, Unusable

if TYPE_CHECKING:
    from spawnwright.actions.book.trace import TraceChoices
    from spawnwright.records.band import Band
    from spawnwright.store.book.engine import Book


@dataclass
class Imported:
    """What an import did, or would do; `problems` keep it from being done."""

    source: str
    is_done: bool = False
    steps: int = 0
    new_steps: int = 0
    records: dict[str, int] = field(default_factory=dict)
    new_jars: dict[str, str] = field(default_factory=dict)
    problems: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    backup: Path | None = None
    new_pictures: int = 0
    f0_min: Band | None = None
    """What a logger's file says was delivered at the core of a jar [min]."""


@dataclass(frozen=True)
class NotebookChoices:
    """What a person says about a notebook; who took it in, and on which device."""

    who: str
    device: str
    dates: Any = None
    jar: str | None = None
    trace: TraceChoices | None = None
    """What is said about a logger's file, if it is one."""


def import_file(
    named: str | None, source: Path, choices: NotebookChoices, now: datetime, *, do: bool
) -> Imported:
    """Show what taking a file into the book would do, or do it after a backup.

    A file that ends with .json is an export of a book; .jsonl is a run that was watched; .csv is
    a notebook of jar, date, note if its head line says so, else what a logger wrote during a run.
    """
    end = source.suffix.lower()
    takes = {".json": _take_export, ".csv": _take_table, ".jsonl": _take_run}
    if end not in takes:
        raise Unusable(
            f"{source} ends with neither .json (an export), .csv (a notebook, or a logger's file) "
            "nor .jsonl (a watched run)."
        )
    if not source.is_file():
        raise BadFile(f"There is no file {source}.")
    take = takes[end]
    if _is_to_be_made(named):
        # What cannot be used, or is only shown, leaves no empty book behind.
        shown = _shown_in_an_empty_book(take, source, choices, now)
        if not do or shown.problems:
            return shown
    with open_named(named, create=True) as book:
        return take(book, source, choices, now, do)


def _is_to_be_made(named: str | None) -> bool:
    from spawnwright.store.book.place import book_path, is_url

    return not is_url(named) and not book_path(named).exists()


def _shown_in_an_empty_book(
    take: Any, source: Path, choices: NotebookChoices, now: datetime
) -> Imported:
    import tempfile

    from spawnwright.store.book.engine import open_book

    with (
        tempfile.TemporaryDirectory(prefix="spawnwright-") as folder,
        open_book(Path(folder) / "book.db") as book,
    ):
        shown: Imported = take(book, source, choices, now, False)
        return shown


def _take_export(
    book: Book, source: Path, choices: NotebookChoices, now: datetime, do: bool
) -> Imported:
    from spawnwright.store.book.import_json import merge, preview

    found = preview(book, source)
    backup = None
    if do and (found.new_steps or found.new_pictures) and not found.problems:
        backup = _backup_before(book, now)
        found = merge(book, source)
    is_done = do and not found.problems
    return Imported(
        "export", is_done, found.steps, found.new_steps, dict(sorted(found.records.items())), {},
        tuple(found.problems), tuple(found.notes), backup, found.new_pictures,
    )  # fmt: skip


def _take_table(
    book: Book, source: Path, choices: NotebookChoices, now: datetime, do: bool
) -> Imported:
    from spawnwright.actions.book.trace import is_notebook

    if choices.trace is not None:
        return _take_log(book, source, choices, choices.trace, now, do)
    if not is_notebook(source):
        raise BadFile(
            f"{source}, line 1: there is no head line of jar,date,note, so it is no notebook. If "
            "a logger wrote it during a run, say which: --run last, --run with its day, or its id."
        )
    return _take_notebook(book, source, choices, now, do)


def _take_log(
    book: Book, source: Path, choices: NotebookChoices, trace: TraceChoices, now: datetime,
    do: bool,
) -> Imported:  # fmt: skip
    from collections import Counter

    from spawnwright.actions.book.trace import entries_of_log

    with book.read() as connection:
        taken = entries_of_log(connection, source, trace)
    entries = list(taken.entries)
    backup = _keep_taken(book, source, choices, now, entries) if do else None
    records = Counter(each.kind for each in entries if not each.seen)
    return Imported(
        "logger file", do, 1, int(bool(entries)), dict(records), {}, (), taken.notes, backup,
        f0_min=taken.record.core_f0_min,
    )  # fmt: skip


def _take_notebook(
    book: Book, source: Path, choices: NotebookChoices, now: datetime, do: bool
) -> Imported:
    import tzlocal

    from spawnwright.store.book.notebook import plan_lines, read_notebook

    lines = read_notebook(source, choices.dates)
    late = next((line for line in lines if line.day > now.astimezone().date()), None)
    if late is not None:
        raise BadFile(
            f"{source}: the look at {late.jar!r} on {late.day} is yet to come; mend its date, or "
            "say with --dates which number of a date is the day."
        )
    with book.read() as connection:
        plan = plan_lines(connection, lines, tzlocal.get_localzone(), choices.jar)
    backup = _keep_taken(book, source, choices, now, plan.entries) if do else None
    looks = len(plan.entries) - len(plan.new_jars)
    records = {
        kind: count for kind, count in (("jar", len(plan.new_jars)), ("look", looks)) if count
    }
    already = (
        (f"{plan.there} of {plan.lines} lines are in the book already.",) if plan.there else ()
    )
    return Imported(
        "notebook", do, int(bool(plan.lines)), int(bool(plan.entries)), records, plan.new_jars,
        (), already, backup,
    )  # fmt: skip


def _take_run(
    book: Book, source: Path, choices: NotebookChoices, now: datetime, do: bool
) -> Imported:
    from collections import Counter

    from spawnwright.store.book.watched_run import entries_of_run
    from spawnwright.store.run_log_file import read_run_log

    log = read_run_log(source)
    with book.read() as connection:
        entries = entries_of_run(connection, log, source.name)
    backup = _keep_taken(book, source, choices, now, entries) if do else None
    records = Counter(each.kind for each in entries if not each.seen)
    torn = ("The last line was cut off and is left out.",) if log.is_torn else ()
    return Imported(
        "watched run", do, 1, int(bool(entries)), dict(records), {}, (), torn, backup
    )  # fmt: skip


def _keep_taken(
    book: Book, source: Path, choices: NotebookChoices, now: datetime, entries: list[Any]
) -> Path | None:
    """Keep what was read from a file as one step, after a backup."""
    from spawnwright.records.book.steps import Step
    from spawnwright.store.book.journal import keep
    from spawnwright.store.book.notebook import hashed

    if not entries:
        return None
    backup = _backup_before(book, now)
    said = "\x1f".join(f"{each.record} {' '.join(each.seen)}" for each in entries)
    step = Step(
        hashed(said), now.isoformat(), choices.who, choices.device, "take in a file",
        tuple(entries), note=source.name,
    )  # fmt: skip
    keep(book, step, now)
    return backup


def _backup_before(book: Book, now: datetime) -> Path | None:
    from spawnwright.store.book.backup import make_backup

    return None if book.path is None else make_backup(book.path, "before-import", now).path
