"""The history: nothing is overwritten, everything arrives once, every step can be undone."""

from __future__ import annotations

import sqlite3
import threading
from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import func, select, text

from spawnwright.errors import Contradiction, UnknownName, Unusable
from spawnwright.records.book.steps import Entry, Step
from spawnwright.store.book import history, tables
from spawnwright.store.book.engine import open_book
from spawnwright.store.book.journal import keep
from tests.store.book.entering import START, at, change, enter, fresh, jar, step


def row(book, record):
    with book.read() as connection:
        return history.current(connection, [record])[record]


def said(book, record):
    with book.read() as connection:
        return history.history_of(connection, record)


def undo(book, target, **more):
    return keep(book, step(title="undo", undoes=target, **more), START)


def counted(book):
    with book.read() as connection:
        return [
            connection.execute(select(func.count()).select_from(table)).scalar()
            for table in (tables.STEPS, tables.ENTRIES, tables.RECORDS)
        ]


def test_a_correction_is_a_new_entry_with_who_when_and_where(book):
    """The old value stays in the history, with both times of both steps."""
    first = jar(book, grain_kg=0.6)
    late = START + timedelta(hours=3)
    correction = Step(
        fresh("step"), at(30), "Grace", "phone", "correct",
        (Entry(first, "jar", {"grain_kg": 0.66}, (said(book, first)[0].id,)),),
    )  # fmt: skip

    kept = keep(book, correction, late)

    assert row(book, first)["grain_kg"] == 0.66
    before, after = said(book, first)
    assert before.entries[0].fields["grain_kg"] == 0.6
    assert after.entries[0].fields == {"grain_kg": 0.66}
    assert (after.who, after.device, after.title) == ("Grace", "phone", "correct")
    assert after.at == "2026-01-10T18:30:00.000000Z"
    assert after.received == kept.received == "2026-01-10T21:00:00.000000Z"


def test_a_step_that_arrives_twice_is_kept_once(book):
    """The reply was lost, the phone sends again: one entry, and the same answer."""
    entry = Entry(fresh("strain"), "strain", {"name": "blue", "species": "blue oyster"})
    sent = step(entry)

    first = keep(book, sent, START)
    again = keep(book, sent, START + timedelta(hours=1))

    assert (first.was_there, again.was_there) == (False, True)
    assert again.received == first.received
    assert counted(book) == [1, 1, 1]


def test_an_id_that_was_used_for_something_else_is_refused(book):
    """Two devices that made the same id: the second entry is not taken for the first."""
    sent = step(Entry(fresh("strain"), "strain", {"name": "blue", "species": "blue oyster"}))
    keep(book, sent, START)

    other = replace(sent, entries=(replace(sent.entries[0], record=fresh("strain")),))
    with pytest.raises(Contradiction, match="was used for another step"):
        keep(book, other, START)

    assert counted(book) == [1, 1, 1]


def test_two_devices_that_edit_the_same_thing_both_keep_their_entry(book):
    """Both values stand, each with its step, until somebody who saw both settles it."""
    record = jar(book)
    seen = (said(book, record)[0].id,)
    by_one = change(book, "jar", record, "phone 1", seen, stored_where="shelf A")
    by_two = change(book, "jar", record, "phone 2", seen, stored_where="shelf B", grain_kg=0.7)

    assert by_one.disputed == ()
    assert by_two.disputed == (record,)
    with book.read() as connection:
        (found,) = history.disputes(connection)
    shelves = [(by_one.step, "shelf A"), (by_two.step, "shelf B")]
    assert found == ("jar", record, {"stored_where": shelves})

    settled = change(book, "jar", record, "laptop", stored_where="shelf A")

    assert settled.disputed == ()
    assert row(book, record)["stored_where"] == "shelf A"
    assert row(book, record)["grain_kg"] == 0.7
    assert len(said(book, record)) == 4


def test_two_devices_that_say_the_same_or_of_different_fields_do_not_disagree(book):
    """Only different values for one field are a dispute."""
    record = jar(book)
    seen = (said(book, record)[0].id,)
    change(book, "jar", record, "phone 1", seen, stored_where="shelf A")
    same = change(book, "jar", record, "phone 2", seen, stored_where="shelf A")
    other = change(book, "jar", record, "phone 3", seen, grain_kg=0.7)

    assert same.disputed == other.disputed == ()


