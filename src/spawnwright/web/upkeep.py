"""What goes on beside the pages while they are served: the daily backup, opening the browser."""

from __future__ import annotations

import logging
import socket
import time
from collections.abc import Callable
from threading import Thread

from spawnwright.actions.book.files import backup_if_due
from spawnwright.errors import SpawnwrightError
from spawnwright.web.desk import Desk

LOG = logging.getLogger("spawnwright.serve")
LOOK_EVERY_S = 900.0
"""How often to see whether today's backup is due, and how large the book has become; one backup is
made a day, after something was kept."""
ANSWERS_WITHIN_S = 15.0


def keep_up(desk: Desk, say: Callable[[str], None]) -> Thread:
    """Make the backup that is due and let the book see its size, now and again, until the end.

    Parameters
    ----------
    desk : Desk
        The open book.
    say : callable
        Takes what the person at the terminal should know; the same trouble is told once.
    """
    thread = Thread(target=_keep_up, args=(desk, say), name="upkeep", daemon=True)
    thread.start()
    return thread


def _keep_up(desk: Desk, say: Callable[[str], None]) -> None:
    told = ""
    while not desk.closing.is_set():
        try:
            desk.book.learn_sizes()
            problem = backup_if_due(desk.book, desk.now()).problem
        except SpawnwrightError as reason:
            problem = str(reason)
        if problem and problem != told:
            LOG.warning("no backup: %s", problem)
            say(f"No backup was made today. {problem}")
        told = problem
        desk.closing.wait(LOOK_EVERY_S)


def open_browser(desk: Desk) -> Thread:
    """Show the first page in this machine's browser, as soon as the server answers."""
    thread = Thread(target=_open_browser, args=(desk,), name="browser", daemon=True)
    thread.start()
    return thread


def _open_browser(desk: Desk) -> None:
    import webbrowser

    until = time.monotonic() + ANSWERS_WITHIN_S
    while time.monotonic() < until and not desk.closing.is_set():
        try:
            socket.create_connection(("127.0.0.1", desk.address.port), 1).close()
        except OSError:
            desk.closing.wait(0.05)
        else:
            webbrowser.open(desk.address.home)
            return
