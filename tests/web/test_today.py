"""The first page: what is late, due and coming, and what else waits for somebody."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest

from spawnwright.actions.book import run as book_run
from spawnwright.actions.book.batches import BY_ITSELF, finish_task
from spawnwright.actions.book.end import end_jar
from spawnwright.actions.book.looks import add_look
from spawnwright.actions.book.standing_jars import Standing, take_in_jars
from spawnwright.store.book.backup import make_backup
from spawnwright.store.book.history import current
from tests.web.conftest import HOME, NOW, step_of
from tests.web.planned_book import days, hand, started, tasks

ROOT = Path(__file__).parents[2]


def section(page: str, name: str) -> str:
    """The part of the page below a heading, up to the next one of its rank."""
    found = re.search(rf"<h2[^>]*>{name}</h2>(.*?)(?=<h2|</main>)", page, re.DOTALL)
    return found[1] if found else ""


def form_of(page: str, action: str) -> str:
    """The form that is sent to an address."""
    found = re.search(rf'<form[^>]*action="{action}".*?</form>', page, re.DOTALL)
    assert found, f"no form for {action}"
    return found[0]


def send(client, page: str, task: str, word: str, **more):
    """Press a task's button on a page."""
    form = form_of(page, f"/tasks/{task}/{word}")
    seen = re.search(r'name="seen" value="([^"]*)"', form)
    data = {"step": step_of(form), "seen": seen[1] if seen else "", "next": "/"} | more
    return client.post(f"/tasks/{task}/{word}", data=data)


def stand(desk, count=3, put_in=5.0, **more) -> list[str]:
    """Jars that stand already, inoculated some days ago; gives their ids."""
    about = {"name": "Club jars", "count": count, "jar_kind": "quart", "species": "blue-oyster",
             "filled_at": NOW - days(put_in + 2), "inoculated_at": NOW - days(put_in)}  # fmt: skip
    entered = take_in_jars(desk.book, hand(NOW), Standing(**(about | more)), NOW)
    with desk.book.read() as connection:
        from spawnwright.store.book.batches import jars_of_batch

        return [jar["id"] for jar in jars_of_batch(connection, entered.record)]


def test_an_empty_book_leads_to_a_first_batch(client):
    """Two ways in, nothing else to read."""
    page = client.get("/").text

    assert 'href="/plan">Plan a first batch</a>' in page
    assert 'href="/jars/new">I have jars already</a>' in page
    assert page.count("<h1>") == 1


def test_late_today_and_coming(client, desk):
    """By the clock of the grower; each with batch, time, numbers; cautions at the step."""
    started(desk.book)

    page = client.get("/").text
    late, due, coming = (
        section(page, each) for each in ("Late", "To do today", "In the next days")
    )

    assert [title in late for title in ("Make 7 lids", "Soak 1.99 kg of rye", "Drain")] == [
        True
    ] * 3
    assert "Dry the surface" not in late
    assert "Dry the surface" in due
    assert "Weigh the grain" in due
    assert "Fill 7 jars" in due
    assert "<dt>dry grain</dt><dd>1.99 kg</dd>" in late
    assert "Drill away from your hand" in late
    assert "Oyster for the market" in late
    assert "09:15 to 10:00" in late
    assert "Thu 26 Nov" in coming
    assert "Inoculate 7 jars" in coming


def test_what_runs_by_itself_is_nothing_to_do(client, desk, monkeypatch):
    """Jars on the shelf ask for nobody, though the step lasts for days; the batch says so."""
    batch = started(desk.book)
    monkeypatch.setattr(desk, "clock", lambda: NOW + days(2))

    page, story = client.get("/").text, client.get(f"/batches/{batch}").text

    assert "On the shelf" not in page
    assert re.search(r"<strong>On the shelf</strong>.*?by itself, until", story, re.DOTALL)
    assert "going on" in story
    for task in tasks(desk.book, batch, NOW).values():
        if task.at < NOW + days(2) and task.kind not in BY_ITSELF:
            finish_task(desk.book, hand(NOW), task.id, NOW)
    assert "Next: Look, day 2" in client.get("/batches").text


def test_a_run_at_the_canner_is_one_step(client, desk):
    """Its own page leads from heat on to the open lid."""
    started(desk.book)

    page = client.get("/").text

    assert "Load run A" in page
    assert 'href="/runs/new?batch=' in page
    assert "Vent 10 min" not in page


