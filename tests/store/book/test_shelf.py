"""What follows from the records: what is free, what is left, the shelf, the spoiled jar's way."""

from __future__ import annotations

from datetime import timedelta

import pytest

from spawnwright.actions.book.jars import (
    Hand,
    fill_jars,
    load_run,
    next_for_spoiled,
    put_back,
    recall,
    undo,
)
from spawnwright.errors import Contradiction, UnknownName
from spawnwright.records.book.codes import code_of
from spawnwright.store.book import shelf
from spawnwright.store.book.cultures import left_ml
from spawnwright.store.book.history import current, seen_of
from tests.store.book.entering import START, at, change, enter, jar

HAND = Hand("Ada", "laptop", START)


def asked(book, question, *arguments):
    with book.read() as connection:
        return question(connection, *arguments)


def back(book, record, glass="washed", lid="washed"):
    return put_back(book, HAND, record, glass, lid, asked(book, seen_of, record), START)


def quarts(book):
    (stock,) = asked(book, shelf.stock_of_jars)
    return stock.owned, stock.out, stock.binned, stock.free


def left(book, culture):
    return asked(book, lambda found: left_ml(found, [current(found, [culture])[culture]]))[culture]


def bought(book, what, item, change, reason="bought"):
    enter(book, "stock change", changed_on="2026-01-01", what=what, item=item, change=change,
          reason=reason)  # fmt: skip


def test_jars_leave_at_filling_and_return_after_use_and_washing(book):
    """A used jar that is not washed yet is not free, nor is one in the fridge."""
    bought(book, "jar", "quart", 12)
    bought(book, "jar", "quart", -1, "broken")
    bought(book, "lid", "wide", 15)
    jars = fill_jars(book, HAND, 3, {"jar_kind": "quart"}, START)
    assert quarts(book) == (11, 3, 0, 8)

    first, second, _ = jars.values()
    change(book, "jar", first, outcome="used", outcome_at=at(30_000))
    assert quarts(book) == (11, 3, 0, 8)

    back(book, first)
    assert quarts(book) == (11, 2, 0, 9)
    change(book, "jar", second, outcome="discarded", outcome_at=at(30_000))
    back(book, second, "binned", "washed")
    assert quarts(book) == (11, 1, 1, 9)
    lids = asked(book, shelf.stock_of_lids)
    assert (lids.owned, lids.out, lids.binned, lids.free) == (15, 1, 0, 14)


def test_a_jar_in_use_is_not_put_back(book):
    with pytest.raises(Contradiction, match="is still in use"):
        back(book, jar(book))


def test_filling_gives_codes_of_their_own_and_the_same_again_for_the_same_step(book):
    """A lost reply makes no second dozen."""
    jar(book, code=code_of(1))
    hand = Hand("Ada", "phone", START, step="step-of-the-phone")

    jars = fill_jars(book, hand, 12, {"jar_kind": "quart", "fill": 0.7}, START)
    again = fill_jars(book, hand, 12, {"jar_kind": "quart", "fill": 0.7}, START)

    assert len(jars) == 12
    assert again == jars
    assert code_of(1) not in jars
    assert [asked(book, shelf.jar_with_code, code) for code in jars] == list(jars.values())


def test_a_filling_can_be_undone_as_a_whole(book):
    bought(book, "jar", "quart", 12)
    hand = Hand("Ada", "phone", START, step="step-of-the-phone")
    fill_jars(book, hand, 5, {"jar_kind": "quart"}, START)

    undo(book, HAND, "step-of-the-phone", START)

    assert quarts(book) == (12, 0, 0, 12)
    assert asked(book, shelf.active_jars) == []


def test_a_spoiled_jar_goes_its_way_and_no_step_can_be_left_out(book):
    """Shut, away, a run of its own, opened outdoors; only then are jar and lid free."""
    spoiled, good = jar(book), jar(book)
    assert asked(book, next_for_spoiled, spoiled) is None
    change(book, "jar", spoiled, outcome="spoiled", outcome_at=at(9000))

    titles = [asked(book, next_for_spoiled, spoiled).title]
    with pytest.raises(Contradiction, match=r"must stay shut\. First: move it away, shut"):
        back(book, spoiled)
    change(book, "jar", spoiled, moved_away_at=at(9001))

    titles.append(asked(book, next_for_spoiled, spoiled).title)
    usual = enter(book, "sterilizer run", started_at=at(9100), purpose="sterilize")
    own = enter(book, "sterilizer run", started_at=at(9200), purpose="spoiled jars")
    for run, loaded in ((usual, spoiled), (own, good)):
        with pytest.raises(Contradiction, match="go into a run of their own"):
            load_run(book, HAND, run, {loaded: ""}, START)
    load_run(book, HAND, own, {spoiled: "lower 1"}, START)

    titles.append(asked(book, next_for_spoiled, spoiled).title)
    with pytest.raises(Contradiction, match="must stay shut"):
        back(book, spoiled)
    change(book, "sterilizer run", own, off_at=at(9300), opened_at=at(9500))

    titles.append(asked(book, next_for_spoiled, spoiled).title)
    back(book, spoiled, "washed", "binned")
    assert asked(book, next_for_spoiled, spoiled) is None
    assert titles == [
        "Move it away, shut", "Sterilize it shut, in a run of its own",
        "Let the canner cool and open it", "Empty it outdoors",
    ]  # fmt: skip


