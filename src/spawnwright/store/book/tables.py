"""The tables of the record book, made from the kinds of record.

`steps`, `entries`: the history, only ever added to. `records`: every id with its kind and a number
of this file's own. One table a kind, and `links`: what follows from the history; `refold` writes
it, and nothing else does.

Outside the history: `pictures`, named by what is in them and only ever added to; `forecasts`, what
was worked out once and can be worked out again.
"""

from __future__ import annotations

from dataclasses import Field
from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
)
from sqlalchemy.types import TypeEngine

from spawnwright.records.book.form import BookRecord, columns
from spawnwright.records.book.kinds import KINDS

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
    }
)


def text() -> TypeEngine[str]:
    """Text that sorts by its bytes, on both databases."""
    return String().with_variant(String(collation="C"), "postgresql")


def number() -> TypeEngine[Any]:
    """A whole number that SQLite counts up by itself."""
    return BigInteger().with_variant(Integer(), "sqlite")


def _link(target: str) -> ForeignKey:
    """To another record; checked at the commit, so that order within a step does not matter."""
    return ForeignKey(target, deferrable=True, initially="DEFERRED")


STEPS = Table(
    "steps",
    METADATA,
    Column("number", number(), primary_key=True, autoincrement=True),
    Column("id", text(), nullable=False, unique=True),
    Column("at", text(), nullable=False),
    Column("received", text(), nullable=False),
    Column("who", text(), nullable=False),
    Column("device", text(), nullable=False),
    Column("title", text(), nullable=False),
    Column("note", text()),
    Column("undoes", text(), index=True),
    Column("undone", Boolean(), nullable=False),
    CheckConstraint("length(id) BETWEEN 6 AND 64", name="id_length"),
    Index(None, "received", "id"),
)

RECORDS = Table(
    "records",
    METADATA,
    Column("number", number(), primary_key=True, autoincrement=True),
    Column("id", text(), nullable=False, unique=True),
    Column("kind", text(), nullable=False, index=True),
    CheckConstraint("length(id) BETWEEN 6 AND 64", name="id_length"),
)

ENTRIES = Table(
    "entries",
    METADATA,
    Column("record", text(), _link("records.id"), primary_key=True),
    Column("step", text(), _link("steps.id"), primary_key=True, index=True),
    Column("line", Integer(), nullable=False),
    Column("seen", text(), nullable=False),
    Column("fields", text(), nullable=False),
    sqlite_with_rowid=False,
)

LINKS = Table(
    "links",
    METADATA,
    Column("parent", number(), primary_key=True, autoincrement=False),
    Column("child", number(), primary_key=True, autoincrement=False),
    Column("via", number(), primary_key=True, autoincrement=False, index=True),
    Index(None, "child", "parent"),
    sqlite_with_rowid=False,
)

PICTURES = Table(
    "pictures",
    METADATA,
    Column("content", text(), primary_key=True),
    Column("media_type", text(), nullable=False),
    Column("data", LargeBinary(), nullable=False),
    CheckConstraint("length(content) = 64", name="content_length"),
)

FORECASTS = Table(
    "forecasts",
    METADATA,
    Column("key", text(), primary_key=True),
    Column("model", text(), nullable=False),
    Column("made_at", text(), nullable=False, index=True),
    Column("answer", text(), nullable=False),
)

_SQL_TYPES = {"number": Float(53), "count": BigInteger(), "flag": Boolean()}
BARE = ("id", "changed", "undone", "seen", "disputed")
"""What every kind's table has beside the columns of the kind."""


def _column(name: str, told: Field[Any]) -> Column[Any]:
    type_: Any = _SQL_TYPES.get(told.metadata["type"], text())
    required = not told.metadata["required"]
    if told.metadata["type"] == "reference":
        return Column(name, text(), _link("records.id"), nullable=required, index=True)
    if told.metadata["type"] == "picture":
        return Column(name, text(), _link("pictures.content"), nullable=required, index=True)
    return Column(name, type_, nullable=required)


def _table(kind: type[BookRecord]) -> Table:
    return Table(
        kind.TABLE,
        METADATA,
        Column("id", text(), _link("records.id"), primary_key=True),
        *(
            _column(name, each)
            for name, each in columns(kind).items()
            if each.metadata["type"] != "series"
        ),
        Column("changed", text(), nullable=False),
        Column("undone", Boolean(), nullable=False),
        Column("seen", text(), nullable=False),
        Column("disputed", text()),
        sqlite_with_rowid=False,
    )


OF_KIND: dict[str, Table] = {name: _table(kind) for name, kind in KINDS.items()}

JARS, LOOKS, TASKS = OF_KIND["jar"], OF_KIND["look"], OF_KIND["task"]
Index("ix_jars_code", JARS.c.code)
Index("ix_jars_by_batch", JARS.c.batch, JARS.c.undone, JARS.c.outcome)
Index("ix_jars_shelf", JARS.c.undone, JARS.c.outcome, JARS.c.filled_at)
Index("ix_jars_stock", JARS.c.undone, JARS.c.jar_kind, JARS.c.jar_back)
Index("ix_jars_lids", JARS.c.undone, JARS.c.lid_back)
Index("ix_looks_jar_at", LOOKS.c.jar, LOOKS.c.at)
Index("ix_tasks_due", TASKS.c.undone, TASKS.c.done_at, TASKS.c.skipped_at, TASKS.c.at)
Index("ix_runs_started_at", OF_KIND["sterilizer run"].c.started_at)
