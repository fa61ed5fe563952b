"""The live view of a run: looked at once a second, keys read from standard input.

Nothing here counts time. Each look takes the clock's instant and asks where the run stands, so a
sleeping computer wakes up with the right numbers.
"""

from __future__ import annotations

import os
import sys
from contextlib import AbstractContextManager, nullcontext
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from spawnwright.cli.answer import note
from spawnwright.cli.watch_text import due, headline
from spawnwright.errors import SpawnwrightError
from spawnwright.records.run_log import EventName, RunLog, RunState

KEYS: dict[str, EventName] = {
    "s": "soak begun", "m": "simmer begun", "d": "spread to dry", "h": "heat on",
    "j": "steady jet", "v": "vent closed", "p": "pressure reached", "l": "pressure lost",
    "b": "back at pressure", "o": "heat off", "z": "zero pressure", "n": "opened",
}  # fmt: skip
HELP = (
    "Keys, each with Enter: "
    + ", ".join(f"{key} {name}" for key, name in KEYS.items())
    + "; q leaves, the run goes on. A time may stand behind a key (p 19:42), and behind l what "
    "the gauge shows (l 8 psi)."
)
_LOOK_EVERY_S, _LOOK_EVERY_LOST_S = 1.0, 5.0
_SAY_EVERY_S = 60.0


def watch(path: Path) -> tuple[RunLog, RunState]:
    """Show a run until it is opened, or the person leaves; give back where it stands."""
    from spawnwright.actions.sterilizing.watch import look, resume

    log, _ = resume(path)
    note(HELP)
    clock, rung, stamp = None, set[tuple[str, datetime]](), _stamp(path)
    with _screen() as show:
        while True:
            now = datetime.now(UTC)
            state, clock = look(log, now, clock)
            for each in due(state):
                if (each.name, each.begins_at) not in rung:
                    rung.add((each.name, each.begins_at))
                    show.bell()
                    note(f"{each.name} is due: {each.what_then}")
            show(log, state)
            is_lost = state.stage == "pressure lost"  # then each look is solved anew
            line = _line_within(_LOOK_EVERY_LOST_S if is_lost else _LOOK_EVERY_S)
            if line is not None and not _obey(path, line):
                break
            if _stamp(path) != stamp:
                stamp = _stamp(path)
                log, _ = resume(path)
            if state.stage == "opened":
                break
    state, _ = look(log, datetime.now(UTC), clock)
    return log, state


def _obey(path: Path, line: str) -> bool:
    """Do what a line says; false to leave. What cannot be is said, and the run goes on."""
    from spawnwright.actions.sterilizing.watch import instant_of, note_event, resume
    from spawnwright.records.run_log import RunEvent
    from spawnwright.units import parse

    key, _, rest = line.strip().partition(" ")
    if not line or key == "q":
        return False
    if key not in KEYS:
        note(HELP if key else "")
        return True
    try:
        now, rest = datetime.now(UTC), rest.strip()
        has_time = ":" in rest
        log, _ = resume(path)
        after = log.events[-1].at if log.events else None
        at = instant_of(rest, now, after) if has_time else now
        gauge = parse(rest, "gauge pressure") if rest and not has_time else None
        note_event(path, RunEvent(KEYS[key], at, gauge), now)
        note(f"Noted: {KEYS[key]}.")
    except SpawnwrightError as problem:
        note(f"Not noted: {problem}")
    return True


def _stamp(path: Path) -> tuple[int, int]:
    seen = path.stat()
    return seen.st_mtime_ns, seen.st_size


def _line_within(seconds: float) -> str | None:
    """A line from standard input, "" at its end, or none if nothing comes in that time.

    On a terminal the end means that the person leaves. Elsewhere nobody types any more, and the
    run is still to be watched, if there is a terminal to show it on.
    """
    import select
    import time

    if not _can_be_read():
        time.sleep(seconds)
        return None
    ready, _, _ = select.select([sys.stdin], [], [], seconds)
    if not ready:
        return None
    line = sys.stdin.readline()
    if line or sys.stdin.isatty() or not sys.stdout.isatty():
        return line
    sys.stdin.close()
    return None


def _can_be_read() -> bool:
    return sys.stdin is not None and not sys.stdin.closed


def _screen() -> AbstractContextManager[_Lines | _Bars]:
    if (
        sys.stdout.isatty()
        and os.environ.get("TERM", "dumb") != "dumb"
        and not os.environ.get("NO_COLOR")
    ):
        return _Bars()
    return nullcontext(_Lines())


class _Lines:
    """A line on standard error when the stage changes, and once a minute."""

    def __init__(self) -> None:
        self.said_at: datetime | None = None
        self.stage = ""

    def __call__(self, log: RunLog, state: RunState) -> None:
        """Say where the run stands, if it is time."""
        is_due = self.said_at is None or (state.now - self.said_at).total_seconds() >= _SAY_EVERY_S
        if is_due or state.stage != self.stage:
            note(headline(state))
            self.said_at, self.stage = state.now, state.stage

    def bell(self) -> None:
        """Sound."""
        print("\a", end="", file=sys.stderr, flush=True)


class _Bars:
    """A line, and bars for the running step and the lethality wanted."""

    def __init__(self) -> None:
        from rich.console import Console
        from rich.live import Live
        from rich.progress import BarColumn, Progress, TextColumn

        said = TextColumn("{task.fields[said]}")
        self.console = Console(highlight=False)
        self.progress = Progress(TextColumn("{task.description}"), BarColumn(24), said)
        self.live = Live(console=self.console, auto_refresh=False)
        self.tasks: dict[str, Any] = {}

    def __enter__(self) -> _Bars:
        self.live.start()
        return self

    def __exit__(self, *error: object) -> None:
        self.live.stop()

    def __call__(self, log: RunLog, state: RunState) -> None:
        """Bring the bars up to date."""
        from rich.console import Group
        from rich.text import Text

        for step in state.chain:
            if step.state == "running":
                whole = max((step.ends_at - step.begins_at).total_seconds(), 1.0)
                done = (state.now - step.begins_at).total_seconds()
                left = (step.ends_at - state.now).total_seconds() / 60
                said = step.what_then if step.is_due else f"{left:.0f} min left"
                self._bar("step", min(done, whole), whole, f"{step.name}: {said}")
        if state.f0_min is not None:
            wanted, f0 = log.setup.target_min, state.f0_min
            self._bar(
                "lethality", min(f0.likely, wanted), wanted,
                f"F0 {f0.likely:.1f} of {wanted:g} min ({f0.low:.1f} to {f0.high:.1f})",
            )  # fmt: skip
        caution = Text(state.cautions[0] if state.cautions else "", style="dim")
        shown = Group(Text(headline(state), style="bold"), self.progress, caution)
        self.live.update(shown, refresh=True)

    def bell(self) -> None:
        """Sound."""
        self.console.bell()

    def _bar(self, name: str, done: float, whole: float, said: str) -> None:
        if name not in self.tasks:
            self.tasks[name] = self.progress.add_task(name, said=said)
        self.progress.update(self.tasks[name], completed=done, total=whole, said=said)
