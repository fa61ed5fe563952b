"""The second form: batches and their tasks, photos with their pictures, kept forecasts.

Nothing that was there changes. Written out in full and never edited.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

# As in the first form: a name, its type (text where none is said), ! where a value is required.
TABLES = {
    "batches": """
        name! species strain:id wish plan planned_at wanted_jars:count ready_low ready_likely
        ready_high shelf_c:number started_at ended_on note
    """,
    "tasks": """
        batch:id! key! kind at! until! title! detail cautions amounts is_attended:flag run:count
        soak:count done_at skipped_at note
    """,
    "photos": """
        jar:id! look:id taken_at! content:picture! media_type width:count height:count note
    """,
}
SQL_TYPES: dict[str, Any] = {"number": sa.Float(53), "count": sa.BigInteger(), "flag": sa.Boolean()}
TARGETS = {"id": "records.id", "picture": "pictures.content"}


def upgrade() -> None:
    """Make the new tables, then the new columns of jars and runs."""
    op.create_table(
        "pictures",
        _text("content"),
        _text("media_type"),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("content", name="pk_pictures"),
        sa.CheckConstraint("length(content) = 64", name=op.f("ck_pictures_content_length")),
    )
    op.create_table(
        "forecasts",
        *(_text(name) for name in ("key", "model", "made_at", "answer")),
        sa.PrimaryKeyConstraint("key", name="pk_forecasts"),
    )
    op.create_index("ix_forecasts_made_at", "forecasts", ["made_at"])
    for name, said in TABLES.items():
        _table_of_kind(name, said)
    op.create_index("ix_tasks_due", "tasks", ["undone", "done_at", "skipped_at", "at"])
    _add_link("jars", "batch")
    _add_link("runs", "batch")
    op.create_index("ix_jars_by_batch", "jars", ["batch", "undone", "outcome"])
    op.create_index("ix_jars_lids", "jars", ["undone", "lid_back"])
    op.add_column("jars", sa.Column("shelf_c", sa.Float(53)))


def _text(name: str, **how: Any) -> sa.Column[Any]:
    type_ = sa.String().with_variant(sa.String(collation="C"), "postgresql")
    return sa.Column(name, type_, **({"nullable": False} | how))


def _to(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        [column], [target], f"fk_{table}_{column}", deferrable=True, initially="DEFERRED"
    )


def _add_link(table: str, name: str) -> None:
    sorts = ' COLLATE "C"' if op.get_bind().dialect.name == "postgresql" else ""
    op.execute(
        f"ALTER TABLE {table} ADD COLUMN {name} VARCHAR{sorts} CONSTRAINT fk_{table}_{name} "
        "REFERENCES records (id) DEFERRABLE INITIALLY DEFERRED"
    )
    op.create_index(f"ix_{table}_{name}", table, [name])


def _table_of_kind(table: str, said: str) -> None:
    columns, links = [], {"id": "id"}
    for word in said.split():
        name, _, type_ = word.rstrip("!").partition(":")
        if type_ in TARGETS:
            links[name] = type_
        if type_ in SQL_TYPES:
            columns.append(sa.Column(name, SQL_TYPES[type_], nullable=not word.endswith("!")))
        else:
            columns.append(_text(name, nullable=not word.endswith("!")))
    op.create_table(
        table,
        _text("id"),
        *columns,
        _text("changed"),
        sa.Column("undone", sa.Boolean(), nullable=False),
        _text("seen"),
        _text("disputed", nullable=True),
        sa.PrimaryKeyConstraint("id", name=f"pk_{table}"),
        *(_to(table, name, TARGETS[type_]) for name, type_ in links.items()),
        sqlite_with_rowid=False,
    )
    for name in list(links)[1:]:
        op.create_index(f"ix_{table}_{name}", table, [name])
