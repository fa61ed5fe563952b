"""What can be said about a logger file, shared by the commands that read one."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Any, TypeVar

import click

from spawnwright.cli.options import Quantity

if TYPE_CHECKING:
    from spawnwright.records.readings import ReadingChoices, Readings

Result = TypeVar("Result")
_SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t", ",": ",", ";": ";"}

_OPTIONS = (
    click.argument("log", metavar="LOG", type=click.Path()),
    click.option("--column", help="Name of the temperature's column, or its number from 1."),
    click.option(
        "--unit",
        type=click.Choice(("C", "F"), case_sensitive=False),
        metavar="C|F",
        help="Of the temperatures.",
    ),
    click.option("--decimal", type=click.Choice((".", ",")), help="Decimal sign."),
    click.option(
        "--separator", type=click.Choice(tuple(_SEPARATORS)), help="What is between columns."
    ),
    click.option("--time-column", help="Name of the time's column, or its number from 1."),
    click.option(
        "--time-unit",
        type=click.Choice(("seconds", "minutes", "hours")),
        help='Of plain numbers, or of the first part of times like "0:30".',
    ),
    click.option(
        "--dates",
        type=click.Choice(("day-first", "month-first", "year-first")),
        help="Which number of a date like 03/04/2027 comes first.",
    ),
    click.option(
        "--reference",
        type=Quantity("temperature"),
        default="121.11 C",
        show_default=True,
        help="Temperature that the minutes are counted at.",
    ),
    click.option(
        "--rule",
        type=click.Choice(("exact", "trapezoid")),
        default="exact",
        show_default=True,
        help="exact: straight lines in temperature, integrated; trapezoid: the lethal rate "
        "averaged between readings.",
    ),
)


_READING, _COUNTING = _OPTIONS[:-2], _OPTIONS[-2:]


def reads_log(function: Callable[..., Result]) -> Callable[..., Result]:
    """Add LOG and the options above; the function gets `path` and `choices` in their place."""
    for option in reversed(_COUNTING):
        function = option(function)
    return reads_log_only(function)


def reads_log_only(function: Callable[..., Result]) -> Callable[..., Result]:
    """The same without what lethality is counted by: reference and rule."""

    @wraps(function)
    def run(
        log: str,
        column: str | None,
        unit: str | None,
        decimal: str | None,
        separator: str | None,
        time_column: str | None,
        time_unit: str | None,
        dates: str | None,
        **options: Any,
    ) -> Result:
        from pathlib import Path

        from spawnwright.records.readings import ReadingChoices

        choices: ReadingChoices = ReadingChoices(
            column=column,
            unit=unit.upper() if unit else None,
            decimal=decimal,
            separator=_SEPARATORS[separator] if separator else None,
            time_column=time_column,
            time_unit=time_unit,
            dates=dates,
        )
        return function(path=Path(log), choices=choices, **options)

    for option in reversed(_READING):
        run = option(run)
    return run


def say_what_was_read(readings: Readings) -> None:
    """The account of a file on standard error."""
    from spawnwright.cli.answer import note

    for sentence in readings.account:
        note(sentence)


_LISTED = 100  # faults that are listed one by one


def left_out_values(readings: Readings) -> dict[str, Any]:
    """The keys that tell of faults of the sensor: their number, and the first hundred."""
    from math import isnan

    from spawnwright.records.readings import FAULTS

    gone = readings.left_out
    listed = zip(
        gone.rows[:_LISTED].tolist(), gone.value_c[:_LISTED].tolist(),
        gone.fault[:_LISTED].tolist(), strict=True,
    )  # fmt: skip
    return {
        "readings_left_out": len(gone),
        "left_out": [
            {"row": row, "fault": FAULTS[fault], "value_c": None if isnan(value) else value}
            for row, value, fault in listed
        ],
    }
