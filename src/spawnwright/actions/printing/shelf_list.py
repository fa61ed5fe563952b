"""Print the jars on the shelf: where each stands, how old it is, what was seen last."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spawnwright.records.book.signs import HARM, WATCH, how_worrying
from spawnwright.records.shelf_list import ShelfListLine

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from spawnwright.records.label import Paper


@dataclass(frozen=True)
class PrintedList:
    """What was written."""

    file: Path
    paper: Paper
    pages: int
    jars: tuple[str, ...]
    """Codes, in the order of the list."""


def write_shelf_list(
    named: str | None, target: Path, now: datetime, paper: Paper | None, batch: str | None
) -> PrintedList:
    """Write the list of the active jars as a PDF; an empty shelf gives a page that says so.

    Parameters
    ----------
    named : str, optional
        The book or export; without it, the grower's own.
    target : Path
        Where to; an older file is replaced.
    now : datetime
        With an offset.
    paper : str, optional
        A4 or Letter; without it, what is usual in this country.
    batch : str, optional
        Only jars of the batch of this name.
    """
    from spawnwright.actions.printing.jar_names import batch_meant, check_target, own_zone, there
    from spawnwright.paper.batch_sheet import usual_paper
    from spawnwright.paper.shelf_list import page_count, shelf_list_pdf
    from spawnwright.store.files import write_whole

    here = now.astimezone(own_zone())
    check_target(target, named)
    with there(named) as book, book.read() as connection:
        meant = None if batch is None else batch_meant(connection, batch)
        lines = shelf_list_lines(connection, here, meant)
    size = paper or usual_paper()
    write_whole(target, shelf_list_pdf(lines, here.date(), size, batch or ""))
    codes = tuple(line.code for line in lines)
    return PrintedList(target, size, page_count(len(lines), size), codes)


def shelf_list_lines(
    connection: Connection, now: datetime, batch: str | None = None
) -> list[ShelfListLine]:
    """The active jars by place, those without one last, and the oldest first.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    now : datetime
        In the time zone in which days are told.
    batch : str, optional
        The id of a batch.
    """
    from spawnwright.actions.printing.jar_names import active, batch_names, strains_of
    from spawnwright.store.book.origins import doubted, first_inoculations, species_of_jars

    jars = active(connection, batch)
    ids = [jar["id"] for jar in jars]
    inoculated = first_inoculations(connection, ids)
    species = species_of_jars(connection, inoculated)
    strains, batches = strains_of(connection, jars), batch_names(connection, jars)
    in_doubt = doubted(connection, ids)
    found = []
    for jar in jars:
        begun = inoculated.get(jar["id"], {}).get("at")
        age = now - datetime.fromisoformat(begun or jar["filled_at"])
        look = jar["look"] or {}
        line = ShelfListLine(
            code=jar["code"],
            age_days=max(0, age.days),
            look=_look(look, now),
            sign=_sign(look.get("sign"), species.get(jar["id"])),
            strain=strains.get(jar["id"], ""),
            batch=batches.get(jar["batch"], ""),
            where=jar["stored_where"] or "",
            marks=_marks(jar, begun is not None, jar["id"] in in_doubt),
        )
        found.append((not line.where, line.where.casefold(), -age, line.code, line))
    return [line for *_, line in sorted(found, key=lambda each: each[:4])]


def _look(look: Mapping[str, Any], now: datetime) -> str:
    from spawnwright.paper.dates import day

    if not look:
        return ""
    seen = day(datetime.fromisoformat(look["at"]).astimezone(now.tzinfo))
    return seen if look["percent"] is None else f"{seen}, {look['percent']:.0f} %"


def _sign(sign: str | None, species: str | None) -> str:
    if sign is None:
        return ""
    how = how_worrying(sign, species)
    if how == HARM:
        return f"⚠ {sign}: keep it shut"
    return f"{sign}: watch it" if how == WATCH else sign


def _marks(jar: Mapping[str, Any], is_inoculated: bool, is_in_doubt: bool) -> tuple[str, ...]:
    marks = (
        ("IN DOUBT", is_in_doubt),
        ("control", bool(jar["is_control"])),
        ("no culture", not is_inoculated and not jar["is_control"]),
    )
    return tuple(word for word, holds in marks if holds)
