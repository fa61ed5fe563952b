"""Which steps of batches are met by what was entered elsewhere, though nobody said "done".

A run that was begun meets the steps at the canner, looks meet the day of looking, inoculations the
inoculating. So nothing is entered twice, and nobody is told to be late with what is done.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from spawnwright.actions.book.batch_deeds import is_at_the_canner
from spawnwright.actions.book.batches import BY_ITSELF, DueTask
from spawnwright.records.book.form import instant_text
from spawnwright.sources import JUDGMENT, Constant

if TYPE_CHECKING:
    from sqlalchemy import Connection

SHAKE_EARLY_D = Constant(5.0, "d", source=JUDGMENT, where="a jar may be shaken before its day")


def met(connection: Connection, tasks: Iterable[DueTask], now: datetime) -> set[str]:
    """The ids of those open tasks that are met.

    Parameters
    ----------
    connection : Connection
        A view of the book.
    tasks : iterable of DueTask
        Of any batches; done and skipped ones are passed over.
    now : datetime
        With an offset: what runs by itself is met once it has begun.
    """
    from spawnwright.store.book import due

    waiting = [each for each in tasks if not each.done_at and not each.skipped_at]
    runs = due.runs_by_batch(connection, _batches(waiting, is_at_the_canner))
    inoculating = _batches(waiting, lambda kind: kind == "inoculate")
    put_in = due.inoculated_by_batch(connection, inoculating)
    wanted = due.to_inoculate(connection, inoculating)
    seen = _seen(connection, [each for each in waiting if each.at < now])
    found = set()
    for task in waiting:
        if is_at_the_canner(task.kind) and task.run:
            is_met = runs.get(task.batch, 0) >= task.run
        elif task.kind == "inoculate":
            is_met = put_in.get(task.batch, 0) >= wanted[task.id]
        elif task.kind in ("look", "shake"):
            is_met = task.id in seen
        else:
            is_met = task.kind in BY_ITSELF and task.at <= now
        if is_met:
            found.add(task.id)
    return found


def _batches(tasks: Iterable[DueTask], is_wanted: Callable[[str], bool]) -> list[str]:
    return sorted({task.batch for task in tasks if is_wanted(task.kind)})


def _seen(connection: Connection, tasks: list[DueTask]) -> set[str]:
    """The ids of those days of looking or shaking whose batch was looked at, or shaken, since."""
    from spawnwright.store.book.due import last_by_batch

    found = set()
    for kind in ("look", "shake"):
        since = {each.id: _counts_from(each) for each in tasks if each.kind == kind}
        batches = sorted({each.batch for each in tasks if each.id in since})
        last = last_by_batch(connection, kind, batches, min(since.values(), default=""))
        found |= {
            each.id
            for each in tasks
            if each.id in since and last.get(each.batch, "") >= since[each.id]
        }
    return found


def _counts_from(task: DueTask) -> str:
    """From when on a look or a shaking meets its step: its day, or some days before."""
    midnight = task.at.replace(hour=0, minute=0, second=0, microsecond=0)
    early = timedelta(days=float(SHAKE_EARLY_D)) if task.kind == "shake" else timedelta(0)
    return instant_text(midnight - early)
