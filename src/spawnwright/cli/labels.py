"""Labels for jars."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from spawnwright import units
from spawnwright.cli import answer
from spawnwright.cli.book_options import book_option
from spawnwright.cli.options import Quantity
from spawnwright.errors import NotAQuantity

if TYPE_CHECKING:
    from spawnwright.actions.printing.labels import Printed
    from spawnwright.records.label import LabelSheet

GEOMETRY = ("paper", "columns", "rows", "width", "height", "left", "top", "gap_x", "gap_y")


class Offset(click.ParamType[float]):
    """A length to either side, given to the command in m."""

    name = "length"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Read a length with or without a sign."""
        if isinstance(value, float):
            return value
        text = str(value).strip().replace("−", "-")
        try:
            length = units.parse(text.lstrip("+-"), "length", zero_needs_no_unit=True)
        except NotAQuantity as problem:
            name = param.opts[-1] if param and param.opts else "A value"
            raise click.UsageError(f"{name}: {problem}") from problem
        return -length if text.startswith("-") else length


def sheet_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """The sheet: a name of the list, and whatever differs on the grower's own."""
    length = Quantity("length", zero_needs_no_unit=True)
    for option in (
        click.option("--gap-y", type=length, help="Between rows."),
        click.option("--gap-x", type=length, help="Between columns."),
        click.option("--top", type=length, help="From the top of the page to the first row."),
        click.option("--left", type=length, help="From its left edge to the first column."),
        click.option("--height", type=length, help="Of a label."),
        click.option("--width", type=length, help="Of a label."),
        click.option("--rows", type=int, help="On a page."),
        click.option("--columns", type=int, help="On a page; this and the next ones replace what "
                     "the sheet says."),
        click.option("--paper", type=click.Choice(["A4", "Letter"]), help="Of the sheet."),
        click.option("--sheet", metavar="NAME|FILE", help="One of --sheets, or a TOML file; left "
                     "out, the usual one of your country."),
    ):  # fmt: skip
        function = option(function)
    return function


@answer.command(
    "labels",
    example="labels CT36 RK46 --host spawn.local --file docs/examples/record-book.json "
    "--pdf labels.pdf",
)
@click.argument("codes", nargs=-1, metavar="[CODES]...")
@click.option("--all-active", is_flag=True, help="All jars that have no outcome yet.")
@click.option("--batch", help="The active jars of this batch, by its name.")
@click.option("--pdf", metavar="FILE", help="Where to write; an older file is replaced.")
@click.option("--host", metavar="NAME", help="This machine's name in your network, such as "
              "spawn.local, with a port if not 8377; no number that a router hands out. Left out: "
              "the host in kit.toml, else the QR code says the jar's code alone.")  # fmt: skip
@click.option("--code-alone", is_flag=True, help="Only the jar's code, whatever kit.toml says.")
@click.option("--start-at", type=int, default=1, show_default=True,
              help="The first label still on the sheet.")  # fmt: skip
@click.option("--offset-x", type=Offset(), default="0 mm", show_default=True,
              help='Print farther right, "-1 mm" farther left; steps of 0.5 mm.')  # fmt: skip
@click.option("--offset-y", type=Offset(), default="0 mm", show_default=True,
              help="Print farther down.")  # fmt: skip
@click.option("--dates", type=click.Choice(["local", "iso"]), default="local", show_default=True,
              help="Tue 16 Mar 2027, or 2027-03-16.")  # fmt: skip