def test_every_step_of_a_spoiled_jar_says_its_caution(book):
    """Where it matters, not behind a link."""
    record = jar(book)
    change(book, "jar", record, outcome="spoiled", outcome_at=at(9000))

    assert "Do not open it" in asked(book, next_for_spoiled, record).cautions[0]
    change(book, "jar", record, moved_away_at=at(9001))
    assert any("rated pressure" in each for each in asked(book, next_for_spoiled, record).cautions)


def test_what_is_left_of_a_culture_follows_from_the_doses(book):
    """And starts anew from what was measured."""
    syringe = enter(book, "culture", name="a", form="syringe", volume_ml=10)
    unknown = enter(book, "culture", name="b", form="agar")
    for minutes in (1, 2, 3):
        enter(book, "inoculation", jar=jar(book), at=at(minutes), culture=syringe, dose_ml=2)
    assert left(book, syringe) == 4
    assert left(book, unknown) is None

    change(book, "culture", syringe, left_ml=3.5, left_at=at(4))
    assert left(book, syringe) == 3.5
    enter(book, "inoculation", jar=jar(book), at=at(5), culture=syringe, dose_ml=5)
    assert left(book, syringe) == 0


def test_the_shelf_shows_each_jar_with_its_last_look(book):
    """Last filled first, a page at a time; undone looks and finished jars are not on it."""
    jars = [jar(book, filled_at=at(number)) for number in range(5)]
    for minutes, percent in ((10, 5), (20, 30)):
        enter(book, "look", jar=jars[2], at=at(minutes), percent=percent)
    change(book, "jar", jars[4], outcome="used", outcome_at=at(99))

    page = asked(book, shelf.active_jars, None, 3)
    assert [row["id"] for row in page] == [jars[3], jars[2], jars[1]]
    assert [row["look"] and row["look"]["percent"] for row in page] == [None, 30, None]
    rest = asked(book, shelf.active_jars, (page[-1]["filled_at"], page[-1]["code"]), 3)
    assert [row["id"] for row in rest] == [jars[0]]


def test_paging_shows_every_jar_once_also_of_one_filling(book):
    """Jars filled in one go have one time."""
    jars = fill_jars(book, HAND, 10, {"jar_kind": "quart"}, START)
    shown, after = [], None
    while page := asked(book, shelf.active_jars, after, 3):
        shown += [row["code"] for row in page]
        after = (page[-1]["filled_at"], page[-1]["code"])

    assert sorted(shown) == sorted(jars)


def test_a_jars_story_is_in_the_order_of_time(book):
    record = jar(book)
    for minutes in (30, 10, 20):
        enter(book, "look", jar=record, at=at(minutes), percent=minutes)

    story = asked(book, shelf.story_of, record)

    assert [look["percent"] for look in story["look"]] == [10, 20, 30]


def test_a_code_that_no_jar_has_is_answered_with_the_nearest(book):
    jar(book, code=code_of(5))
    near = next(code_of(n) for n in range(6, 900) if code_of(n)[:2] == code_of(5)[:2])

    with pytest.raises(UnknownName, match=f"Did you mean {code_of(5)}"):
        asked(book, shelf.jar_with_code, near)


def test_a_mock_recall_names_everything_that_came_from_a_lot(book):
    """From a sack of grain to the harvest, and which jars are still here."""
    lot = enter(book, "lot", name="sack", what="grain")
    batch = enter(book, "grain batch", made_at=at(), grain="rye", lot=lot)
    first, second = jar(book, grain_batch=batch), jar(book)
    enter(book, "inoculation", jar=second, at=at(5), from_jar=first)
    block = enter(book, "block", name="b", container="block", made_at=at(9))
    enter(book, "use", jar=second, block=block, at=at(9))
    enter(book, "harvest", block=block, at=at(99), mass_kg=0.5)
    change(book, "jar", first, outcome="given away", outcome_at=at(50))
    jar(book)

    found = asked(book, recall, lot)

    assert found.kind == "lot"
    assert found.counts == {"block": 1, "grain batch": 1, "harvest": 1, "jar": 2}
    assert found.jars == 2
    assert len(found.still_here) == 1


def test_the_same_answers_later(book):
    """Time of receipt and of the device differ; what follows from them does not."""
    hand = Hand("Ada", "phone", START - timedelta(days=2))
    fill_jars(book, hand, 1, {"jar_kind": "quart"}, START)

    assert asked(book, shelf.active_jars)[0]["filled_at"] == "2026-01-08T18:00:00.000000Z"


def test_a_jar_is_found_by_the_index_of_codes_once_the_sizes_are_seen(file_book):
    """Otherwise SQLite may go through all jars that are not undone: 37 ms with 100,000 of them."""
    fill_jars(file_book, HAND, 200, {"jar_kind": "quart"}, START)
    file_book.learn_sizes()

    with file_book.read() as connection:
        plan = connection.exec_driver_sql(
            "EXPLAIN QUERY PLAN SELECT id FROM jars WHERE code = 'x' AND undone = 0 "
            "ORDER BY filled_at DESC"
        ).all()
    assert "ix_jars_code" in plan[0][3]
