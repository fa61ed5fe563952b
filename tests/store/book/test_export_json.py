"""Out and in again: the same book; into another: both, and nothing twice."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from sqlalchemy import select

from spawnwright.errors import BadFile
from spawnwright.records.book.kinds import KINDS
from spawnwright.records.book.steps import Entry
from spawnwright.store.book import doctor, history, tables
from spawnwright.store.book.engine import open_book
from spawnwright.store.book.export_json import lines
from spawnwright.store.book.forecasts import put_forecast
from spawnwright.store.book.import_json import merge, preview
from spawnwright.store.book.journal import keep
from spawnwright.store.book.pictures import Picture
from tests.store.book.entering import START, at, change, enter, fresh, jar, step


def export(book, path):
    with book.read() as connection:
        path.write_text("".join(lines(connection)), encoding="utf-8")
    return path


def photo(book, record: str, look: str | None = None, data: bytes = b"a picture") -> str:
    """Enter a photo with its picture."""
    picture = Picture("image/jpeg", data)
    made = fresh("photo")
    fields = {"jar": record, "look": look, "taken_at": at(), "content": picture.content}
    keep(book, step(Entry(made, "photo", fields)), START, [picture])
    return made


def everything(book):
    """All rows of all tables, in the order of their keys; numbers of links by their records."""
    with book.read() as connection:
        return {
            table.name: sorted(map(repr, connection.execute(select(table)).all()))
            for table in tables.METADATA.sorted_tables
        }


def fill(book) -> dict[str, str]:
    """A record of every kind, a correction, a dispute and an undo."""
    made = {"lot": enter(book, "lot", name="sack", what="grain", bought_on="2026-01-02")}
    made["strain"] = enter(book, "strain", name='b"l,u\ne', species="blue oyster", note="=1+1")
    made["batch"] = enter(
        book, "batch", name="March", strain=made["strain"], wish='jars = 12\n', plan="{}",
        ready_low="2026-03-01", ready_high="2026-03-09",
    )  # fmt: skip
    made["task"] = enter(
        book, "task", batch=made["batch"], key="soak-1", at=at(), until=at(60), title="soak",
        cautions="hot\nwet", amounts='{"dry_grain_kg":2.5}', is_attended=False, soak=1,
    )  # fmt: skip
    made["culture"] = enter(
        book, "culture", name="LC 1", form="syringe", strain=made["strain"], volume_ml=30.1
    )
    made["grain batch"] = enter(book, "grain batch", made_at=at(), grain="rye", lot=made["lot"])
    made["lid batch"] = enter(book, "lid batch", name="blue lids", lids=12)
    made["sterilizer run"] = enter(book, "sterilizer run", started_at=at(), purpose="sterilize")
    run = made["sterilizer run"]
    made["jar"] = jar(
        book,
        grain_batch=made["grain batch"],
        lid_batch=made["lid batch"],
        is_control=False,
        batch=made["batch"],
        shelf_c=21.5,
    )
    made["load"] = enter(book, "load", run=run, jar=made["jar"], position="lower 3")
    made["event"] = enter(book, "event", run=run, at=at(15), what="vent closed", gauge_pa=0)
    made["trace"] = enter(
        book, "trace", run=run, probe="core", began_at=at(),
        time_s=[0, 60.5], temperature_c=[20, 21.25],
    )  # fmt: skip
    made["inoculation"] = enter(
        book, "inoculation", jar=made["jar"], at=at(200), culture=made["culture"], dose_ml=2
    )
    made["look"] = enter(book, "look", jar=made["jar"], at=at(9000), percent=30, sign="white")
    made["photo"] = photo(book, made["jar"], made["look"])
    made["shake"] = enter(book, "shake", jar=made["jar"], at=at(9001))
    made["block"] = enter(book, "block", name="b1", container="bucket", made_at=at(20000))
    made["use"] = enter(book, "use", jar=made["jar"], block=made["block"], at=at(20000))
    made["harvest"] = enter(book, "harvest", block=made["block"], at=at(50000), mass_kg=0.8)
    made["cost"] = enter(
        book, "cost", spent_on="2026-01-02", what="rye", amount=12.5, unit="EUR", record=made["lot"]
    )
    made["stock change"] = enter(
        book, "stock change", changed_on="2026-01-01", what="jar", item="quart", change=12,
        reason="bought",
    )  # fmt: skip
    made["quarantine"] = enter(book, "quarantine", record=made["culture"], at=at(), why="cloudy")
    with book.read() as connection:
        seen = history.seen_of(connection, made["jar"])
    change(book, "jar", made["jar"], "phone 1", seen, stored_where="A")
    change(book, "jar", made["jar"], "phone 2", seen, stored_where="B")
    gone = enter(book, "strain", name="mistake", species="b")
    with book.read() as connection:
        (wrong,) = history.history_of(connection, gone)
    keep(book, step(title="undo", undoes=wrong.id), START)
    return made


def test_an_export_imported_into_an_empty_book_gives_an_identical_one(book, folder):
    """Every kind of record, a correction, a dispute, an undo: every table, and the next export."""
    made = fill(book)
    assert set(made) == set(KINDS)
    sent = export(book, folder / "out.json")

    with open_book(folder / "other.db") as other:
        done = merge(other, sent)

        assert done.problems == []
        assert done.new_steps == done.steps == 26
        assert everything(other) == everything(book)
        assert export(other, folder / "again.json").read_bytes() == sent.read_bytes()
    assert not [e for e in doctor.examine(folder / "other.db", START) if e.is_problem]


def test_a_file_goes_to_postgresql_and_back(file_book, folder, database):
    """The shared book's backup is the export."""
    from sqlalchemy import text

    fill(file_book)
    sent = export(file_book, folder / "out.json")
    with open_book(database) as other:
        with other.write() as connection:
            names = ", ".join(f'"{table.name}"' for table in tables.METADATA.sorted_tables)
            connection.execute(text(f"TRUNCATE {names} RESTART IDENTITY"))
        merge(other, sent)
        assert everything(other) == everything(file_book)
        jar(other)


