"""What a page of jars asks of the book at once, on both databases."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from random import Random

from spawnwright.records.book.codes import code_of
from spawnwright.records.book.steps import Entry, Step
from spawnwright.store.book import lineage, origins, shelf
from spawnwright.store.book.journal import keep
from spawnwright.store.book.seen import percents_before, seen_of

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


def put(book, name, *entries):
    """Keep entries as a step."""
    keep(book, Step(name, NOW.isoformat(), "Ada", "here", "enter", tuple(entries)), NOW)


def jar(number, **about):
    """A jar of a number."""
    fields = {"code": code_of(number), "jar_kind": "quart", "filled_at": NOW}
    return Entry(f"jar-{number:04d}", "jar", fields | about)


def test_doubt_is_told_as_lineage_tells_it(book):
    """A random tree of 60 jars; `quarantines_over` walks each jar alone and is the oracle."""
    chance = Random(5)
    culture = Entry("culture-0", "culture", {"name": "LC", "form": "syringe"})
    jars = [jar(number) for number in range(60)]
    inoculations = [
        Entry(
            f"inoc-{number:04d}", "inoculation",
            {"jar": f"jar-{number:04d}", "at": NOW}
            | ({"culture": "culture-0"} if number < 4
               else {"from_jar": f"jar-{chance.randrange(number):04d}"}),
        )
        for number in range(60)
    ]  # fmt: skip
    put(book, "step-0001", culture, *jars, *inoculations)
    doubted = ["jar-0003", "jar-0010", "jar-0011"]
    put(book, "step-0002", *(
        Entry(f"quarantine-{each}", "quarantine", {"record": each, "at": NOW, "why": f"w {each}"})
        for each in doubted
    ))  # fmt: skip
    ids = [each.record for each in jars]
    with book.read() as connection:
        found = origins.doubted(connection, ids)
        expected = lineage.quarantines_over(connection, ids)

    assert {each: len(why) for each, why in found.items()} == {
        each: len(over) for each, over in expected.items()
    }
    assert 3 < len(found) < 60


def test_lifted_doubt_is_none(book):
    """And no quarantine, no walk."""
    put(book, "step-0001", jar(0))
    put(book, "step-0002", Entry(
        "quarantine-1", "quarantine",
        {"record": "jar-0000", "at": NOW, "why": "w", "lifted_at": NOW},
    ))  # fmt: skip
    with book.read() as connection:
        assert origins.doubted(connection, ["jar-0000"]) == {}


def test_what_was_seen_of_a_jar_adds_up(book):
    """The last of each kind; white since it was white for good; undone looks count for nothing."""
    told = [
        (5, 20, "as expected"),
        (4, 100, None),
        (3, 90, "green"),
        (2, 100, None),
        (1, None, None),
    ]
    put(book, "step-0001", jar(0), jar(1))
    for number, (days, percent, sign) in enumerate(told):
        about = {"jar": "jar-0000", "at": NOW - timedelta(days=days), "note": "n"}
        if percent is not None:
            about["percent"] = percent
        if sign is not None:
            about["sign"] = sign
        put(book, f"look-step-{number}", Entry(f"look-{number:04d}", "look", about))
    put(
        book,
        "look-step-x",
        Entry("look-0009", "look", {"jar": "jar-0000", "at": NOW, "percent": 1}),
    )
    undo = Step("undo-step", NOW.isoformat(), "Ada", "here", "undo", undoes="look-step-x")
    keep(book, undo, NOW)
    with book.read() as connection:
        found = seen_of(connection, ["jar-0000", "jar-0001"], 99.0)
        before = percents_before(
            connection, {"jar-0000": (NOW - timedelta(days=2.5)).strftime("%Y-%m-%dT%H:%M:%S.%fZ")}
        )

    def day(at):
        return (NOW - datetime.fromisoformat(at)).days

    assert list(found) == ["jar-0000"]
    seen = found["jar-0000"]
    assert (seen.sign, day(seen.sign_at)) == ("green", 3)
    assert (seen.percent, day(seen.percent_at)) == (100, 2)
    assert (day(seen.white_at), day(seen.last_at)) == (2, 1)
    assert before == {"jar-0000": 90}


def test_past_jars_come_in_order_over_all_outcomes(book):
    """Merged from one question for each outcome; paged without loss or repeat."""
    outcomes = ("used", "spoiled", "given away", "discarded")
    put(book, "step-0001", *(
        jar(number, outcome=outcomes[number % 4], outcome_at=NOW) for number in range(20)
    ), jar(20))  # fmt: skip
    met, after = [], None
    with book.read() as connection:
        for _ in range(4):
            page = shelf.past_jars(connection, outcomes, after, 7)
            met += [each["code"] for each in page]
            if page:
                after = (page[-1]["filled_at"], page[-1]["code"])
        spoiled = shelf.past_jars(connection, ["spoiled"], None, 100)

    assert met == sorted((code_of(number) for number in range(20)), reverse=True)
    assert {each["outcome"] for each in spoiled} == {"spoiled"}
    assert len(spoiled) == 5


def test_names_of_batches(book):
    """Batches that go on, by name; jars that were never shaken."""
    put(book, "step-0001",
        Entry("batch-01", "batch", {"name": "Old", "started_at": NOW, "ended_on": "2026-11-01"}),
        Entry("batch-02", "batch", {"name": "New", "started_at": NOW}),
        jar(0, batch="batch-02"))  # fmt: skip
    with book.read() as connection:
        assert [each["name"] for each in origins.batch_names(connection, 9)] == ["New"]
        assert origins.batches_named(connection, ["batch-01"])["batch-01"]["name"] == "Old"
        assert origins.first_shakes(connection, ["jar-0000"]) == {}


def test_answers_hold_until_the_next_step_only(book):
    """A new doubt, a lifted one, a corrected strain: the next question gets the new answer."""
    put(book, "step-0001",
        Entry("strain-1", "strain", {"name": "O", "species": "shiitake"}),
        Entry("culture-1", "culture", {"name": "S", "form": "syringe", "strain": "strain-1"}),
        jar(0),
        Entry("inoc-0000", "inoculation",
              {"jar": "jar-0000", "at": NOW, "culture": "culture-1"}))  # fmt: skip

    def asked():
        with book.read() as connection:
            inoculated = origins.first_inoculations(connection, ["jar-0000"])
            species = origins.species_of_jars(connection, inoculated)
            return species["jar-0000"], origins.doubted(connection, ["jar-0000"])

    first = asked()
    doubt = Entry("quarantine-1", "quarantine", {"record": "strain-1", "at": NOW, "why": "w"})
    corrected = Entry("strain-1", "strain", {"species": "reishi"}, ("step-0001",))
    put(book, "step-0002", corrected, doubt)
    second = asked()
    undo = Step("undo-step", NOW.isoformat(), "Ada", "here", "undo", undoes="step-0002")
    keep(book, undo, NOW)

    assert first == ("shiitake", {})
    assert second == ("reishi", {"jar-0000": ["w"]})
    assert asked() == first