def test_what_was_done_is_kept_and_can_be_undone(client, desk):
    """One tap, once, and back again."""
    batch = started(desk.book)
    lids = tasks(desk.book, batch, NOW)["make-lids"]
    page = client.get("/").text

    answer = send(client, page, lids.id, "done")
    again = send(client, page, lids.id, "done")

    assert answer.status_code == again.status_code == 200
    assert "Kept: done: Make 7 lids" in answer.text
    assert "Make 7 lids" not in section(answer.text, "Late")
    assert tasks(desk.book, batch, NOW)["make-lids"].done_at == NOW
    undo = re.search(r'action="(/undo/\w+)"', answer.text)
    back = client.post(undo[1], data={"step": step_of(answer.text), "next": "/"})
    assert "Make 7 lids" in section(back.text, "Late")


def test_a_step_can_be_left_out_and_opened_again(client, desk):
    """Skipped is not done, and not for good."""
    batch = started(desk.book)
    lids = tasks(desk.book, batch, NOW)["make-lids"]

    send(client, client.get("/").text, lids.id, "skip")
    skipped = tasks(desk.book, batch, NOW)["make-lids"]
    send(client, client.get(f"/batches/{batch}").text, lids.id, "reopen")
    opened = tasks(desk.book, batch, NOW)["make-lids"]

    assert (skipped.skipped_at, skipped.done_at) == (NOW, None)
    assert (opened.skipped_at, opened.done_at) == (None, None)


def test_the_script_of_the_outbox_gets_json(client, desk):
    """What a phone kept while offline is sent to the same address."""
    batch = started(desk.book)
    lids = tasks(desk.book, batch, NOW)["make-lids"]

    answer = client.post(f"/tasks/{lids.id}/done", data={"step": "0123456789abcdef"},
                         headers={"X-Outbox": "1"})  # fmt: skip

    assert answer.json() == {"kept": "0123456789abcdef", "next": "/", "said": ""}


@pytest.mark.parametrize(
    "elsewhere", ["//evil.example/", "https://evil.example/", "/\\evil.example"]
)
def test_a_form_leads_nowhere_else(client, desk, elsewhere):
    """The next page is one of ours, whatever the form says."""
    batch = started(desk.book)
    lids = tasks(desk.book, batch, NOW)["make-lids"]

    answer = send(client, client.get("/").text, lids.id, "done", next=elsewhere)

    assert str(answer.url).startswith(f"{HOME}/?kept=")


def test_a_task_that_is_not_there(client):
    """A sentence, no trace."""
    answer = client.post("/tasks/nonesuch/done", data={"step": "0123456789abcdef"})

    assert answer.status_code in (404, 422)
    assert "nonesuch" in answer.text


def test_a_run_that_was_begun_meets_its_steps(client, desk):
    """Nobody says twice that the canner was loaded; the run itself is shown first."""
    batch = started(desk.book)
    jars = stand(desk, put_in=0.0, inoculated_at=None)
    run = book_run.begin_run(
        desk.book, hand(NOW), {"batch": batch, "hold_min": 135.0, "gauge_pa": 103_000.0},
        dict.fromkeys(jars, ""), NOW,
    ).record  # fmt: skip

    page = client.get("/").text

    assert "A canner is running" in page
    assert f'href="/runs/{run}"' in page
    assert "Load run A" not in page


def test_jars_that_nobody_looked_at(client, desk):
    """A growing jar is seen every two or three days; a look ends the asking."""
    jars = stand(desk, count=3, put_in=5.0)

    before = section(client.get("/").text, "Not looked at for three days")
    for jar in jars[:2]:
        add_look(desk.book, hand(NOW), jar, {"percent": 30.0}, NOW)
    after = section(client.get("/").text, "Not looked at for three days")
    add_look(desk.book, hand(NOW - days(3.5)), jars[2], {"percent": 100.0}, NOW)
    white = section(client.get("/").text, "Not looked at for three days")

    assert "3 jars" in before
    assert "Club jars" in before
    assert "1 jar" in after
    assert white == ""


def test_a_look_meets_the_day_of_looking(client, desk, monkeypatch):
    """And an older reminder is not shown beside a newer one of the same batch."""
    batch = started(desk.book)
    later = NOW + days(5)
    monkeypatch.setattr(desk, "clock", lambda: later)

    before = client.get("/").text
    about = {"batch": batch, "code": "CT36", "jar_kind": "quart", "filled_at": NOW}
    from tests.web.shelf_book import record

    jar = record(desk.book, "jar", about)
    add_look(desk.book, hand(later), jar, {"sign": "as expected"}, later)
    after = client.get("/").text

    assert "Look, day 4" in before
    assert "Look, day 2" not in before
    assert "Look, day" not in section(after, "Late")


