"""How a box file becomes the next version of itself.

Each step is recorded by sqlite-utils in ``_sqlite_migrations`` and runs, with its record, inside
one immediate transaction that `apply` opens round all of them: a box is of one version or of the
next, never between. A step that was released is never edited; the next change is the next step, and
it raises ``user_version``.

This module is the only one that imports sqlite-utils, which takes longer to load than a whole day's
plan to compute; it is imported when a box is made or is of an older version.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlite_utils import Database, Migrations

from drillbox.store import schema

if TYPE_CHECKING:
    import sqlite3

MIGRATIONS = Migrations("drillbox")


@MIGRATIONS()
def version_1(db: Database) -> None:
    """Make the tables and sign the file."""
    for statement in schema.VERSION_1:
        db.execute(statement)
    db.execute(f"PRAGMA application_id = {schema.APPLICATION_ID}")
    db.execute("PRAGMA user_version = 1")


@MIGRATIONS()
def version_2(db: Database) -> None:
    """Make room for what is counted in each rhythm."""
    for statement in schema.VERSION_2:
        db.execute(statement)
    db.execute("PRAGMA user_version = 2")


@MIGRATIONS()
def version_3(db: Database) -> None:
    """Make room for each card's days, and say up to what moment beliefs were computed."""
    for statement in schema.VERSION_3:
        db.execute(statement)
    db.execute("PRAGMA user_version = 3")


@MIGRATIONS()
def version_4(db: Database) -> None:
    """Make room for entries that are set aside, and find measured takes without reading all."""
    for statement in schema.VERSION_4:
        db.execute(statement)
    db.execute("PRAGMA user_version = 4")


def apply(connection: sqlite3.Connection) -> None:
    """Take the steps that are missing; the caller holds the write lock."""
    MIGRATIONS.apply(Database(connection, execute_plugins=False))
