"""Record books to test on: a SQLite file and a PostgreSQL database, both empty."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest
from sqlalchemy import text

from spawnwright.store.book.engine import open_book
from spawnwright.store.book.tables import METADATA

MEMORY = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
"""Where files need no disk: full sync on a busy disk would make up most of the tests' time."""


def _program(name: str) -> str | None:
    """A program of PostgreSQL, on the path or in its own folder; the newest."""
    own = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), reverse=True)
    return str(own[0]) if own else shutil.which(name)


@pytest.fixture(scope="session")
def cluster():
    """A PostgreSQL of the tests' own, reached by a socket only; skipped where there is none."""
    initdb, pg_ctl = _program("initdb"), _program("pg_ctl")
    if not initdb or not pg_ctl:
        pytest.skip("PostgreSQL is not installed (package postgresql)")
    user = {}
    folder = Path(tempfile.mkdtemp(prefix="spawnwright-pg-", dir=MEMORY))
    if os.getuid() == 0:
        try:
            owner = pwd.getpwnam("postgres")
        except KeyError:
            pytest.skip("PostgreSQL refuses root, and there is no user postgres")
        os.chown(folder, owner.pw_uid, owner.pw_gid)
        user = {"user": "postgres"}

    def call(*command: str) -> None:
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True, **user)
        assert done.returncode == 0, done.stdout + done.stderr

    data = str(folder / "data")
    call(initdb, "-D", data, "-A", "trust", "-U", "postgres", "-E", "UTF8", "--no-sync")
    settings = f"-k {folder} -c listen_addresses='' -c fsync=off"
    call(pg_ctl, "-D", data, "-o", settings, "-l", str(folder / "log"), "-w", "start")
    yield folder
    call(pg_ctl, "-D", data, "-m", "immediate", "stop")
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def folder():
    """An empty folder, in memory where that can be had."""
    with tempfile.TemporaryDirectory(prefix="spawnwright-book-", dir=MEMORY) as name:
        yield Path(name)


@pytest.fixture(scope="session")
def database(cluster):
    """The URL of a PostgreSQL database with a book in it."""
    import psycopg

    with psycopg.connect(
        f"host={cluster} user=postgres dbname=postgres", autocommit=True
    ) as connection:
        connection.execute("CREATE DATABASE book")
    url = f"postgresql://postgres@/book?host={cluster}"
    open_book(url).close()
    return url


@pytest.fixture(params=["sqlite", "postgresql"])
def book(request, folder):
    """An empty book, on each of the two databases."""
    if request.param == "sqlite":
        opened = open_book(folder / "book.db")
    else:
        opened = open_book(request.getfixturevalue("database"))
        with opened.write() as connection:
            names = ", ".join(f'"{table.name}"' for table in METADATA.sorted_tables)
            connection.execute(text(f"TRUNCATE {names} RESTART IDENTITY"))
    yield opened
    opened.close()


@pytest.fixture
def file_book(folder):
    """An empty book in a file."""
    with open_book(folder / "book.db") as opened:
        yield opened
