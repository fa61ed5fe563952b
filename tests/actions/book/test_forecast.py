"""Forecasts of jars in the book: what is asked, how answers are read, what a look comes to."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from spawnwright.actions.book import forecast as book_forecast
from spawnwright.actions.book import standing as book_standing
from spawnwright.actions.book.forecast import Asked, JarForecast, Question
from spawnwright.actions.book.jars import Hand, enter
from spawnwright.actions.catalogs import look_up
from spawnwright.actions.growing.colonize import ColonizeQuestion, colonize
from spawnwright.records.book.steps import Entry
from spawnwright.records.fill import Fill
from spawnwright.store.book.engine import open_book
from spawnwright.store.book.history import current
from spawnwright.store.book.seen import Seen

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
QUART = Question("blue-oyster", "quart", 0.7, "rye", 24.0, "spread", 2.0)


@pytest.fixture
def book(tmp_path, monkeypatch):
    """An empty book, for a grower without files of their own."""
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))
    with open_book(tmp_path / "book.db") as opened:
        yield opened


def put(book, *entries):
    """Enter records as one step."""
    enter(book, Hand("Ada", "here", NOW), "enter", tuple(entries), NOW)


def jar(number, **about):
    """A jar; codes are those of the first numbers."""
    from spawnwright.records.book.codes import code_of

    fields = {"code": code_of(number), "jar_kind": "quart", "filled_at": NOW, "fill": 0.7}
    return Entry(f"jar-{number:04d}", "jar", fields | about)


def inoculation(number, **source):
    """What was brought into the jar of a number."""
    fields = {"jar": f"jar-{number:04d}", "at": NOW - timedelta(days=5)}
    return Entry(f"inoc-{number:04d}", "inoculation", fields | source)


STRAIN = Entry("strain-1", "strain", {"name": "O", "species": "blue-oyster"})
MOTHER = Entry("culture-1", "culture", {"name": "M", "form": "agar", "strain": "strain-1"})
SYRINGE = Entry("culture-2", "culture", {"name": "S", "form": "syringe", "parent": "culture-1"})


def asked_of(book, *numbers):
    """The questions for some jars, in their order."""
    ids = [f"jar-{number:04d}" for number in numbers]
    with book.read() as connection:
        rows = current(connection, ids)
        found = book_forecast.questions(connection, [rows[each] for each in ids])
    return [found[each] for each in ids]


def test_an_answer_is_that_of_the_model():
    """The same question asked of `colonize` itself."""
    told = json.loads(book_forecast.work_out(QUART))
    direct = colonize(
        ColonizeQuestion(
            look_up("species", "blue-oyster"), look_up("jars", "quart"), Fill("share", 0.7),
            look_up("grains", "rye"), 24.0, dose_m3=2e-6,
        )
    )  # fmt: skip

    assert told["ready"] == [direct.ready_day.low, direct.ready_day.likely, direct.ready_day.high]
    assert told["likely"] == list(direct.curve.percent_likely)


def test_grain_to_grain_starts_from_the_kernels_put_in():
    """Ten times the spawn reaches the last corner sooner, in about the cube root of the time.

    The model's own law: distance goes with the number of starting points to the power of -1/3; a
    lag and a standstill do not shrink.
    """
    few, many = (
        json.loads(
            book_forecast.work_out(
                replace(QUART, way="through", dose_ml=None, grain_dose_kg=kilograms)
            )
        )["colonized"][1]
        for kilograms in (0.02, 0.2)
    )

    lag = 2.0
    assert 1.5 < (few - lag) / (many - lag) < 3.0


def test_what_the_model_refuses_is_an_answer():
    """So that it is asked once."""
    told = json.loads(book_forecast.work_out(replace(QUART, species="nonesuch")))

    assert "no species" in told["problem"]


def test_jars_that_are_alike_share_one_question(book):
    """A few grams or a tenth of a degree make no forecast of their own; a degree does."""
    put(book, STRAIN, MOTHER, SYRINGE)
    put(book, jar(0, shelf_c=24.0), jar(1, shelf_c=24.1, fill=0.705), jar(2, shelf_c=25.0))
    put(book, *(inoculation(number, culture="culture-2", dose_ml=2.0) for number in range(3)))
    first, second, third = (each.question.key for each in asked_of(book, 0, 1, 2))

    assert first == second
    assert first != third


@pytest.mark.parametrize("name", ["species", "jar_kind", "grain", "way", "own"])
def test_every_part_of_a_question_is_in_its_key(name):
    """Else one answer would stand for another question."""
    assert replace(QUART, **{name: "other"}).key != QUART.key


@pytest.mark.parametrize("name", ["fill", "shelf_c", "dose_ml", "grain_dose_kg", "shake_at"])
def test_every_number_of_a_question_is_in_its_key(name):
    """As above."""
    assert replace(QUART, **{name: 0.05}).key != QUART.key


def test_own_catalogs_ask_anew(book, tmp_path):
    """A grower's own rate changes the answer, so it changes the key."""
    put(book, STRAIN, MOTHER, SYRINGE)
    put(book, jar(0, shelf_c=24.0))
    put(book, inoculation(0, culture="culture-2"))
    (before,) = asked_of(book, 0)
    (tmp_path / "species.toml").write_text('[blue-oyster]\nlike = "blue-oyster"\n')
    (after,) = asked_of(book, 0)

    assert before.question.key != after.question.key