def test_an_entry_about_a_record_says_what_its_writer_had_seen(book):
    """Without it, an edit could silently replace what somebody else had just entered."""
    record = jar(book)
    blind = step(Entry(record, "jar", {"note": "x"}))
    made_up = step(Entry(record, "jar", {"note": "x"}, ("step-of-nobody",)))

    with pytest.raises(Contradiction, match="which steps its writer had seen"):
        keep(book, blind, START)
    with pytest.raises(Unusable, match="No step 'step-of-nobody'"):
        keep(book, made_up, START)


def test_undo_is_a_step_and_can_be_undone(book):
    """A correction is taken back, then brought back; the history holds all four steps."""
    record = jar(book, grain_kg=0.6)
    correction = change(book, "jar", record, grain_kg=0.66)

    undoing = undo(book, correction.step)
    assert row(book, record)["grain_kg"] == 0.6

    undo(book, undoing.step)
    assert row(book, record)["grain_kg"] == 0.66
    assert [each.title for each in said(book, record)] == ["a step", "a step", "undo", "undo"]


def test_undoing_the_making_of_a_record_takes_it_off_the_shelf_but_not_out_of_the_book(book):
    """It is still there, marked, with its history; nothing new can rest on it."""
    record = jar(book)
    (made,) = said(book, record)

    undo(book, made.id)

    assert row(book, record)["undone"] is True
    assert len(said(book, record)) == 2
    with pytest.raises(Contradiction, match="was undone; nothing can rest on it"):
        enter(book, "look", jar=record, at=at(), percent=5)


def test_a_step_that_others_rest_on_is_not_undone(book):
    """First the look, then the filling; then the filling can be undone."""
    record = jar(book)
    (made,) = said(book, record)
    look = enter(book, "look", jar=record, at=at(), percent=5)

    with pytest.raises(Contradiction, match=f"such as what was said of the look {look}"):
        undo(book, made.id)

    undo(book, said(book, look)[0].id)
    undo(book, made.id)
    assert row(book, record)["undone"] is True


def test_a_step_whose_record_was_changed_since_is_not_undone(book):
    """The change would be of nothing."""
    record = jar(book)
    (made,) = said(book, record)
    change(book, "jar", record, grain_kg=0.7)

    with pytest.raises(Contradiction, match="later steps rest on it"):
        undo(book, made.id)


def test_undoing_what_is_undone_or_unknown_is_refused(book):
    record = jar(book)
    (made,) = said(book, record)
    undo(book, made.id)

    with pytest.raises(Contradiction, match="is undone already"):
        undo(book, made.id)
    with pytest.raises(UnknownName, match="no step called"):
        undo(book, "no-such-step")


def test_a_round_is_one_step_and_undone_as_one(book):
    """Forty jars looked at: one step in, one step back."""
    jars = [jar(book) for _ in range(40)]
    entries = [
        Entry(fresh("look"), "look", {"jar": each, "at": at(60), "sign": "as expected"})
        for each in jars
    ]
    kept = keep(book, step(*entries, title="round"), START)
    undo(book, kept.step)

    assert all(row(book, each.record)["undone"] for each in entries)


def test_steps_are_received_in_order_whatever_the_clock_says(book):
    """A clock that was set back does not put a new entry before an old one."""
    times = [
        keep(book, step(Entry(fresh("strain"), "strain", {"name": "a", "species": "b"})), now)
        for now in (START, START - timedelta(days=3), START)
    ]

    received = [each.received for each in times]
    assert received == sorted(set(received))


