"""The live clock of a run."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from spawnwright.cli import answer
from spawnwright.cli.options import Quantity, Share
from spawnwright.cli.sterilize import StartOption

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

_SET_UP = (
    "jar", "fill", "jars", "grain", "grain_state", "moisture", "start", "gauge", "elevation",
    "ambient", "boils_at", "hold", "canner", "burner", "hob", "room", "target", "soak", "simmer",
    "dry",
)  # fmt: skip


@answer.command(
    "watch",
    example="watch docs/examples/evening.jsonl --now 2027-01-03T20:30+00:00",
)
@click.argument("log", metavar="LOG.jsonl", type=click.Path())
@click.option("--event", help='What happened: "pressure reached"; all are listed above.')
@click.option("--at", help="When it happened: 19:42, or an ISO time. Left out: now.")
@click.option("--reading", type=Quantity("gauge pressure"), help='What the gauge showed: "8 psi".')
@click.option("--once", is_flag=True, help="Say where the run stands, and leave.")
@click.option("--now", help="Take this as the present, for trying out. Left out: the clock.")
@click.option("--plan", metavar="PLAN.json", help="What `plan --json` printed, to begin from.")
@click.option("--run", type=click.IntRange(1, 100), default=1, help="Which run of the plan.")
@click.option("--jar", help="As in `./run jars`.")
@click.option("--fill", help='Left out: "70%".')
@click.option("--jars", type=click.IntRange(1, 1000), help="In this load. Left out: 7.")
@click.option("--grain", help="As in `./run grains`. Left out: rye.")
@click.option(
    "--grain-state",
    type=click.Choice(("pours", "sticks", "smears", "unknown")),
    help="What the filled grain does in the hand. Left out: unknown.",
)
@click.option("--moisture", type=Share(), help="Of the filled grain.")
@click.option("--start", type=StartOption(), help='"20 C", cold, warm, hot-packed.')
@click.option("--gauge", type=Quantity("gauge pressure"), help='Of the hold: "15 psi".')
@click.option(
    "--elevation", type=Quantity("elevation", zero_needs_no_unit=True), help='"0 m", "4900 ft".'
)
@click.option("--ambient", type=Quantity("absolute pressure"), help="Air pressure measured.")
@click.option("--boils-at", type=Quantity("temperature"), help="In an open pot.")
@click.option("--hold", type=Quantity("duration"), help='Planned, at pressure: "90 min".')
@click.option("--canner", help="As in `./run canners`.")
@click.option("--burner", type=Quantity("power"), help="Full power.")
@click.option(
    "--hob",
    type=click.Choice(("gas", "electric", "induction", "unknown")),
    help="How much of its heat reaches the pot depends on this.",
)
@click.option("--room", type=Quantity("temperature"), help="Where the canner cools.")
@click.option(
    "--target", type=Quantity("duration"), help='F0 wanted at the core. Left out: "15 min".'
)
@click.option("--soak", type=Quantity("duration"), help="If the soak is in this chain.")
@click.option("--simmer", type=Quantity("duration"), help="If the simmer is.")
@click.option("--dry", type=Quantity("duration"), help="If the drying is.")
def command(
    log: str,
    event: str | None,
    at: str | None,
    reading: float | None,
    once: bool,
    now: str | None,
    plan: str | None,
    run: int,
    **asked: Any,
) -> answer.Answer:
    """Watch a run: lethality at the core so far, and how long is left.

    LOG is the run's own file. A new one needs --jar, --gauge, --elevation (or --ambient,
    --boils-at) and --hold, such as: watch evening.jsonl --jar quart --gauge "15 psi"
    --elevation "450 m" --hold "90 min"; --plan gives some of them. Later the file knows them.
    Each event is on the disk before the program says so: after a crash, or from another
    terminal, `watch evening.jsonl` goes on.

    Events, in their order: soak begun, simmer begun, spread to dry, heat on, steady jet, vent
    closed, pressure reached, pressure lost, back at pressure, heat off, zero pressure, opened.
    Any but the impossible may be left out. On a terminal each is one key; --event notes one and
    leaves.

    f0_min is F0 (121.11 C, z 10 C) at the core so far, a band over all that is uncertain about
    how heat moves in the jar. hold_left_min counts the planned hold, time with pressure lost
    left out; restarted_hold_left_min starts it again at each return to pressure, the rule for
    canned food and the cautious choice. to_target_min is the time until the core has the F0 of
    --target, null if more than three hours beyond the hold. f0_with_cooling_min is what the core
    gets if the plan is kept and the canner cools by itself.
    """
    from pathlib import Path

    from spawnwright.actions.sterilizing.watch import (
        forget,
        look,
        note_event,
        refuse_before_events,
        resume,
    )
    from spawnwright.cli.watch_text import page_of
    from spawnwright.errors import SpawnwrightError

    if event is None and (at is not None or reading is not None):
        raise click.UsageError("--at and --reading belong to --event; say what happened.")
    path = Path(log)
    present = _present(now)
    is_new = _begin(path, plan, run, asked)
    if event is not None:
        try:
            note_event(path, _event(path, event, at, reading, present), present)
        except SpawnwrightError:
            if is_new:
                forget(path)  # nothing is written where the first event cannot be
            raise
        _say_new(path, is_new)
        answer.note(f"Noted in {path}: {event}.")
    else:
        _say_new(path, is_new)
    if event is None and _is_live(once, now):
        from spawnwright.cli.watch_live import watch

        return page_of(*watch(path))
    found, is_torn = resume(path)
    if is_torn:
        answer.note(f"The last line of {path} was cut off, and is passed over.")
    refuse_before_events(found, present)
    state, _ = look(found, present)
    return page_of(found, state)


def _is_live(once: bool, now: str | None) -> bool:
    as_json = click.get_current_context().params.get("as_json", False)
    return not once and not as_json and now is None and sys.stdout.isatty()


def _present(now: str | None) -> datetime:
    from datetime import UTC, datetime

    present = datetime.now(UTC)
    if now is None:
        return present
    from spawnwright.actions.sterilizing.watch import instant_of

    return instant_of(now, present)


def _say_new(path: Path, is_new: bool) -> None:
    if is_new:
        answer.note(f"A new run, in {path}. What was not said is taken as usual: --help lists it.")


def _begin(path: Path, plan: str | None, run: int, asked: dict[str, Any]) -> bool:
    """Make the file of a new run; of one that is there, refuse to change the set-up.

    Gives whether it was made.
    """
    from pathlib import Path

    from spawnwright.actions.steam import outside_air
    from spawnwright.actions.sterilizing.watch import begin, from_plan
    from spawnwright.errors import Contradiction

    given = [name for name in _SET_UP if asked[name] is not None]
    if path.exists():
        if given or plan:
            option = "--" + (given[0].replace("_", "-") if given else "plan")
            raise Contradiction(
                f"{path} is a run that has begun, and knows its set-up; leave {option} out, or "
                "name another file for a new run."
            )
        return False
    found = {} if plan is None else from_plan(Path(plan), run)
    named = {"gauge": "gauge_pa", "hold": "hold_s", "burner": "burner_w", "room": "room_c",
             "soak": "soak_s", "simmer": "simmer_s", "dry": "dry_s"}  # fmt: skip
    air = ("elevation", "ambient", "boils_at")
    for name in given:
        if name not in air and name != "target":
            found[named.get(name, name)] = asked[name]
    if asked["target"] is not None:
        found["target_f0_min"] = asked["target"] / 60
    if any(asked[name] is not None for name in air):
        found["ambient_pa"], way = outside_air(*(asked[name] for name in air))
        found["is_ambient_measured"] = way != "elevation"
    begin(path, found)
    return True


def _event(path: Path, event: str, at: str | None, reading: float | None, present: datetime) -> Any:
    from spawnwright.actions.sterilizing.watch import event_named, instant_of, resume
    from spawnwright.records.run_log import RunEvent

    noted = resume(path)[0].events
    after = noted[-1].at if noted else None
    instant = present if at is None else instant_of(at, present, after)
    return RunEvent(event_named(event), instant, reading)
