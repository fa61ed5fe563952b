"""A plan on paper and in the calendar: both files are made first, then written whole."""

from __future__ import annotations

from pathlib import Path

from spawnwright.errors import BadFile, Contradiction
from spawnwright.paper.batch_sheet import batch_sheet_pdf, usual_paper
from spawnwright.paper.calendar import calendar_ics
from spawnwright.records.plan import Plan
from spawnwright.records.wish import Wish
from spawnwright.store.files import check_writable, write_whole


def check_places(sheet: Path | None, calendar: Path | None, wish: Path) -> None:
    """Refuse places that could not be written to, before any work is done for them.

    Raises `BadFile` for the place, also if it is the wish itself, and `Contradiction` if both
    are the same file.
    """
    for place in (sheet, calendar):
        if place is not None:
            check_writable(place, keep=wish)
    if sheet is not None and calendar is not None and sheet.resolve() == calendar.resolve():
        raise Contradiction(f"Sheet and calendar cannot both be {sheet}; name two files.")


def write_papers(plan: Plan, wish: Wish, sheet: Path | None, calendar: Path | None) -> list[Path]:
    """Write the batch sheet, the calendar or both of a feasible plan; returns what was written.

    A calendar that is there already and is ours is told what has moved and what is called off.
    """
    contents: list[tuple[Path, bytes]] = []
    if sheet is not None:
        contents.append((sheet, batch_sheet_pdf(plan, wish, usual_paper())))
    if calendar is not None:
        contents.append((calendar, calendar_ics(plan, wish, _older(calendar))))
    for path, content in contents:
        write_whole(path, content)
    return [path for path, _ in contents]


def _older(calendar: Path) -> bytes | None:
    """What a file holds that is to be replaced; none if there is no such file."""
    if not calendar.is_file():
        return None
    try:
        return calendar.read_bytes()
    except OSError as reason:
        raise BadFile(
            f"{calendar} cannot be read to see what it has told your calendar so far: "
            f"{reason.strerror or reason}. Nothing was written; name another file."
        ) from reason
