"""How a box file is opened: is it ours, is it whole, is it of today's version.

A file is ours if its ``application_id`` says so, or if it has no byte and no backups; anything
else is left alone. It is a damaged box where it begins as one does, or has its backups beside it.
Of an older version, what may only be read is read through an upgraded copy in memory. Whether the
pages of the file hang together is asked once a day (`daily_check`), on opening only by those who
are going to write.
"""

from __future__ import annotations

import sqlite3
import stat
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from drillbox.base.files import DATABASE_BEGINS, reason, there
from drillbox.errors import BoxDamagedError, BoxError, BoxForeignError
from drillbox.store import checks, daily_check, schema
from drillbox.store.boxfile import BoxFile, backup_folder, whole_tables

if TYPE_CHECKING:
    from datetime import date, datetime


_MOST_NAMED = 5


class Opened(NamedTuple):
    """An open box file.

    Whether it was made just now, whether it is still to be checked, and what tables it lacks that
    stand empty in the copy that is read.
    """

    box: BoxFile
    new: bool
    unchecked: bool
    lost: tuple[str, ...] = ()


def open_box(
    path: str | Path, *, now: datetime, read_only: bool, checks_first: bool = True
) -> Opened:
    """Open a box file, making or upgrading it where that is allowed.

    With `checks_first` the check of the whole file, where it is due, is a part of it.
    """
    _refuse_old_sqlite()
    place = None if str(path) in {"", ":memory:"} else Path(path)
    due = held = False
    if place is not None:
        _prepare(place, read_only=read_only, today=now.date())
        held = _holds_bytes(place)
        due = not read_only and daily_check.is_due(place, today=now.date())
    box = BoxFile(place, read_only=read_only, remedy=lambda: _remedy(place, now.date()))
    try:
        new = _bring_up_to_date(box, now, held=held)
        lost = _make_lost_tables(box)
        due = due and not new
        if due and checks_first:
            check_whole(box)
    except BaseException:
        box.close()
        raise
    return Opened(box, new, due and not checks_first, lost)


def _refuse_old_sqlite() -> None:
    if sqlite3.sqlite_version_info < schema.OLDEST_SQLITE:
        oldest = ".".join(map(str, schema.OLDEST_SQLITE))
        raise BoxError(
            f"this Python brings SQLite {sqlite3.sqlite_version}",
            fix=f"use a Python with SQLite {oldest} or newer",
        )


def _prepare(place: Path, *, read_only: bool, today: date) -> None:
    """Refuse what cannot be a box before SQLite waits for it, and make the folder of a new one."""
    try:
        kind = place.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        kind = None
    except (OSError, ValueError) as error:
        raise BoxError(
            f"it cannot be opened: {reason(error)}", where=str(place), fix="choose another place"
        ) from None
    if kind is not None:
        if stat.S_ISDIR(kind):
            raise BoxError("this is a folder", where=str(place), fix="name the box file in it")
        if not stat.S_ISREG(kind):
            raise BoxForeignError("not a plain file", where=str(place), fix="name another file")
        if _was_never_a_box(place):
            raise BoxForeignError(
                "this is no box of drillbox",
                where=str(place),
                fix="name a box, or a file that is not there yet to begin a new one",
            )
        return
    if _has_backups(place):
        # An empty box in its place would be taken for the player's own.
        raise BoxDamagedError("the box file is gone", where=str(place), fix=_remedy(place, today))
    if read_only:
        raise BoxError("there is no such box", where=str(place), fix="check the path")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BoxError(
            f"its folder cannot be made: {error.strerror}",
            where=str(place),
            fix="choose another place",
        ) from error


def _was_never_a_box(place: Path) -> bool:
    """Return whether a file has bytes, but no header of SQLite's, and nothing of ours beside it."""
    try:
        with place.open("rb") as file:
            begins = file.read(len(DATABASE_BEGINS))
    except OSError:
        return False  # SQLite's own refusal says more
    beside = (backup_folder(place), place.with_name(f"{place.name}-journal"))
    return bool(begins) and begins != DATABASE_BEGINS and not any(map(there, beside))


def _holds_bytes(place: Path) -> bool:
    try:
        return place.stat().st_size > 0
    except OSError:
        return False


