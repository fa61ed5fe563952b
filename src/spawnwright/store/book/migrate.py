"""Bring a record book to the form that this program knows, whole or not at all."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, inspect, text

from spawnwright.errors import BadFile
from spawnwright.store.book.engine import Book
from spawnwright.store.book.place import APPLICATION_ID, HEAD

STEPS = Path(__file__).with_name("migrations")


def form_of(connection: Connection) -> str | None:
    """The form that a book has; none if it is empty."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return None if found is None else str(found)


def bring_up_to_date(book: Book, steps: Path = STEPS, head: str = HEAD) -> None:
    """Apply the steps that a book lacks, in one transaction; a backup is made before.

    Raises
    ------
    BadFile
        If the book was written by a newer program, or a step fails; it is then as it was.
    """
    with book.read() as connection:
        form = form_of(connection)
        if form == head:
            return
        if form is None and inspect(connection).get_table_names():
            raise BadFile(f"{book.name} is a database of something else; name another file.")
    if form is not None and form > head:
        raise BadFile(
            f"The record book {book.name} was written by a newer version of this program (form "
            f"{form}; this one knows up to {head}). Update the program; the book was not touched."
        )
    if form is not None and book.path is not None:
        from spawnwright.store.book.backup import make_backup

        make_backup(book.path, "before-update")
    try:
        with book.write() as connection:
            _apply(connection, steps)
    except BadFile:
        raise
    except Exception as reason:
        raise BadFile(
            f"The record book {book.name} could not be brought from form {form} to {head}: "
            f"{' '.join(str(reason).split())[:200]}. It is as it was; report this."
        ) from reason


def _apply(connection: Connection, steps: Path) -> None:
    from alembic.migration import MigrationContext
    from alembic.operations import Operations
    from alembic.script import ScriptDirectory

    script = ScriptDirectory(str(steps))
    context = MigrationContext.configure(connection)
    form = context.get_current_revision()
    lacking = []
    for revision in script.walk_revisions():
        if revision.revision == form:
            break
        lacking.append(revision)
    with Operations.context(context):
        for revision in reversed(lacking):
            revision.module.upgrade()
            context.stamp(script, revision.revision)
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")
