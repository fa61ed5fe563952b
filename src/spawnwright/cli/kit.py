"""Your own kit, measured in twenty minutes: what is known, and what it is worth."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from spawnwright.actions.own_kit.questions import GROUPS, QUESTIONS
from spawnwright.cli import answer
from spawnwright.records.band import Band

if TYPE_CHECKING:
    from spawnwright.actions.own_kit.bands import BandChange, KitBands
    from spawnwright.records.kit import Kit
    from spawnwright.sources import Estimate


def _kit_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """An option for each question, in the order in which it is asked."""
    for each in reversed(QUESTIONS.values()):
        how = f" {each.how}" if each.how else ""
        kind = "|".join(each.choices) if each.choices else "TEXT"
        function = click.option(
            each.flag, each.name, metavar=kind, help=f'{each.said}.{how} Like "{each.example}".'
        )(function)
    return function


@answer.command("kit", example="kit --no-ask")
@_kit_options
@click.option(
    "--forget",
    type=click.Choice(list(QUESTIONS)),
    multiple=True,
    metavar="LINE",
    help="Take a line out of the kit, such as boils_at. May be given more than once.",
)
@click.option(
    "--grain-state",
    type=click.Choice(("pours", "sticks", "smears", "unknown")),
    default="unknown",
    show_default=True,
    help="Of the filled grain, for the run that shows what the measurements are worth.",
)
@click.option("--ask/--no-ask", default=None, help="Ask what is not known yet, one by one.")
def command(forget: tuple[str, ...], grain_state: Any, ask: bool | None, **said: Any) -> Any:
    """Keep what you measured of your own jar, grain, burner and canner, and say what it is worth.

    Without options, at a terminal, it asks for what is not known yet, one thing after the other,
    and keeps each answer at once; Enter leaves one out, and stopping loses nothing. Elsewhere it
    shows the kit. The place, your habits and the burner are kept in `kit.toml`; a jar, a canner
    or a grain that you measured becomes an entry of `jars.toml`, `canners.toml` or `grains.toml`
    in the same folder.

    Then it works out the usual run twice, with the book's values and with yours, and says which
    bands became narrower. Heat that reaches the pot comes from the minutes in which two liters
    boil. Where the elevation is known too, boiling water says how far the thermometer is off;
    more than 4 kPa apart, the two are refused.

    So: ./run kit --boil-two-liters "9 min" --from "15 C" --lid on
    """
    from spawnwright.actions.own_kit.kit import change_kit, own_kit

    changes: dict[str, str | None] = {name: text for name, text in said.items() if text is not None}
    changes |= dict.fromkeys(forget)
    kit = change_kit(changes) if changes else own_kit()
    if ask or (ask is None and not changes and _may_ask()):
        from spawnwright.cli.kit_dialogue import ask_what_is_open

        kit = ask_what_is_open(kit)
    return _page(kit, grain_state)


def _may_ask() -> bool:
    """Whether somebody sits there; not where the answer is read by a program."""
    is_json = click.get_current_context().params.get("as_json", False)
    return sys.stdin.isatty() and sys.stderr.isatty() and not is_json


def _page(kit: Kit, grain_state: Any) -> answer.Answer:
    from spawnwright.actions.own_files import own_files
    from spawnwright.actions.own_kit.known import known_lines, open_questions
    from spawnwright.actions.own_kit.sums import pot_power_w, thermometer_offset_c

    known, missing = known_lines(kit), open_questions(kit)
    offset, pot = thermometer_offset_c(kit), pot_power_w(kit)
    bands, unusable = _worth(kit, grain_state)
    values: dict[str, Any] = {
        "kit": known,
        "folder": str(own_files()),
        "not_measured": [each.name for each in missing],
        "thermometer_offset_c": offset,
        "heat_into_pot_w": None if pot is None else Band(pot.low, float(pot), pot.high),
        "usual_run": None if bands is None else _usual(bands),
        "usual_run_cannot_be": unusable or None,
        "bands_before": None if bands is None else {e.name: e.before for e in bands.changes},
        "bands_after": None if bands is None else {e.name: e.after for e in bands.changes},
        "narrower_by": None if bands is None else {e.name: e.narrower for e in bands.changes},
    }
    page = answer.Answer(values)
    _known_rows(page, known, offset, pot)
    if missing:
        page.table(
            ["not known yet", "option", "what it is for"],
            [[each.said, f'{each.flag} "{each.example}"', each.why] for each in missing],
        )
    if bands is not None:
        _bands(page, bands)
    elif unusable:
        page.text(f"The usual run cannot be worked out with this kit: {unusable}")
    elif known:
        page.text("Nothing that changes a band is measured yet: jar, burner, canner, dry grain.")
    return page


def _worth(kit: Kit, grain_state: Any) -> tuple[KitBands | None, str]:
    """What the measurements are worth, or why their run cannot be made.

    What was measured is kept by then, and the kit has to be seen to be mended.
    """
    from spawnwright.actions.own_kit.bands import kit_bands
    from spawnwright.errors import Unusable

    try:
        return kit_bands(kit, grain_state), ""
    except Unusable as reason:
        return None, str(reason)


def _usual(bands: KitBands) -> dict[str, Any]:
    usual = bands.usual
    return {
        "jar": usual.jar.key,
        "jars": usual.jars,
        "fill": usual.fill.value,
        "grain": usual.kernels.key,
        "grain_state": usual.grain_state,
        "canner": usual.canner.key,
        "hold_min": bands.hold_s / 60,
        "recommended_hold_min": {
            "before": _minutes(bands.recommended_before_s),
            "after": _minutes(bands.recommended_after_s),
        },
    }


def _minutes(seconds: float | None) -> float | None:
    return None if seconds is None else seconds / 60


def _known_rows(
    page: answer.Answer, known: dict[str, str], offset: float | None, pot: Estimate | None
) -> None:
    for group in GROUPS:
        rows = [(each.said, known[each.name], "") for each in group.questions if each.name in known]
        if group.title == "You and this place" and offset is not None:
            way = "low" if offset < 0 else "high"
            rows.append(("Your thermometer", f"reads {abs(offset):.1f} °C {way}",
                         "the day's weather is in it, half a degree either way"))  # fmt: skip
        if group.title == "The burner" and pot is not None:
            rows.append(("Heat that reaches the pot", f"{pot:.0f} W ({pot.low:.0f} to "
                         f"{pot.high:.0f})", "at full burner"))  # fmt: skip
        if rows:
            page.rows(*rows, title=group.title)
    if not known:
        page.text("Nothing is known of your kit yet. `./run kit --ask` asks, one thing at a time.")


def _bands(page: answer.Answer, bands: KitBands) -> None:
    usual = bands.usual
    page.table(
        ["", "by the book", "as measured", "narrower by"],
        [[f"{each.said}{f', {each.unit}' if each.unit else ''}", _band(each.before),
          _band(each.after), _narrower(each)] for each in bands.changes],
        title=f"What that is worth: {usual.jars} {usual.jar.key} jars of {usual.kernels.key}, "
        f"{100 * usual.fill.value:.0f} % full, held {bands.hold_s / 60:.0f} min",
    )  # fmt: skip
    before, after = (
        "none that fits" if each is None else f"{each / 60:.0f} min"
        for each in (bands.recommended_before_s, bands.recommended_after_s)
    )
    page.text(f"Recommended hold: {before} by the book, {after} as measured.")
    if usual.grain_state == "unknown":
        page.text(
            "The band of F0 stays wide until you know whether the filled grain pours, sticks or "
            "smears: run some through your fingers (--grain-state)."
        )


def _band(band: Band) -> str:
    digits = 1 if band.high < 10 else 0
    digits = 2 if band.high < 1 else digits
    return f"{band.likely:.{digits}f} ({band.low:.{digits}f} to {band.high:.{digits}f})"


def _narrower(each: BandChange) -> str:
    if each.narrower is None or abs(each.narrower) < 0.005:
        return "as wide"
    if each.narrower < 0:
        return f"{-100 * each.narrower:.0f} % wider"
    return f"{100 * each.narrower:.0f} %"