def _bring_up_to_date(box: BoxFile, now: datetime, *, held: bool) -> bool:
    """Refuse what is not ours, upgrade what is older; return whether the box is new.

    With `held` the file had bytes before SQLite looked at it.
    """
    with box.explained():
        application_id, version, tables, views = _identity(box.connection)
    blank = application_id == 0 and version == 0 and tables == 0
    if blank and box.path is not None and _has_backups(box.path):
        raise box.damaged()
    # SQLite takes one byte for an empty file. A first write that was broken off leaves none.
    alien = blank and held and box.path is not None and _holds_bytes(box.path)
    if alien or (not blank and application_id != schema.APPLICATION_ID):
        raise BoxForeignError(
            "this is a file of another program", where=box.name, fix="name another file"
        )
    if views:
        # Our boxes have none, and one in the place of a table could keep a reader busy for ever.
        named = ", ".join(checks.shown(name) for name in views[:_MOST_NAMED])
        raise BoxForeignError(
            f"another program has put views into the box ({named})",
            where=box.name,
            fix="take them out with that program (DROP VIEW)",
        )
    if version > schema.SCHEMA_VERSION:
        raise BoxForeignError(
            f"the box was written by a newer drillbox (version {version} of the file)",
            where=box.name,
            fix=f"update drillbox; this one reads up to version {schema.SCHEMA_VERSION}",
        )
    if version < schema.SCHEMA_VERSION:
        _upgrade(box, now, blank=blank)
    return blank


def _make_lost_tables(box: BoxFile) -> tuple[str, ...]:
    """Make the tables again that another program dropped, or took columns of.

    Return those that were no cache. A cache is made in the file. Of the others only a reader gets
    empty ones, in a copy.

    Raises
    ------
    BoxDamagedError
        A table is gone that cannot be computed again, and the box is to be written to.
    """
    with box.explained():
        whole = whole_tables(box.connection)
    lost = tuple(name for name in schema.KEPT if name not in whole)
    caches = [name for name in schema.CACHES if name not in whole]
    if not lost and not caches:
        return ()

    def make(db: sqlite3.Connection) -> None:
        for name in (*lost, *caches):
            db.execute(f"DROP TABLE IF EXISTS {name}")
            db.execute((schema.KEPT | schema.CACHES)[name])
        db.execute("DELETE FROM history_state")  # what is left of a cache is none

    if box.read_only:
        box.read_a_copy(make)
    elif lost:
        raise box.damaged()
    else:
        with box.writing() as db:
            make(db)
    return lost


def _has_backups(place: Path) -> bool:
    from drillbox.store import backups  # noqa: PLC0415 - not for a usual start

    return bool(backups.list_backups(place))


def _identity(db: sqlite3.Connection) -> tuple[int, int, int, list[str]]:
    (application_id,) = db.execute("PRAGMA application_id").fetchone()
    (version,) = db.execute("PRAGMA user_version").fetchone()
    (tables,) = db.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    views = [name for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'view'")]
    return application_id, version, tables, views


def _upgrade(box: BoxFile, now: datetime, *, blank: bool) -> None:
    if box.read_only and blank:
        fix = "open it once where it may be written"
        raise BoxError("the box is empty", where=box.name, fix=fix)
    from drillbox.store import backups, migrations  # noqa: PLC0415 - slow to load, seldom needed

    if box.read_only:
        box.read_a_copy(migrations.apply)
        return
    if not blank and box.path is not None:
        backups.make_backup(box, now=now, before_version=schema.SCHEMA_VERSION)
    with box.writing() as db:
        migrations.apply(db)


def check_whole(box: BoxFile) -> None:
    """Check the whole file.

    Raises
    ------
    BoxDamagedError
        Its pages do not hang together.
    """
    with box.explained():
        if box.path is not None and not daily_check.is_whole(box.path):
            raise box.damaged()


def _remedy(place: Path | None, today: date) -> str:
    from drillbox.store import backups  # noqa: PLC0415 - not for a usual start

    try:
        good = None if place is None else backups.newest_good(place, today=today)
        kept_from_us = () if place is None else backups.unread(backups.list_backups(place))
    except BoxError as problem:
        return problem.sentence().rstrip(".")
    if good is None and kept_from_us:
        return f"make its backups readable first, the newest of them {kept_from_us[0].path}"
    if good is None:
        return "no good backup lies beside it; 'drillbox checkup --repair' saves what can be read"
    if place is not None and not place.exists():
        return f"'drillbox checkup --repair' restores the last good backup, {good.path}"
    return (
        f"'drillbox checkup --repair' restores the last good backup, {good.path}, "
        "with all that the damaged file still says, and sets that aside"
    )
