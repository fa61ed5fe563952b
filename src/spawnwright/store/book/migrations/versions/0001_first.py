"""The first form of the record book.

Written out in full and never edited: later forms are steps of their own.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

# A name ends with its type, text where none is said, and with ! where a value is required.
TABLES = {
    "lots": """
        name! what! from_whom bought_on note
    """,
    "strains": """
        name! species! from_whom note
    """,
    "grain_batches": """
        made_at! grain! lot:id dry_kg:number dry_moisture:number soak_h:number water_c:number
        simmer_min:number drained_kg:number moisture_low:number moisture_likely:number
        moisture_high:number texture gypsum_g:number note
    """,
    "lid_batches": """
        name! lot:id made_on lids:count port filter cured_on uses:count note
    """,
    "runs": """
        started_at! purpose! vessel elevation_m:number gauge_pa:number hold_min:number
        at_pressure_at off_at opened_at f0_low_min:number f0_likely_min:number
        f0_high_min:number note
    """,
    "jars": """
        code! jar_kind! filled_at! name fill:number grain_kg:number tare_kg:number grain_batch:id
        lid_batch:id is_control:flag stored_where moved_away_at outcome outcome_at
        outcome_note jar_back jar_back_at lid_back lid_back_at note
    """,
    "cultures": """
        name! form! strain:id lot:id parent:id from_jar:id recipe made_on tested_on test
        volume_ml:number left_ml:number left_at clarity stored_where ended_on note
    """,
    "loads": """
        run:id! jar:id spoiled_jar:id position
    """,
    "events": """
        run:id! at! what! gauge_pa:number note
    """,
    "traces": """
        run:id! probe! began_at! file
    """,
    "inoculations": """
        jar:id! at! culture:id from_jar:id number:count dose_ml:number dose_g:number who
        worked_where way note
    """,
    "looks": """
        jar:id! at! percent:number sign place smell note
    """,
    "shakes": """
        jar:id! at! note
    """,
    "blocks": """
        name! container! made_at! substrate substrate_kg:number stored_where ended_on note
    """,
    "uses": """
        jar:id! block:id! at! spawn_kg:number note
    """,
    "harvests": """
        block:id! at! mass_kg:number! flush:count note
    """,
    "costs": """
        spent_on! what! amount:number! unit! record:id note
    """,
    "stock_changes": """
        changed_on! what! item! change:count! reason! note
    """,
    "quarantines": """
        record:id! at! why! lifted_at lifted_why
    """,
}
SQL_TYPES: dict[str, Any] = {"number": sa.Float(53), "count": sa.BigInteger(), "flag": sa.Boolean()}


def upgrade() -> None:
    """Make the history, then one table a kind of record, then the links between records."""
    _history()
    for name, said in TABLES.items():
        _table_of_kind(name, said)
    _links()
    op.create_index("ix_jars_code", "jars", ["code"])
    op.create_index("ix_jars_shelf", "jars", ["undone", "outcome", "filled_at"])
    op.create_index("ix_jars_stock", "jars", ["undone", "jar_kind", "jar_back"])
    op.create_index("ix_looks_jar_at", "looks", ["jar", "at"])
    op.create_index("ix_runs_started_at", "runs", ["started_at"])


def _text(name: str, **how: Any) -> sa.Column[Any]:
    type_ = sa.String().with_variant(sa.String(collation="C"), "postgresql")
    return sa.Column(name, type_, **({"nullable": False} | how))


def _number(name: str, counts: bool = True) -> sa.Column[Any]:
    type_ = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
    return sa.Column(name, type_, autoincrement=counts, nullable=False)


def _to(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        [column], [target], f"fk_{table}_{column}", deferrable=True, initially="DEFERRED"
    )


def _history() -> None:
    length = "length(id) BETWEEN 6 AND 64"
    op.create_table(
        "steps",
        _number("number"),
        *(_text(each) for each in ("id", "at", "received", "who", "device", "title")),
        _text("note", nullable=True),
        _text("undoes", nullable=True),
        sa.Column("undone", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_steps"),
        sa.UniqueConstraint("id", name="uq_steps_id"),
        sa.CheckConstraint(length, name=op.f("ck_steps_id_length")),
    )
    op.create_index("ix_steps_undoes", "steps", ["undoes"])
    op.create_index("ix_steps_received_id", "steps", ["received", "id"])
    op.create_table(
        "records",
        _number("number"),
        _text("id"),
        _text("kind"),
        sa.PrimaryKeyConstraint("number", name="pk_records"),
        sa.UniqueConstraint("id", name="uq_records_id"),
        sa.CheckConstraint(length, name=op.f("ck_records_id_length")),
    )
    op.create_index("ix_records_kind", "records", ["kind"])
    op.create_table(
        "entries",
        _text("record"),
        _text("step"),
        sa.Column("line", sa.Integer(), nullable=False),
        _text("seen"),
        _text("fields"),
        sa.PrimaryKeyConstraint("record", "step", name="pk_entries"),
        _to("entries", "record", "records.id"),
        _to("entries", "step", "steps.id"),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_entries_step", "entries", ["step"])


def _table_of_kind(table: str, said: str) -> None:
    columns, links = [], ["id"]
    for word in said.split():
        name, _, type_ = word.rstrip("!").partition(":")
        if type_ == "id":
            links.append(name)
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
        *(_to(table, name, "records.id") for name in links),
        sqlite_with_rowid=False,
    )
    for name in links[1:]:
        op.create_index(f"ix_{table}_{name}", table, [name])


def _links() -> None:
    op.create_table(
        "links",
        *(_number(name, False) for name in ("parent", "child", "via")),
        sa.PrimaryKeyConstraint("parent", "child", "via", name="pk_links"),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_links_child_parent", "links", ["child", "parent"])
    op.create_index("ix_links_via", "links", ["via"])
