"""Sheets that a page hands out: made in a file that nobody keeps, given as what it holds."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from dataclasses import fields
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spawnwright.actions.labels import Wanted
from spawnwright.errors import Unusable

if TYPE_CHECKING:
    from spawnwright.records.label import Paper
    from spawnwright.records.plan import Plan


def labels_sheet(named: str | None, wanted: Wanted, sheet: str | None) -> bytes:
    """The labels of some jars, as a PDF; raises `Unusable` if there is none to print."""
    from spawnwright.actions.labels import chosen_sheet, write_labels

    with tempfile.TemporaryDirectory(prefix="spawnwright-print-") as folder:
        target = Path(folder) / "labels.pdf"
        write_labels(named, wanted, chosen_sheet(sheet, {}), target)
        return target.read_bytes()


def alignment_sheet(sheet: str | None, offset_x_m: float, offset_y_m: float) -> bytes:
    """The alignment page of a sheet of labels, as a PDF; offsets [m]."""
    from spawnwright.actions.labels import chosen_sheet, write_alignment

    with tempfile.TemporaryDirectory(prefix="spawnwright-print-") as folder:
        target = Path(folder) / "alignment.pdf"
        write_alignment(chosen_sheet(sheet, {}), offset_x_m, offset_y_m, target)
        return target.read_bytes()


def shelf_sheet(named: str | None, now: datetime, paper: Paper | None, batch: str | None) -> bytes:
    """The list of the jars on the shelf, as a PDF."""
    from spawnwright.actions.shelf_list import write_shelf_list

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
    from spawnwright.actions.plan import read
    from spawnwright.actions.plan_papers import write_papers

    with tempfile.TemporaryDirectory(prefix="spawnwright-print-") as folder:
        wish_file, target = Path(folder) / "wish.toml", Path(folder) / "batch.pdf"
        wish_file.write_text(wish_text, encoding="utf-8")
        write_papers(plan_of(plan_text), read(wish_file, planned_at), target, None)
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