def test_two_books_merge_by_id_whichever_comes_first(folder):
    """Both went on from one copy; the union is the same both ways, and disputes are seen."""
    one, two = open_book(folder / "one.db"), open_book(folder / "two.db")
    record = jar(one)
    merge(two, export(one, folder / "start.json"))
    change(one, "jar", record, "kitchen", stored_where="A")
    change(two, "jar", record, "shed", stored_where="B")
    jar(one)
    jar(two)
    from_one, from_two = export(one, folder / "1.json"), export(two, folder / "2.json")

    shown = preview(one, from_two)
    assert (shown.steps, shown.new_steps, dict(shown.records)) == (3, 2, {"jar": 1})
    merge(one, from_two)
    merge(two, from_one)

    assert (
        export(one, folder / "1.json").read_bytes() == export(two, folder / "2.json").read_bytes()
    )
    with one.read() as connection, two.read() as other:
        assert len(history.disputes(connection)) == 1
        assert history.disputes(connection) == history.disputes(other)
    assert merge(one, from_two).new_steps == 0
    one.close()
    two.close()


def test_a_later_undo_from_another_book_undoes_here(folder):
    """The other book took a look back; merging takes it back here too."""
    one, two = open_book(folder / "one.db"), open_book(folder / "two.db")
    look = enter(one, "look", jar=jar(one), at=at(), percent=5)
    merge(two, export(one, folder / "start.json"))
    with two.read() as connection:
        (said,) = history.history_of(connection, look)
    keep(two, step(title="undo", undoes=said.id), START + timedelta(days=1))

    merge(one, export(two, folder / "2.json"))

    with one.read() as connection:
        assert history.current(connection, [look])[look]["undone"] is True
    one.close()
    two.close()


def test_a_step_that_says_something_else_under_the_same_id_stops_the_import(file_book, folder):
    """Neither book is believed; nothing is taken."""
    jar(file_book)
    sent = export(file_book, folder / "out.json")
    whole = json.loads(sent.read_text())
    whole["steps"][0]["entries"][0]["fields"]["note"] = "forged"
    whole["steps"].append(whole["steps"][0] | {"id": "another-step", "entries": []})
    sent.write_text(json.dumps(whole))
    before = everything(file_book)

    done = merge(file_book, sent)

    assert done.problems == ["1 steps have the id of a step in the book and say something else."]
    assert everything(file_book) == before


def test_the_same_export_in_another_layout_is_taken(file_book, folder):
    """Somebody may have opened and saved it."""
    fill(file_book)
    sent = export(file_book, folder / "out.json")
    sent.write_text(json.dumps(json.loads(sent.read_text()), indent=4))

    with open_book(folder / "other.db") as other:
        merge(other, sent)
        assert everything(other) == everything(file_book)


def broken(change_it):
    """An edit of the exported object."""

    def edit(text: str) -> str:
        whole = json.loads(text)
        change_it(whole)
        return json.dumps(whole)

    return edit


def of_first(name, value):
    return broken(lambda whole: whole["steps"][0].update({name: value}))


