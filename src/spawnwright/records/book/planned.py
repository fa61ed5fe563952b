"""Kinds of record that come from a plan: the batch that somebody started, and its dated steps."""

from __future__ import annotations

from dataclasses import dataclass

from spawnwright.errors import Unusable
from spawnwright.records.book.form import BookRecord, column


@dataclass(frozen=True, kw_only=True)
class Batch(BookRecord):
    """One batch of spawn, from the plan on; `species` is a key of the catalog.

    `wish` is the text of the wish, `plan` the plan that was made from it, as JSON.
    """

    KIND = "batch"
    TABLE = "batches"

    name: str = column(required=True)
    species: str | None = column()
    strain: str | None = column("reference", of="strain")
    wish: str | None = column("document")
    plan: str | None = column("document")
    planned_at: str | None = column("instant")
    wanted_jars: int | None = column("count", low=0, high=100_000)
    ready_low: str | None = column("day")
    ready_likely: str | None = column("day")
    ready_high: str | None = column("day")
    shelf_c: float | None = column("number", low=-20, high=60)
    started_at: str | None = column("instant")
    ended_on: str | None = column("day")
    note: str | None = column()

    def check(self) -> None:
        """A band of days rises."""
        days = (self.ready_low, self.ready_likely, self.ready_high)
        known = [each for each in days if each is not None]
        if known != sorted(known):
            raise Unusable("The days on which a batch is ready must rise from low to high.")


@dataclass(frozen=True, kw_only=True)
class Task(BookRecord):
    """One dated step of a batch; `key` is the step's key in the plan, the same after a replan.

    `cautions` has one a line; `amounts` is a JSON object of numbers, by name with unit suffix.
    """

    KIND = "task"
    TABLE = "tasks"

    batch: str = column("reference", of="batch", required=True)
    key: str = column(required=True)
    kind: str | None = column()
    at: str = column("instant", required=True)
    until: str = column("instant", required=True)
    title: str = column(required=True)
    detail: str | None = column()
    cautions: str | None = column()
    amounts: str | None = column("document")
    is_attended: bool | None = column("flag")
    run: int | None = column("count", low=0, high=10_000)
    soak: int | None = column("count", low=0, high=10_000)
    done_at: str | None = column("instant")
    skipped_at: str | None = column("instant")
    note: str | None = column()

    def check(self) -> None:
        """It ends after it begins, and is not both done and skipped."""
        if self.until < self.at:
            raise Unusable(f"The task {self.title!r} ends before it begins.")
        if self.done_at is not None and self.skipped_at is not None:
            raise Unusable(f"The task {self.title!r} is either done or skipped, not both.")
