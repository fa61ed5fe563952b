"""A small shelf for tests of pages: invented jars, and a forecast that is there at once."""

from __future__ import annotations

import json
from datetime import datetime, timedelta

from spawnwright.actions.book import forecast as book_forecast
from spawnwright.actions.book.jars import Hand, enter, fill_jars, new_id
from spawnwright.records.book.steps import Entry
from spawnwright.store.book.history import current
from tests.web.conftest import NOW

CURVE = {
    "day": [0, 2, 5, 10, 15, 20],
    "low": [0, 0, 5, 30, 60, 100],
    "likely": [0, 5, 30, 80, 100, 100],
    "high": [0, 20, 70, 100, 100, 100],
    "colonized": [8, 14, 19],
    "ready": [11, 17, 24],
    "shake": [4, 5, 10],
    "shake_share": 0.3,
    "widest_cause": "best rate",
    "narrow_it_with": "two dated looks",
    "notes": [],
}
"""An invented answer of the model, in the form in which answers are kept."""


class Idle:
    """In the place of the worker: keeps what is asked and answers nothing."""

    def __init__(self) -> None:
        self.asked: dict[str, tuple] = {}
        self.ready: dict[str, str] = {}

    def later(self, key, function, *arguments):
        self.asked[key] = (function, *arguments)

    def taken(self, key):
        return (True, self.ready.pop(key)) if key in self.ready else None

    def close(self) -> None:
        """Nothing runs."""


def ago(days: float) -> datetime:
    """So many days before the clock of the tests."""
    return NOW - timedelta(days=days)


def hand(days: float = 0.0) -> Hand:
    """Somebody at the bench, so many days ago."""
    return Hand("Ada", "this computer", ago(days))


def record(book, kind, fields, days=0.0):
    """Enter one record; gives its id."""
    made = new_id()
    enter(book, hand(days), f"enter a {kind}"[:200], (Entry(made, kind, fields),), ago(days))
    return made


def change(book, jar, fields, days=0.0):
    """Say something more of a jar."""
    with book.read() as connection:
        seen = tuple(current(connection, [jar])[jar]["seen"].split())
    enter(book, hand(days), "change", (Entry(jar, "jar", fields, seen),), ago(days))


def inoculated(book, jars, days, **source):
    """Inoculate jars so many days ago."""
    entries = tuple(
        Entry(new_id(), "inoculation", {"jar": jar, "at": ago(days)} | source) for jar in jars
    )
    enter(book, hand(days), "inoculate", entries, ago(days))


class ShelfBook:
    """A batch of blue oyster: some jars with culture, one waiting, one control."""

    def __init__(self, desk, count=4, days=10.0):
        self.desk, self.book, self.days = desk, desk.book, days
        desk.compute.close()
        desk.compute = Idle()
        self.strain = record(self.book, "strain", {"name": "O", "species": "blue-oyster"}, 40)
        self.culture = record(
            self.book, "culture", {"name": "LC 1", "form": "syringe", "strain": self.strain}, 30
        )
        self.batch = record(self.book, "batch", {"name": "November", "shelf_c": 24}, days + 3)
        about = {"jar_kind": "quart", "fill": 0.7, "batch": self.batch, "stored_where": "shelf 2"}
        found = fill_jars(self.book, hand(days + 1), count + 2, about, ago(days + 1))
        self.codes = list(found)
        self.jars = list(found.values())
        self.waiting, self.control = self.codes[-2:]
        change(self.book, found[self.control], {"is_control": True}, days)
        inoculated(self.book, self.jars[:count], days, culture=self.culture, dose_ml=2.0)

    def forecast(self, **changed):
        """Keep the invented answer for every question of the shelf."""
        with self.book.read() as connection:
            rows = list(current(connection, self.jars).values())
            asked = book_forecast.questions(connection, rows)
        answer = json.dumps(CURVE | changed)
        for each in asked.values():
            if each.question is not None:
                book_forecast.keep_forecast(self.book, each.question.key, answer, NOW)

    def look(self, which, /, days=0.0, **about):
        """A look at the jar of a place in the list."""
        from spawnwright.actions.book.looks import add_look

        return add_look(self.book, hand(days), self.jars[which], about, ago(days)).record

    def looks(self, place=0):
        """All looks at a jar, in order."""
        from spawnwright.store.book.shelf import story_of

        with self.book.read() as connection:
            return story_of(connection, self.jars[place])["look"]