@click.option("--alignment", is_flag=True, help="Write the alignment page of the sheet instead.")
@click.option("--sheets", is_flag=True, help="List the sheets, and write nothing.")
@sheet_options
@book_option
def command(
    codes: tuple[str, ...], all_active: bool, batch: str | None, pdf: str | None,
    host: str | None, code_alone: bool, start_at: int, offset_x: float, offset_y: float, dates: str,
    alignment: bool, sheets: bool, sheet: str | None, named: str | None, **geometry: Any,
) -> answer.Answer:  # fmt: skip
    """Labels for jars on sheets of labels: a QR code, the code in large type, what is in the jar.

    Print at 100 %, no fit to page. Print the alignment page on plain paper first, and hold it
    behind a sheet of labels against the light. On a jar, turn the code to face you when you scan
    it: bent round to the side it cannot be read.

    With --host, a phone's camera opens the jar's page; the name must stay this machine's, so a
    number that a router hands out is refused, and nothing secret is on a label. --file may name an
    export (.json) as well.
    """  # fmt: skip
    if sheets:
        return _listed()
    if pdf is None:
        raise click.UsageError("--pdf is missing; it names the file to write.")
    from pathlib import Path

    from spawnwright.actions.printing.labels import (
        Wanted,
        chosen_sheet,
        write_alignment,
        write_labels,
    )

    changes = {name: geometry[name] for name in GEOMETRY if geometry[name] is not None}
    chosen = chosen_sheet(sheet, changes)
    if alignment:
        if codes or all_active or batch:
            raise click.UsageError("--alignment prints a page without jars; leave them out.")
        write_alignment(chosen, offset_x, offset_y, Path(pdf))
        answer.note(f"Written: {pdf}")
        return _aligned(chosen, pdf)
    wanted = Wanted(
        codes, all_active, batch, host, code_alone, dates == "iso", start_at, offset_x, offset_y
    )
    printed = write_labels(named, wanted, chosen, Path(pdf))
    answer.note(f"Written: {pdf}")
    return _page(printed)


def _page(printed: Printed) -> answer.Answer:
    count, pages = len(printed.labels), printed.pages
    page = answer.Answer(
        {
            "file": str(printed.file),
            "sheet": _values(printed.sheet),
            "pages": pages,
            "labels": list(printed.labels),
        }
    )
    page.rows(
        ("labels", str(count), f"{printed.labels[0].content} and so on" if count > 1
         else printed.labels[0].content),
        ("sheet", printed.sheet.key, _size(printed.sheet)),
        ("pages", str(pages), f"the last label is number {printed.labels[-1].place} of its page"),
    )  # fmt: skip
    return page.text(
        "Print at 100 %, no fit to page. Stick them on dry, cool glass, and turn the code to face "
        "you when you scan it."
    )


def _aligned(sheet: LabelSheet, pdf: str) -> answer.Answer:
    page = answer.Answer({"file": pdf, "sheet": _values(sheet), "pages": 1, "labels": []})
    return page.rows(("sheet", sheet.key, _size(sheet))).text(
        "Print it on plain paper at 100 %, no fit to page; its rulers must be 100 mm long. Hold it "
        "behind a sheet of labels against the light, and move it with --offset-x and --offset-y."
    )


def _listed() -> answer.Answer:
    from spawnwright.actions.printing.labels import listed_sheets

    found = listed_sheets()
    page = answer.Answer({"sheets": [_values(sheet) for sheet in found]})
    page.table(
        ("sheet", "paper", "labels", "label", "from the left", "from the top", "source"),
        [
            (
                sheet.key, sheet.paper, f"{sheet.columns} × {sheet.rows}", _size(sheet),
                f"{1000 * sheet.left_m:g} mm", f"{1000 * sheet.top_m:g} mm", sheet.source,
            )
            for sheet in found
        ],
    )  # fmt: skip
    return page.text(
        "COMMON is common practice without a source: compare with your packet, or measure a sheet. "
        "OWN is your own, from label_sheets.toml."
    )


def _size(sheet: LabelSheet) -> str:
    return f"{1000 * sheet.width_m:g} × {1000 * sheet.height_m:g} mm"


def _values(sheet: LabelSheet) -> dict[str, Any]:
    lengths = {f"{name}_mm": 1000 * getattr(sheet, f"{name}_m") for name in GEOMETRY[3:]}
    return {
        "name": sheet.key, "paper": sheet.paper, "columns": sheet.columns, "rows": sheet.rows,
        **lengths, "source": sheet.source, "where": sheet.where,
    }  # fmt: skip