def test_a_bad_sign_is_the_first_thing_said(client, desk):
    """A jar in which green was seen is to be taken away, until somebody says what became of it."""
    first, second, third = stand(desk)
    for jar, sign in ((first, "green"), (second, "as expected"), (third, "green")):
        add_look(desk.book, hand(NOW - days(0.2)), jar, {"sign": sign}, NOW)
    add_look(desk.book, hand(NOW - days(0.1)), third, {"sign": "white"}, NOW)
    with desk.book.read() as connection:
        code = current(connection, [first])[first]["code"]

    page = client.get("/").text
    told = section(page, "Take away first")

    assert f'href="/j/{code}/outcome?outcome=spoiled"' in told
    assert "1 jar with a bad sign" in told
    assert "Keep it shut" in told
    assert "Nothing waits today" not in page
    end_jar(desk.book, hand(NOW), first, "spoiled", NOW)
    assert "Take away first" not in client.get("/").text


def test_a_quiet_day_says_what_comes_after_the_week(client, desk, monkeypatch):
    """A first batch often begins later than in seven days; its first step is named all the same."""
    batch = started(desk.book)
    monkeypatch.setattr(desk, "clock", lambda: NOW - days(40))

    page = client.get("/").text

    assert "Nothing waits today, nor in the next seven days" in page
    assert f'href="/batches/{batch}?open=' in section(page, "Next")


def test_a_spoiled_jar_asks_for_its_next_step(client, desk):
    """With the cautions at it, until jar and lid are back."""
    jar = stand(desk, count=1)[0]
    with desk.book.read() as connection:
        code = current(connection, [jar])[jar]["code"]
    end_jar(desk.book, hand(NOW), jar, "spoiled", NOW)

    page = section(client.get("/").text, "Spoiled jars")

    assert "Move it away, shut" in page
    assert f'href="/j/{code}"' in page
    assert "do not smell at it" in page


def test_an_old_backup_is_said(client, desk):
    """Two days without one, after something was kept."""
    started(desk.book)

    none = client.get("/").text
    make_backup(desk.book.path, "daily", NOW - timedelta(days=1))
    young = client.get("/").text
    make_backup(desk.book.path, "daily", NOW)
    desk.clock = lambda: NOW + days(5)
    old = client.get("/").text

    assert "There is no backup of this book yet." in none
    assert "backup" not in young
    assert "The last backup is 5 days old." in old


def test_a_name_is_text_and_nothing_else(client, desk):
    """Whatever a batch is called, it brings no element into the page."""
    started(desk.book, "<script>alert(1)</script>")

    page = client.get("/").text

    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page


DRAWN = """
import sys, tempfile
from datetime import datetime, timedelta, UTC
from pathlib import Path
from starlette.testclient import TestClient
from spawnwright.store.book.engine import open_book
from spawnwright.web.app import make_app
from spawnwright.web.desk import Address, Desk

def main():
    import re
    with tempfile.TemporaryDirectory() as name:
        desk = Desk(open_book(Path(name) / "b.db"), Address())
        home = "http://127.0.0.1:8377"
        client = TestClient(make_app(desk), base_url=home, client=("127.0.0.1", 1),
                            headers={"Origin": home})
        asked = {"amount": "5", "species": "blue-oyster", "jar": "quart", "jars_free": "7",
                 "canner": "two-layer", "elevation": "500", "mon_from": "08:00",
                 "mon_until": "22:00", "sat_from": "08:00", "sat_until": "22:00",
                 "sun_from": "08:00", "sun_until": "22:00",
                 "start": (datetime.now(UTC) + timedelta(days=1)).date().isoformat()}
        page = client.get("/plan", params=asked).text
        field = lambda name: re.search(f'name="{name}" value="([^"]*)"', page)[1]
        import html
        form = {"step": field("step"), "wish": html.unescape(field("wish")),
                "as_of": field("as_of"), "name": "B"}
        batch = client.post("/plan", data=form)
        assert batch.status_code == 200, batch.text
        weigh = re.search(r'action="(/batches/\\w+/weigh/\\w+)"', batch.text)[1]
        kept = client.post(weigh, data={"step": "0123456789abcdef", "drained": "3.3", "dry": "2"})
        assert kept.status_code == 200 and "By weight 4" in kept.text, kept.text
        for path in ("/", "/batches", "/calendar", "/jars/new", "/plan", batch.url.path):
            assert client.get(path).status_code == 200, path
        desk.close()
    print(sorted({each.split(".")[0] for each in sys.modules} & {"numpy", "scipy", "pint"}))

if __name__ == "__main__":
    main()
"""


def test_the_server_never_loads_the_models(tmp_path):
    """Planning, starting a batch, weighing grain and all pages here: the worker does the sums."""
    script = tmp_path / "drawn.py"
    script.write_text(DRAWN)
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src"), "TZ": "UTC",
                                "SPAWNWRIGHT_HOME": str(tmp_path)}  # fmt: skip

    ran = subprocess.run(
        [sys.executable, str(script)], env=environment, capture_output=True, text=True, timeout=120
    )

    assert ran.returncode == 0, ran.stderr[-2000:]
    assert ran.stdout.strip() == "[]"
