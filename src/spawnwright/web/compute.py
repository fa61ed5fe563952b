"""A process beside the server for what needs the models, so that pages stay small and quick."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures import TimeoutError as TooLong
from concurrent.futures.process import BrokenProcessPool
from importlib import import_module
from threading import Lock
from typing import Any, cast

from spawnwright.errors import SpawnwrightError, Unusable

LONGEST_S = 60.0


Work = Callable[..., Any] | str
"""A function of a module, or "package.module:name" where the server must not import the module."""


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
    """One worker process, started when first asked and started again if it dies."""

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None
        self._lock = Lock()
        self._waiting: dict[str, Future[tuple[bool, Any]]] = {}

    def answer(self, work: Work, *arguments: Any) -> Any:
        """What a function gives, worked out in the worker.

        Function and arguments must be picklable: plain values, records. Name a function that
        needs the models as "spawnwright.actions.colonize:colonize", so that the server itself
        stays without them.
        Raises `Unusable` with the function's own sentence if it refuses.
        """
        try:
            is_good, told = self._submit(work, arguments).result(LONGEST_S)
        except TooLong:
            raise Unusable(
                f"This took more than {LONGEST_S:.0f} s and was given up; try again, or ask for "
                "less."
            ) from None
        except BrokenProcessPool:
            self._drop()
            raise Unusable("The process that does the sums stopped; try again.") from None
        if not is_good:
            raise Unusable(told)
        return told

    def later(self, key: str, work: Work, *arguments: Any) -> None:
        """Have something worked out without waiting; a second call for the same key is dropped.

        The function keeps its own answer, or `taken` gives it.
        """
        with self._lock:
            running = self._waiting.get(key)
        if running is None or running.done():
            future = self._submit(work, arguments)
            with self._lock:
                self._waiting[key] = future

    def taken(self, key: str) -> tuple[bool, Any] | None:
        """The answer (True, value) or (False, sentence) of `later`, once; none while it runs."""
        with self._lock:
            future = self._waiting.get(key)
            if future is None or not future.done():
                return None
            del self._waiting[key]
        try:
            return future.result()
        except BrokenProcessPool:
            self._drop()
            return False, "The process that does the sums stopped; try again."

    def _submit(self, work: Work, arguments: tuple[Any, ...]) -> Future[tuple[bool, Any]]:
        with self._lock:
            if self._pool is None:
                fresh = multiprocessing.get_context("spawn")
                self._pool = ProcessPoolExecutor(1, mp_context=fresh)
            pool = self._pool
        try:
            return pool.submit(_told, work, arguments)
        except (BrokenProcessPool, RuntimeError):
            self._drop()
            raise Unusable("The process that does the sums stopped; try again.") from None

    def _drop(self) -> None:
        with self._lock:
            pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)

    def close(self) -> None:
        """Stop the worker."""
        self._drop()
