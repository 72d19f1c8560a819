"""Restoring: a backup takes the place of a box, in one atomic step.

The file to be is made whole beside the box, with the entries of the log that the player keeps; then
the box gets a second, dated name, and the new file takes the first one in a single rename. At no
moment is there no box, so no start makes an empty one; nothing is overwritten or deleted.

The files that SQLite keeps beside a box (https://sqlite.org/tempfiles.html: ``-journal``, ``-wal``,
``-shm``) go aside with it, and go first: played back into another file they would destroy it.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox.base.files import is_folder, may_be_read, opened, there
from drillbox.errors import BoxDamagedError, BoxError, BoxForeignError, NotSavedError
from drillbox.store import backups, rescue, schema, takelog
from drillbox.store.boxfile import BESIDE, BUSY_SECONDS, BoxFile, refuse_strange_neighbours

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime

    from drillbox.store.rows import LogEntry

_OTHER = "choose another one"


def lacking(backup: Path, box: Path) -> list[LogEntry] | None:
    """Return the entries that a box holds and a backup does not, by (at, id).

    Of a damaged box, those that can still be read; None where none can be asked for.

    Raises
    ------
    BoxDamagedError, BoxForeignError
        The backup is none.
    BoxError
        The box may not be read, so nobody knows what it holds.
    """
    _refuse_unfit(backup)
    _refuse_unread(box)
    undo_broken_write(box)
    try:
        with closing(BoxFile(box, read_only=True)) as file:
            held = rescue.readable_entries(file)
        with closing(BoxFile(backup, read_only=True)) as copy, copy.reading() as db:
            known = takelog.ids(db)
    except BoxError:
        return None
    return [entry for entry in held if entry.id not in known]


def restore(
    box: Path, backup: Path, *, now: datetime, keeping: Iterable[LogEntry] = ()
) -> Path | None:
    """Put a backup in the place of a box.

    A window that has the box open cannot write to it any more: it is told that the box was moved.

    Parameters
    ----------
    box, backup
        The files; the backup stays where it is.
    now
        The moment that names what is set aside.
    keeping
        Entries of the log that the restored box holds as well, as `lacking` gives them.

    Returns
    -------
    Path or None
        Where the box that was there is now.
    """
    _refuse_unfit(backup)
    _refuse_unread(box)
    part = box.with_name(f".drillbox-{os.getpid()}.restored")
    with backups.disk_explained(box.parent):
        try:
            box.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(backup, part)
            _finish(part, list(keeping))
            with _held(box):
                aside = _name_aside(box, now)
                part.replace(box)
        finally:
            for left in (part, *(Path(f"{part}{ending}") for ending in BESIDE)):
                left.unlink(missing_ok=True)
        backups.sync(box.parent)
    return aside


def undo_broken_write(box: Path) -> None:
    """Let SQLite undo what a kill broke off, as every opening for writing does."""
    if there(box) and there(Path(f"{box}-journal")):
        with suppress(BoxError), closing(BoxFile(box)) as file, file.reading() as db:
            db.execute("SELECT count(*) FROM sqlite_schema").fetchone()


def _finish(part: Path, keeping: list[LogEntry]) -> None:
    """Write the entries into the new file, and leave it with no file beside it."""
    with closing(BoxFile(part)) as file:
        with file.explained():
            # The copy of a box that another program switched to a write-ahead log has one, too.
            file.connection.execute("PRAGMA journal_mode = DELETE")
        if keeping:
            from drillbox.store import migrations  # noqa: PLC0415 - slow to load, seldom needed

            with file.writing() as db:
                migrations.apply(db)
                takelog.merge(db, keeping)
    backups.sync(part)


def _name_aside(box: Path, now: datetime) -> Path | None:
    """Give the box that is there a dated name as well, and take what lies beside it away."""
    aside = backups.free_name(box.with_name(f"{box.name}.aside-{backups.stamp(now)}"))
    standing = there(box)
    if standing:
        try:
            os.link(box, aside)
        except OSError:  # a disk without second names
            shutil.copyfile(box, aside)
            backups.sync(aside)
    for ending in BESIDE:
        beside = Path(f"{box}{ending}")
        if there(beside):
            beside.rename(f"{aside}{ending}")
    return aside if standing else None


@contextmanager
def _held(box: Path) -> Iterator[None]:
    """Keep other windows from writing while the file is replaced, if its locks still work."""
    if not there(box):
        yield
        return
    with closing(sqlite3.connect(box, timeout=BUSY_SECONDS, isolation_level=None)) as connection:
        try:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            connection.execute("BEGIN EXCLUSIVE")
        except sqlite3.DatabaseError as error:
            if error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY:
                raise NotSavedError(
                    "another program is writing to the box",
                    where=str(box),
                    fix="close it and try again",
                ) from error
        if os.name == "nt":  # Windows replaces no open file
            connection.close()
        yield


def _refuse_unread(box: Path) -> None:
    """Refuse to replace a box of which only its rights keep us from knowing what it holds."""
    refuse_strange_neighbours(box)
    if there(box) and not may_be_read(box):
        raise BoxError(
            "the box that is there may not be read",
            where=str(box),
            fix="make it readable first, so that its takes can be kept",
        )


def _refuse_unfit(backup: Path) -> None:
    if is_folder(backup):
        raise BoxDamagedError("this is a folder", where=str(backup), fix="name a backup in it")
    with opened(backup, error=BoxDamagedError, what="the backup"):
        pass  # SQLite would wait for a pipe for ever
    try:
        application_id, version, sound = backups.examine(backup)
    except sqlite3.Error as error:
        raise BoxDamagedError("the backup cannot be read", where=str(backup), fix=_OTHER) from error
    if application_id != schema.APPLICATION_ID or version > schema.SCHEMA_VERSION:
        raise BoxForeignError(
            "this is no box that this drillbox knows", where=str(backup), fix=_OTHER
        )
    if not sound:
        raise BoxDamagedError("the backup is damaged", where=str(backup), fix=_OTHER)