NOTHING = {"record": "a" * 16, "seen": [], "fields": {}}
UNUSABLE = {
    "cut off": lambda text: text[: len(text) // 2],
    "cut between lines": lambda text: text[: text.index("\n", 200) + 1],
    "not JSON": lambda text: "jar,date,note",
    "empty": lambda text: "",
    "another object": lambda text: '{"steps": []}',
    "a newer version": broken(lambda whole: whole.update(version=99)),
    "no text": of_first("who", 5),
    "no time": of_first("at", "yesterday"),
    "no id": of_first("id", "x"),
    "unknown key": of_first("token", "x"),
    "no entries": of_first("entries", 5),
    "unknown kind": of_first("entries", [NOTHING | {"kind": "x"}]),
    "nothing made": of_first("entries", [NOTHING | {"kind": "jar"}]),
    "twice": broken(lambda whole: whole["steps"].append(whole["steps"][0])),
}  # fmt: skip


@pytest.mark.parametrize("edit", UNUSABLE.values(), ids=UNUSABLE)
def test_what_is_no_export_is_refused_and_nothing_taken(file_book, folder, edit):
    jar(file_book)
    jar(file_book)
    sent = export(file_book, folder / "out.json")
    sent.write_text(edit(sent.read_text()))

    with open_book(folder / "other.db") as other:
        with pytest.raises(BadFile) as refusal:
            merge(other, sent)
        assert everything(other)["steps"] == []
    assert str(sent) in str(refusal.value)


@pytest.mark.parametrize("lost", ["jar", "strain"])
def test_an_export_that_lacks_what_others_lead_to_is_not_taken(file_book, folder, lost):
    """A file somebody shortened: the look is there, its jar is not."""
    fill(file_book)
    sent = export(file_book, folder / "out.json")
    whole = json.loads(sent.read_text())
    whole["steps"] = [
        each
        for each in whole["steps"]
        if not any(e["kind"] == lost and not e["seen"] for e in each["entries"])
    ]
    sent.write_text(json.dumps(whole))

    with open_book(folder / "other.db") as other:
        done = merge(other, sent)
        assert done.problems
        assert everything(other)["steps"] == []


def test_an_export_of_the_first_version_is_still_taken(file_book, folder):
    """It had no pictures, and ended after the steps."""
    jar(file_book)
    sent = export(file_book, folder / "out.json")
    old = sent.read_text().replace('"version":2', '"version":1').replace('],"pictures":[\n\n', "")
    assert old.endswith("}\n]}\n")
    sent.write_text(old)

    with open_book(folder / "other.db") as other:
        assert merge(other, sent).new_steps == 1
        assert everything(other) == everything(file_book)


def without_pictures(text):
    return json.dumps(json.loads(text) | {"pictures": []})


def with_another_picture(text):
    return text.replace('"data":"', '"data":"AAAA')


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        (without_pictures, "of a photo is not in the file"),
        (with_another_picture, "is not what its name says"),
    ],
)
def test_a_picture_that_is_lost_or_changed_on_the_way_is_noticed(file_book, folder, edit, says):
    """A photo without its picture is no photo; nothing is taken."""
    photo(file_book, jar(file_book))
    sent = export(file_book, folder / "out.json")
    sent.write_text(edit(sent.read_text()))

    with open_book(folder / "other.db") as other:
        try:
            problems = merge(other, sent).problems
        except BadFile as reason:
            problems = [str(reason)]
        assert says in problems[0]
        assert everything(other)["steps"] == everything(other)["pictures"] == []


def test_a_picture_of_both_books_is_kept_once(folder):
    """Named by what is in it; forecasts are no part of an export."""
    with open_book(folder / "one.db") as one, open_book(folder / "two.db") as two:
        photo(one, jar(one))
        photo(two, jar(two))
        photo(two, jar(two), data=b"another")
        with two.write() as connection:
            put_forecast(connection, "k", "m", "{}", START)

        shown = preview(one, export(two, folder / "2.json"))
        assert (shown.new_pictures, shown.problems) == (1, [])
        merge(one, folder / "2.json")
        assert len(everything(one)["pictures"]) == 2
        assert everything(one)["forecasts"] == []
        assert merge(one, folder / "2.json").new_pictures == 0


def test_two_jars_under_one_code_are_named_in_the_preview(folder):
    """Two books each had their first jar; both keep it, and the grower hears of it."""
    one, two = open_book(folder / "one.db"), open_book(folder / "two.db")
    jar(one, code="CT44")
    jar(two, code="CT44")

    shown = preview(one, export(two, folder / "2.json"))

    assert shown.problems == []
    assert shown.notes == ["On a jar of each book: CT44; doctor names them."]
    one.close()
    two.close()
