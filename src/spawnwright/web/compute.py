"""A process beside the server for what needs the models, so that pages stay small and quick."""

from __future__ import annotations

import logging
import multiprocessing
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ProcessPoolExecutor
from concurrent.futures import TimeoutError as TooLong
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from importlib import import_module
from queue import Empty, Queue
from threading import Lock, Thread
from typing import Any, cast

from spawnwright.errors import SpawnwrightError, Unusable

LOG = logging.getLogger("spawnwright.serve")
LONGEST_S = 60.0

Work = Callable[..., Any] | str
"""A function of a module, or "package.module:name" where the server must not import the module."""
_Promise = tuple[Future[tuple[bool, Any]], Work, tuple[Any, ...]]


def _told(work: Work, arguments: tuple[Any, ...]) -> tuple[bool, Any]:
    """In the worker: the answer, or the sentence why there is none.

    The errors themselves do not travel between processes, since each is made in its own way.
    """
    try:
        if isinstance(work, str):
            module, _, name = work.partition(":")
            work = cast("Callable[..., Any]", getattr(import_module(module), name))
        return True, work(*arguments)
    except SpawnwrightError as problem:
        return False, str(problem)


class Compute:
    """One worker process, started when first asked and started again if it dies.

    What a page waits for goes first; what only a later page needs is given to the worker one by
    one, so that a running canner never waits behind the forecasts of a whole shelf.
    """

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None
        self._lock = Lock()
        self._waiting: dict[str, Future[tuple[bool, Any]]] = {}
        self._behind: Queue[_Promise | None] = Queue()
        self._thread: Thread | None = None

    def answer(self, work: Work, *arguments: Any) -> Any:
        """What a function gives, worked out in the worker.

        Function and arguments must be picklable: plain values, records. Name a function that
        needs the models as "spawnwright.actions.growing.colonize:colonize", so that the server
        itself stays without them.
        Raises `Unusable` with the function's own sentence if it refuses.
        """
        is_good, told = self._outcome(work, arguments)
        if not is_good:
            raise Unusable(told)
        return told

    def later(self, key: str, work: Work, *arguments: Any) -> None:
        """Have something worked out without waiting; a second call for the same key is dropped.

        `taken` gives the answer.
        """
        with self._lock:
            known = self._waiting.get(key)
            if known is not None and not known.done():
                return
            promised: Future[tuple[bool, Any]] = Future()
            self._waiting[key] = promised
            if self._thread is None:
                self._thread = Thread(target=self._work_behind, name="compute", daemon=True)
                self._thread.start()
        self._behind.put((promised, work, arguments))

    def taken(self, key: str) -> tuple[bool, Any] | None:
        """The answer (True, value) or (False, sentence) of `later`, once; none while it runs."""
        with self._lock:
            future = self._waiting.get(key)
            if future is None or not future.done():
                return None
            del self._waiting[key]
        return future.result()

    def _work_behind(self) -> None:
        while (each := self._behind.get()) is not None:
            promised, work, arguments = each
            try:
                promised.set_result(self._outcome(work, arguments))
            except Exception:
                # A mistake in one forecast must not close the shelf that shows a hundred.
                LOG.exception("what was to be worked out behind a page failed: %s", work)
                promised.set_result((False, "It could not be worked out."))

    def _outcome(self, work: Work, arguments: tuple[Any, ...]) -> tuple[bool, Any]:
        pool = None
        try:
            pool, future = self._submit(work, arguments)
            return future.result(LONGEST_S)
        except TooLong:
            # It would go on, and all that is asked after it would wait as long.
            self._drop(pool, is_stuck=True)
            return False, (
                f"This took more than {LONGEST_S:.0f} s and was given up; try again, or ask for "
                "less."
            )
        except (BrokenProcessPool, CancelledError, OSError):
            self._drop(pool)
            return False, "The process that does the sums stopped; try again."

    def _submit(
        self, work: Work, arguments: tuple[Any, ...]
    ) -> tuple[ProcessPoolExecutor, Future[tuple[bool, Any]]]:
        """Under the lock, so that nobody lets go of the worker in between."""
        with self._lock:
            if self._pool is None:
                fresh = multiprocessing.get_context("spawn")
                self._pool = ProcessPoolExecutor(1, mp_context=fresh)
            return self._pool, self._pool.submit(_told, work, arguments)

    def _drop(self, failed: ProcessPoolExecutor | None = None, *, is_stuck: bool = False) -> None:
        """Let go of the worker, unless another has taken the place of the one that failed."""
        with self._lock:
            if failed is not None and failed is not self._pool:
                return
            pool, self._pool = self._pool, None
        if pool is None:
            return
        workers = list((pool._processes or {}).values()) if is_stuck else []
        pool.shutdown(wait=False, cancel_futures=True)
        for each in workers:
            each.kill()

    def close(self) -> None:
        """Stop the worker; what waits behind is forgotten."""
        with suppress(Empty):
            while True:
                self._behind.get_nowait()
        self._behind.put(None)
        self._drop()