REFUSED = [
    ("jar", {"code": "2222", "jar_kind": "quart"}, "needs filled_at"),
    ("jar", {"code": "2223", "jar_kind": "quart", "filled_at": at()}, "no code of a jar"),
    ("strain", {"name": "a", "species": "b", "coluor": "x"}, "has no 'coluor'"),
    ("strain", {"name": "a\x00b", "species": "b"}, "control character"),
    ("strain", {"name": "  ", "species": "b"}, "is empty"),
    ("strain", {"name": 5, "species": "b"}, "is no text"),
    ("strain", {"name": "x" * 4001, "species": "b"}, "up to 4000 are kept"),
    ("grain batch", {"made_at": at(), "grain": "rye", "dry_kg": -1}, "it can be 0 to 10000"),
    ("grain batch", {"made_at": at(), "grain": "rye", "dry_kg": True}, "is no number"),
    ("grain batch", {"made_at": at(), "grain": "rye", "dry_kg": float("nan")}, "is no number"),
    ("grain batch", {"made_at": "2026-01-10T18:00:00", "grain": "rye"}, "without an offset"),
    ("grain batch", {"made_at": "yesterday", "grain": "rye"}, "write it as"),
    ("grain batch", {"made_at": at(), "grain": "rye", "texture": "mushy"}, "it can be pours"),
    ("culture", {"name": "c", "form": "agar", "strain": "no-such-strain"}, "no strain called"),
    ("culture", {"name": "c", "form": "agar", "left_ml": 3}, "go together"),
    ("lot", {"name": "sack", "what": "grain", "bought_on": "10.1.2026"}, "write it as 2026-11-25"),
    ("puffball", {"name": "sack"}, "no kind of record called"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "fields", "says"), REFUSED, ids=lambda value: str(value)[:30])
def test_what_cannot_be_kept_is_refused_whole(book, kind, fields, says):
    """One clear sentence, and nothing of the step is in the book."""
    good = Entry(fresh("strain"), "strain", {"name": "a", "species": "b"})

    with pytest.raises(Unusable, match=says) as refusal:
        keep(book, step(good, Entry(fresh("bad"), kind, fields)), START)

    assert len(str(refusal.value)) < 600
    assert counted(book) == [0, 0, 0]


def test_a_link_to_a_record_of_the_wrong_kind_is_refused(book):
    strain = enter(book, "strain", name="a", species="b")

    with pytest.raises(Contradiction, match=r"leads to a jar; .* is a strain"):
        enter(book, "look", jar=strain, at=at(), percent=3)


def test_history_cannot_be_altered_through_a_reader(file_book):
    """Pages read through an engine that the database itself keeps from writing."""
    with (
        pytest.raises(Exception, match=r"readonly|read-only"),
        file_book.read() as connection,
    ):
        connection.execute(text("DELETE FROM entries"))


def test_the_file_is_set_up_to_outlive_a_power_cut(file_book):
    """Write-ahead log, full sync, foreign keys, no trust in the schema."""
    with file_book.write() as connection:
        found = {
            name: connection.execute(text(f"PRAGMA {name}")).scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "trusted_schema")
        }

    assert found == {
        "journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "trusted_schema": 0,
    }  # fmt: skip


def test_writers_in_many_threads_do_not_lose_each_other(book):
    """Read then write, six at a time: with a deferred transaction most of these would fail."""
    failures = []

    def write(who: str) -> None:
        try:
            for _ in range(10):
                enter(book, "strain", name=who, species="b")
        except Exception as problem:
            failures.append(problem)

    threads = [threading.Thread(target=write, args=(f"writer {n}",)) for n in range(6)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()

    assert not failures
    assert counted(book) == [60, 60, 60]


def test_what_follows_from_the_history_can_be_made_again(book):
    """The rows of the kinds are nothing but the entries added up."""
    from spawnwright.store.book.refold import refold

    record = jar(book, grain_kg=0.6)
    change(book, "jar", record, grain_kg=0.66, note="weighed again")
    before = row(book, record)
    with book.write() as connection:
        connection.execute(tables.JARS.update().values(note="tampered"))
        refold(connection, [record])

    assert row(book, record) == before


def test_a_book_that_is_open_elsewhere_is_still_the_same_book(folder):
    """Two processes of this program may hold it; an entry of one is seen by the other."""
    with open_book(folder / "b.db") as one, open_book(folder / "b.db") as other:
        record = jar(one)
        assert row(other, record)["id"] == record


def test_any_other_program_can_read_it(file_book):
    """One file, open to every SQLite tool, with the kinds as plain tables."""
    jar(file_book, grain_kg=0.6)
    with sqlite3.connect(file_book.path) as other:
        rows = other.execute("SELECT jar_kind, grain_kg FROM jars WHERE NOT undone").fetchall()
    other.close()

    assert rows == [("quart", 0.6)]
