"""Print labels for jars: which ones, on which sheet, with which address behind the QR code."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spawnwright.errors import Contradiction, UnknownName, Unusable
from spawnwright.records.label import JarLabel, LabelSheet, pages_address, qr_content

if TYPE_CHECKING:
    from sqlalchemy import Connection

QR_OF_DIAMETER = 0.3
"""Edge of a QR code over the diameter of its jar: codes of 18, 24 and 30 mm bent round jars of 60,
75 and 90 mm were all read, straight on (pictures of bent codes; 24 of 24 each)."""
LARGEST_QR_M, USUAL_QR_M = 0.030, 0.024
USUAL_SHEETS = {"A4": "a4-3x7", "Letter": "letter-3x10"}


@dataclass(frozen=True)
class Wanted:
    """Which jars get a label, and how it is printed."""

    codes: tuple[str, ...] = ()
    all_active: bool = False
    batch: str | None = None
    host: str | None = None
    """This machine's name; without it, the kit's."""
    code_alone: bool = False
    """No address in the QR code, also if the kit names a host."""
    iso_dates: bool = False
    start_at: int = 1
    offset_x_m: float = 0.0
    offset_y_m: float = 0.0


@dataclass(frozen=True)
class PlacedLabel:
    """A label and where it was printed; page and place count from 1."""

    code: str
    content: str
    page: int
    place: int


@dataclass(frozen=True)
class Printed:
    """What was written."""

    file: Path
    sheet: LabelSheet
    pages: int
    labels: tuple[PlacedLabel, ...]


def chosen_sheet(named: str | None, changes: Mapping[str, Any]) -> LabelSheet:
    """The sheet that was named, or the usual one of this country, with own measurements put in."""
    from spawnwright.paper.batch_sheet import usual_paper
    from spawnwright.store.label_sheets import changed_sheet, sheet_named

    paper = changes.get("paper") or usual_paper()
    return changed_sheet(sheet_named(named or USUAL_SHEETS[paper]), changes)


def listed_sheets() -> list[LabelSheet]:
    """All sheets, the grower's own included."""
    from spawnwright.store.label_sheets import label_sheets

    return list(label_sheets().values())


def write_labels(named: str | None, wanted: Wanted, sheet: LabelSheet, target: Path) -> Printed:
    """Write the labels of some jars as a PDF.

    Raises
    ------
    Contradiction
        If jars are named in more than one way.
    Unusable
        If there is no book, no jar, no such label on the sheet, or the host is no name.
    """
    from spawnwright.actions.printing.jar_names import check_target, own_zone, there
    from spawnwright.paper.labels import check_offset, check_start, labels_pdf
    from spawnwright.store.files import write_whole

    address = _address(wanted)
    _check_one_way(wanted)
    check_start(sheet, wanted.start_at)
    check_offset(sheet, wanted.offset_x_m, wanted.offset_y_m)
    check_target(target, named)
    with there(named) as book, book.read() as connection:
        jars = _jars(connection, wanted)
        labels = labels_of(connection, jars, own_zone(), address, wanted.iso_dates)
    content = labels_pdf(labels, sheet, wanted.start_at, wanted.offset_x_m, wanted.offset_y_m)
    write_whole(target, content)
    placed = []
    for number, label in enumerate(labels, wanted.start_at - 1):
        page, place = divmod(number, sheet.count)
        placed.append(PlacedLabel(label.code, label.content, page + 1, place + 1))
    return Printed(target, sheet, placed[-1].page, tuple(placed))


def write_alignment(sheet: LabelSheet, offset_x_m: float, offset_y_m: float, target: Path) -> None:
    """Write the alignment page of a sheet as a PDF; offsets [m]."""
    from spawnwright.paper.labels_alignment import alignment_pdf
    from spawnwright.store.files import check_writable, write_whole

    check_writable(target)
    write_whole(target, alignment_pdf(sheet, offset_x_m, offset_y_m))


def labels_of(
    connection: Connection,
    jars: Sequence[Mapping[str, Any]],
    zone: tzinfo,
    address: str | None = None,
    iso_dates: bool = False,
) -> list[JarLabel]:
    """The labels of some jars of the book, in their order.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    jars : sequence of mapping
        Rows of jars.
    zone : tzinfo
        Where the day of filling is counted.
    address : str, optional
        Of the pages, as `pages_address` gives it; without it a QR code says the code alone.
    iso_dates : bool
        Write 2027-03-16 instead of Tue 16 Mar 2027.
    """
    from spawnwright.actions.printing.jar_names import batch_names, strains_of
    from spawnwright.paper.dates import day_of_year

    strains, batches = strains_of(connection, jars), batch_names(connection, jars)
    largest = {kind: _largest_qr_m(kind) for kind in {jar["jar_kind"] for jar in jars}}
    labels = []
    for jar in jars:
        filled = datetime.fromisoformat(jar["filled_at"]).astimezone(zone).date()
        labels.append(
            JarLabel(
                code=jar["code"],
                content=qr_content(jar["code"], address),
                jar_kind=jar["jar_kind"],
                filled=filled.isoformat() if iso_dates else day_of_year(filled),
                name=strains.get(jar["id"], ""),
                batch=batches.get(jar["batch"], ""),
                is_control=bool(jar["is_control"]),
                largest_qr_m=largest[jar["jar_kind"]],
            )
        )
    return labels


def _address(wanted: Wanted) -> str | None:
    from spawnwright.actions.own_kit.kit import own_kit

    if wanted.code_alone:
        if wanted.host is not None:
            raise Contradiction("--host and --code-alone exclude each other; give one of them.")
        return None
    host = wanted.host if wanted.host is not None else own_kit().host
    return None if host is None else pages_address(host)


def _check_one_way(wanted: Wanted) -> None:
    ways = [bool(wanted.codes), wanted.all_active, wanted.batch is not None]
    if sum(ways) != 1:
        raise Contradiction(
            "Say which jars in one way: their codes, --batch, or --all-active"
            + ("." if sum(ways) else "; none was said.")
        )


def _jars(connection: Connection, wanted: Wanted) -> list[dict[str, Any]]:
    from spawnwright.actions.printing.jar_names import active, batch_meant
    from spawnwright.store.book.history import current
    from spawnwright.store.book.shelf import jar_with_code

    if wanted.codes:
        ids = [jar_with_code(connection, code) for code in wanted.codes]
        rows = current(connection, ids)
        return [rows[jar] for jar in ids]
    batch = None if wanted.batch is None else batch_meant(connection, wanted.batch)
    found = active(connection, batch)
    if not found:
        where = "on the shelf" if batch is None else f"of the batch {wanted.batch!r} on the shelf"
        raise Unusable(f"No jar is {where}, so there is no label to print; fill jars first.")
    return found


def _largest_qr_m(jar_kind: str) -> float:
    """How large the QR code on a kind of jar may be so that its bend does not hide its sides."""
    from spawnwright.records.jar import Jar
    from spawnwright.store.catalog import find

    if jar_kind.lower().endswith(".toml"):
        return USUAL_QR_M
    try:
        jar = find(Jar, "jars", jar_kind)
    except UnknownName:  # a bag, or a jar that is in the catalog no more
        return USUAL_QR_M
    return min(LARGEST_QR_M, QR_OF_DIAMETER * 2 * jar.outer_radius_m)
