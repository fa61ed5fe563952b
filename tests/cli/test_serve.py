"""Serving the pages from the command line: found, refused, stopped, backed up."""

from __future__ import annotations

import json
import re
import signal
import socket
import threading
import time
import urllib.request
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from spawnwright.actions.book.jars import Hand, fill_jars
from spawnwright.errors import BadFile
from spawnwright.store.book.backup import backups_of
from spawnwright.store.book.engine import open_book
from spawnwright.web import upkeep
from spawnwright.web.desk import Address, Desk
from tests.cli.test_shell import main, start

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def first_page(process, port: int) -> str:
    """The first page, once the server answers; fails if the process ends before."""
    until = time.monotonic() + 30
    while time.monotonic() < until:
        if process.poll() is not None:
            raise AssertionError(process.communicate()[1])
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=10) as answer:
                return answer.read().decode()
        except OSError:
            time.sleep(0.05)
    raise AssertionError("the server did not answer within 30 s")


@pytest.fixture
def serving(tmp_path):
    """`serving(port)` starts the command on a book of its own; stopped at the end."""
    started = []

    def serve(port: int, *more: str):
        process = start("serve", "--port", str(port), *more,
                        env={"SPAWNWRIGHT_HOME": str(tmp_path), "BROWSER": "false"})  # fmt: skip
        started.append(process)
        return process

    yield serve
    for process in started:
        if process.poll() is None:
            process.kill()
            process.communicate()


def test_check_opens_the_book_and_draws_the_first_page(capsys, tmp_path, monkeypatch):
    """For whoever sets it up: nothing listens, all parts are there."""
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))

    code, out, _ = main(capsys, "serve", "--check", "--json")

    assert code == 0
    assert json.loads(out) == {"address": "http://127.0.0.1:8377/", "status": 200}
    assert (tmp_path / "record-book.db").is_file()


def test_served_refused_and_stopped(serving, tmp_path):
    """It says where the book is; one process serves a book; Ctrl-C ends it without a trace."""
    port, other = free_port(), free_port()
    process = serving(port)
    page = first_page(process, port)

    second = serving(other)
    told = second.communicate(timeout=30)[1]
    taken = serving(port, "--file", str(tmp_path / "another.db"))
    busy = taken.communicate(timeout=30)[1]
    process.send_signal(signal.SIGINT)
    out, said = process.communicate(timeout=15)

    assert "Plan a first batch" in page
    assert (second.returncode, taken.returncode, process.returncode) == (2, 2, 0)
    assert f"being served already at http://127.0.0.1:{port}/" in told
    assert f"Something already listens at port {port}" in busy
    assert f"The record book: {tmp_path / 'record-book.db'}" in said
    assert f"http://127.0.0.1:{port}/" in said
    assert "Traceback" not in said
    assert out == "Stopped. Everything that was kept is in the book.\n"


def test_other_commands_go_on_while_it_serves(serving, tmp_path):
    """Reading and backing up do not wait for the server to stop."""
    port = free_port()
    process = serving(port)
    first_page(process, port)

    kept = start("backup", env={"SPAWNWRIGHT_HOME": str(tmp_path)})
    out, said = kept.communicate(timeout=30)
    process.send_signal(signal.SIGTERM)

    assert kept.returncode == 0, said
    assert "backups" in out
    process.communicate(timeout=15)
    assert process.returncode == 0


@pytest.mark.parametrize("port", ["80", "70000", "x"])
def test_a_port_that_cannot_be(capsys, port):
    """Below 1024 a port needs the system's leave."""
    code, out, said = main(capsys, "serve", "--port", port)

    assert (code, out) == (2, "")
    assert "--port" in said


@pytest.fixture
def desk(tmp_path):
    """A desk on a book with a jar in it."""
    book = open_book(tmp_path / "record-book.db")
    fill_jars(book, Hand("Ada", "phone", NOW), 1, {"jar_kind": "quart"}, NOW)
    made = Desk(book, Address(free_port()), clock=lambda: NOW)
    yield made
    made.close()


def until(is_so) -> None:
    """Wait for another thread, not longer than ten seconds."""
    end = time.monotonic() + 10
    while not is_so():
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.01)


def test_each_day_has_its_backup(desk, monkeypatch):
    """Made at the start and again when a day has passed; none twice a day."""
    monkeypatch.setattr(upkeep, "LOOK_EVERY_S", 0.02)
    thread = upkeep.keep_up(desk, print)
    until(lambda: len(backups_of(desk.book.path)) == 1)
    time.sleep(0.1)
    one = [each.made.date() for each in backups_of(desk.book.path)]
    desk.clock = lambda: NOW + timedelta(days=1)

    until(lambda: len(backups_of(desk.book.path)) == 2)
    desk.closing.set()
    thread.join(5)

    assert one == [NOW.date()]
    assert not thread.is_alive()
    assert [each.made.date() for each in backups_of(desk.book.path)] == [
        NOW.date(), NOW.date() + timedelta(days=1),
    ]  # fmt: skip


def test_a_backup_that_fails_is_told_once(desk, monkeypatch):
    """Pages go on; the person at the terminal reads why, not every quarter of an hour."""
    said: list[str] = []
    tries = []

    def fails(*_):
        tries.append(1)
        raise BadFile("The disk is full.")

    monkeypatch.setattr(upkeep, "LOOK_EVERY_S", 0.01)
    monkeypatch.setattr(upkeep, "backup_if_due", fails)
    thread = upkeep.keep_up(desk, said.append)
    until(lambda: len(tries) > 3)
    desk.closing.set()
    thread.join(5)

    assert said == ["No backup was made today. The disk is full."]


def test_the_browser_opens_only_once_pages_answer(desk, monkeypatch):
    """Not before, or it would show a page of its own that nothing is there."""
    shown: list[str] = []
    monkeypatch.setattr("webbrowser.open", shown.append)

    thread = upkeep.open_browser(desk)
    time.sleep(0.2)
    before = list(shown)
    with socket.socket() as listening:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(("127.0.0.1", desk.address.port))
        listening.listen()
        thread.join(10)

    assert before == []
    assert shown == [f"http://127.0.0.1:{desk.address.port}/"]


def test_no_browser_opens_by_itself():
    """Only --open does; a server that pops up windows is no server for a shed."""
    source = (Path(upkeep.__file__).parent / "serving.py").read_text(encoding="utf-8")

    assert re.search(r"if open_it:\n\s+open_browser\(desk\)", source)
    assert source.count("open_browser(") == 1
    assert threading.active_count() < 20