def test_the_species_is_found_through_jars_and_cultures(book):
    """From a jar through another, its syringe and that one's mother to the strain."""
    put(book, STRAIN, MOTHER, SYRINGE)
    put(book, jar(0, shelf_c=24), jar(1, shelf_c=24), jar(2, shelf_c=24))
    put(book, inoculation(0, culture="culture-2"))
    put(book, inoculation(1, from_jar="jar-0000", dose_g=50))
    put(book, Entry("culture-3", "culture",
                    {"name": "C", "form": "liquid culture", "from_jar": "jar-0001"}))  # fmt: skip
    put(book, inoculation(2, culture="culture-3"))
    found = asked_of(book, 0, 1, 2)

    assert [each.species for each in found] == ["blue-oyster"] * 3
    assert [each.way for each in found] == ["spread", "through", "spread"]
    assert found[1].question.grain_dose_kg == 0.05


def test_a_batch_stands_in_for_what_a_jar_lacks(book):
    """Species and shelf of the batch, where culture and jar do not say them."""
    put(book, Entry("batch-01", "batch", {"name": "B", "species": "shiitake", "shelf_c": 21}))
    put(book, Entry("culture-9", "culture", {"name": "?", "form": "syringe"}))
    put(book, jar(0, batch="batch-01"), jar(1))
    put(book, inoculation(0, culture="culture-9"), inoculation(1, culture="culture-9"))
    with_batch, without = asked_of(book, 0, 1)

    assert (with_batch.question.species, with_batch.question.shelf_c) == ("shiitake", 21)
    assert without.question is None
    assert "which species" in without.why_not


def test_what_is_lacking_is_named(book):
    """Each reason in its own words."""
    put(book, STRAIN, MOTHER, SYRINGE)
    put(book, jar(0), jar(1, is_control=True), jar(2))
    put(book, inoculation(2, culture="culture-2"))
    empty, control, unplaced = asked_of(book, 0, 1, 2)

    assert empty.why_not == "Nothing was put into it yet."
    assert control.why_not == "A control: nothing should grow in it."
    assert unplaced.why_not == "The temperature of its shelf is not in the book."


FORECAST = JarForecast(day=(0, 10, 20), low=(0, 20, 60), likely=(0, 50, 100), high=(0, 80, 100))


@pytest.mark.parametrize(
    ("day", "percent"),
    [(-1, None), (0, (0, 0, 0)), (5, (10, 25, 40)), (10, (20, 50, 80)), (99, (60, 100, 100))],
)
def test_a_curve_is_read_between_its_days(day, percent):
    """Straight lines between them; the last value after the end, nothing before the beginning."""
    assert FORECAST.percent_on(day) == percent


def test_an_answer_of_other_models_counts_for_nothing(book, monkeypatch):
    """After a change of the models every forecast is worked out anew."""
    book_forecast.keep_forecast(book, "key-1", json.dumps({"day": [0]}), NOW)
    with book.read() as connection:
        there = book_forecast.kept_forecasts(connection, ["key-1"])
        monkeypatch.setattr(book_forecast, "MODEL", "another")
        gone = book_forecast.kept_forecasts(connection, ["key-1"])

    assert list(there) == ["key-1"]
    assert gone == {}


@pytest.mark.parametrize(
    ("percent", "verdict"),
    [(9, "behind"), (11, "as forecast"), (50, "as forecast"), (89, "as forecast"), (91, "ahead")],
)
def test_a_look_is_judged_by_the_day_it_was_made(percent, verdict):
    """20 to 80 % on day 10, an eye 10 points off; the look is of day 10, today is day 15."""
    at = (NOW - timedelta(days=5)).isoformat()
    asked = Asked(QUART, "", "blue-oyster", (NOW - timedelta(days=15)).isoformat(), "spread",
                  False, None)  # fmt: skip
    seen = Seen(at, percent=percent, percent_at=at)

    assert book_standing.compare(asked, FORECAST, seen) == verdict


def test_without_a_share_or_a_forecast_it_cannot_be_told():
    """No verdict is better than a made-up one."""
    at = NOW.isoformat()
    asked = Asked(QUART, "", None, at, "spread", False, None)

    assert book_standing.compare(asked, None, Seen(at, percent=5, percent_at=at)) is None
    assert book_standing.compare(asked, FORECAST, Seen(at, sign="white", sign_at=at)) is None
    assert book_standing.compare(asked, FORECAST, None) is None
