"""Sheets that a page hands out: made in a file that nobody keeps, given as what it holds."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from dataclasses import fields
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spawnwright.actions.printing.labels import Wanted
from spawnwright.errors import Unusable

if TYPE_CHECKING:
    from spawnwright.records.label import Paper
    from spawnwright.records.plan import Plan


def labels_sheet(named: str | None, wanted: Wanted, sheet: str | None) -> bytes:
    """The labels of some jars, as a PDF; raises `Unusable` if there is none to print."""
    from spawnwright.actions.printing.labels import chosen_sheet, write_labels

    with tempfile.TemporaryDirectory(prefix="spawnwright-print-") as folder:
        target = Path(folder) / "labels.pdf"
        write_labels(named, wanted, chosen_sheet(sheet, {}), target)
        return target.read_bytes()


def alignment_sheet(sheet: str | None, offset_x_m: float, offset_y_m: float) -> bytes:
    """The alignment page of a sheet of labels, as a PDF; offsets [m]."""
    from spawnwright.actions.printing.labels import chosen_sheet, write_alignment

    with tempfile.TemporaryDirectory(prefix="spawnwright-print-") as folder:
        target = Path(folder) / "alignment.pdf"
        write_alignment(chosen_sheet(sheet, {}), offset_x_m, offset_y_m, target)
        return target.read_bytes()


def shelf_sheet(named: str | None, now: datetime, paper: Paper | None, batch: str | None) -> bytes:
    """The list of the jars on the shelf, as a PDF."""
    from spawnwright.actions.printing.shelf_list import write_shelf_list

    with tempfile.TemporaryDirectory(prefix="spawnwright-print-") as folder:
        target = Path(folder) / "shelf.pdf"
        write_shelf_list(named, target, now, paper, batch)
        return target.read_bytes()


def batch_sheet(wish_text: str, plan_text: str, planned_at: datetime) -> bytes:
    """The page for the wall of a batch, as it was planned; PDF.

    Parameters
    ----------
    wish_text, plan_text : str
        What the batch keeps of its wish and plan.
    planned_at : datetime
        When it was planned, from which days of the wish count.
    """
    from spawnwright.actions.planning.papers import write_papers
    from spawnwright.actions.planning.plan import read

    with tempfile.TemporaryDirectory(prefix="spawnwright-print-") as folder:
        wish_file, target = Path(folder) / "wish.toml", Path(folder) / "batch.pdf"
        wish_file.write_text(wish_text, encoding="utf-8")
        write_papers(plan_of(plan_text), read(wish_file, planned_at), target, None)
        return target.read_bytes()


def run_sheet(named: str | None, run: str) -> bytes:
    """The record of a run that a logger was in, as a PDF with the curve.

    Raises `Unusable` if no logger's readings are in the book.
    """
    import csv

    from spawnwright.actions.book.hand import rows_of
    from spawnwright.actions.book.opening import reading
    from spawnwright.actions.book.trace import question_of_run
    from spawnwright.actions.sterilizing.run_record import Roles, run_record, write_pdf
    from spawnwright.records.readings import ReadingChoices
    from spawnwright.store.book.runs import traces_of_run

    with reading(named) as book, book.read() as connection:
        row = rows_of(connection, [run], "sterilizer run")[run]
        traces = traces_of_run(connection, run)
        question, _ = question_of_run(connection, row)
    if not traces:
        raise Unusable("No logger was in this run, or its file was not taken in yet.")
    first = traces[0]
    together = [each for each in traces if each["time_s"] == first["time_s"]]
    with tempfile.TemporaryDirectory(prefix="spawnwright-print-") as folder:
        log, target = Path(folder) / (first["file"] or "run.csv"), Path(folder) / "record.pdf"
        log = log.with_name(f"{log.stem}.csv")
        with log.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(["time_s", *(f"{each['probe']} (C)" for each in together)])
            columns = (each["temperature_c"] for each in together)
            writer.writerows(zip(first["time_s"], *columns, strict=True))
        choices = ReadingChoices(unit="C", time_unit="seconds")
        write_pdf(run_record(log, choices, Roles(None, None), question), target)
        return target.read_bytes()


def plan_of(text: str) -> Plan:
    """The plan that a batch keeps as JSON; raises `Unusable` if it is none."""
    from spawnwright.records import plan as parts

    def made(kind: type[Any], told: Mapping[str, Any]) -> Any:
        values = {}
        for each in fields(kind):
            if each.name in told:
                values[each.name] = _value(told[each.name], str(each.type))
        return kind(**values)

    try:
        told = json.loads(text)
        nested = {
            "binding": parts.Binding, "sterilizer_runs": parts.SterilizerRun,
            "steps": parts.Step, "choices": parts.Choice,
        }  # fmt: skip
        for name, kind in nested.items():
            told[name] = tuple(made(kind, each) for each in told[name])
        told["ready"] = None if told["ready"] is None else made(parts.ReadyBand, told["ready"])
        told["notes"] = tuple(told["notes"])
        return parts.Plan(**told)
    except (KeyError, TypeError, ValueError) as reason:
        raise Unusable(
            f"The plan of this batch cannot be read: {reason}. Plan it anew."
        ) from reason


def _value(value: Any, wanted: str) -> Any:
    if wanted.startswith("datetime") and isinstance(value, str):
        return datetime.fromisoformat(value)
    return tuple(value) if isinstance(value, list) else value
