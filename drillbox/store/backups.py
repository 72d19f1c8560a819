"""Dated copies of a box, beside it; `restoring` puts one of them in its place.

A backup is made by SQLite's own backup (never by copying a live file), into a temporary name,
checked in full, synced, and only then given its name; so whatever carries a backup's name was good
when it was made. Nothing is ever overwritten or deleted but old backups.

Rotation keeps, counted back from today, every backup of the last 7 days that have one, and the
newest of each of the last 4 weeks (ISO 8601) and 12 months that have one. Backups dated after today
(the clock was set back) and those made before a change of the file's version are never rotated
away.
"""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import date, datetime
from itertools import chain, count
from typing import TYPE_CHECKING

from drillbox.base.files import is_strange, may_be_read, reason, there
from drillbox.errors import BoxError, NotSavedError
from drillbox.store import schema
from drillbox.store.boxfile import (
    backup_folder,
    damage,
    refuse_strange_neighbours,
    whole_tables,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from pathlib import Path

    from drillbox.store.boxfile import BoxFile

DAYS, WEEKS, MONTHS = 7, 4, 12
STALE_SECONDS = 3600.0
"""No backup takes an hour, so an unfinished one of that age has nobody left to finish it."""

_NAME = re.compile(r"(\d{4}-\d{2}-\d{2})-\d{6}(?:_\d{2,})?(-before-version-\d+)?\.box")


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup on disk.

    Where it is, the day it was made, and whether a change of version made it.
    """

    path: Path
    day: date
    before_upgrade: bool = False


def list_backups(box: Path) -> tuple[Backup, ...]:
    """Return the backups of a box, newest first.

    Raises
    ------
    BoxError
        There is a folder of backups, but it may not be looked into.
    """
    home = backup_folder(box)
    try:
        paths = list(home.iterdir())
    except (FileNotFoundError, NotADirectoryError):
        return ()
    except (OSError, ValueError) as problem:
        raise BoxError(
            f"the backups cannot be read: {reason(problem)}",
            where=str(home),
            fix="make the folder readable",
        ) from None
    found = []
    for path in paths:
        if match := _NAME.fullmatch(path.name):
            with suppress(ValueError):  # a name such as 2026-99-99 is somebody else's
                found.append(Backup(path, date.fromisoformat(match[1]), match[2] is not None))
    return tuple(sorted(found, key=_name, reverse=True))


def newest_good(box: Path, *, today: date) -> Backup | None:
    """Return the newest backup that passes the full check.

    One dated after today is taken only if there is no other: its date came from a wrong clock.
    """
    by_trust = sorted(list_backups(box), key=lambda backup: backup.day > today)
    return next((backup for backup in by_trust if is_sound(backup.path)), None)


def make_backup(box: BoxFile, *, now: datetime, before_version: int | None = None) -> Backup:
    """Copy an open box into its folder of backups, and rotate the old ones.

    Parameters
    ----------
    box
        The open box; it may be in use by others.
    now
        The moment that names the copy, in the player's zone.
    before_version
        The version of the file the box is about to be brought to, if that is why.

    Raises
    ------
    NotSavedError
        The copy could not be written; the box is untouched.
    BoxDamagedError
        The copy does not pass the full check, so the box is damaged.
    """
    if box.path is None:
        raise BoxError("a box in memory has no backups", where=box.name)
    home = backup_folder(box.path)
    part = home / f".{os.getpid()}.part"
    ending = ".box" if before_version is None else f"-before-version-{before_version}.box"
    with disk_explained(home), box.explained(saving=True):
        home.mkdir(exist_ok=True)
        try:
            _copy(box, part)
            path = free_name(home / stamp(now), ending)
            part.rename(path)
        finally:
            part.unlink(missing_ok=True)
        sync(home)
        # Another window may be rotating at the same time.
        for old in to_rotate(list_backups(box.path), today=now.date()):
            old.path.unlink(missing_ok=True)
        _sweep(home, path.stat().st_mtime)
    return Backup(path, now.date(), before_version is not None)


def to_rotate(backups: Iterable[Backup], *, today: date) -> list[Backup]:
    """Return the backups that the rotation lets go."""
    newest_first = sorted(backups, key=_name, reverse=True)
    in_turn = [old for old in newest_first if old.day <= today and not old.before_upgrade]
    weeks = _newest_of(in_turn, lambda day: day.isocalendar()[:2])
    months = _newest_of(in_turn, lambda day: (day.year, day.month))
    kept = {*weeks[:WEEKS], *months[:MONTHS]}
    last_days = {old.day for old in _newest_of(in_turn, lambda day: day)[:DAYS]}
    return [old for old in in_turn if old.day not in last_days and old not in kept]


def _newest_of(newest_first: Iterable[Backup], period: Callable[[date], object]) -> list[Backup]:
    newest: dict[object, Backup] = {}
    for old in newest_first:
        newest.setdefault(period(old.day), old)
    return list(newest.values())


def set_aside(backup: Path, *, now: datetime) -> Path:
    """Rename a damaged backup, so that nobody takes it for a good one; return its new name."""
    aside = free_name(backup.with_name(f"{backup.name}.damaged-{stamp(now)}"))
    with disk_explained(backup.parent):
        backup.rename(aside)
    return aside


def _sweep(home: Path, now: float) -> None:
    """Remove what programs killed in the middle of a backup have left, by the disk's clock."""
    for part in home.glob(".*.part*"):
        with suppress(FileNotFoundError):
            if now - part.stat().st_mtime > STALE_SECONDS:
                part.unlink()


def _copy(box: BoxFile, part: Path) -> None:
    part.unlink(missing_ok=True)
    part.touch()  # what SQLite says of a folder that takes no file names no folder
    with closing(sqlite3.connect(part)) as copy:
        # The copy is synced once, below; until it has its name nobody trusts it.
        copy.execute("PRAGMA journal_mode = OFF")
        copy.execute("PRAGMA synchronous = OFF")
        box.connection.backup(copy, progress=lambda status, *_: _give_up_if_held(box, status))
        if damage(copy):
            raise box.damaged()
    sync(part)


def _give_up_if_held(box: BoxFile, status: int) -> None:
    """Stop a copy that another program keeps waiting: Python's own loop would wait for ever."""
    if status in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}:
        raise box.held()


def unread(made: Iterable[Backup]) -> tuple[Backup, ...]:
    """Return the backups whose files may not be read, which says nothing against them."""
    return tuple(backup for backup in made if not may_be_read(backup.path))


def is_sound(backup: Path) -> bool:
    """Return whether a backup is a box and passes the full check."""
    if is_strange(backup):
        return False  # SQLite would wait for a pipe for ever
    try:
        application_id, _, sound = examine(backup)
    except (sqlite3.Error, BoxError):
        return False
    return application_id == schema.APPLICATION_ID and sound


def may_hold_more(backup: Path, box: Path) -> bool:
    """Return whether a backup holds an entry that its box does not.

    True also where the two cannot be compared.
    """
    more = " UNION ALL ".join(
        f"SELECT id FROM main.{table}"  # noqa: S608 - our own names
        " WHERE id NOT IN (SELECT id FROM box.take)"
        " AND id NOT IN (SELECT id FROM box.retraction)"
        for table in ("take", "retraction")
    )
    try:
        with closing(sqlite3.connect(_to_read(backup), uri=True)) as copy:
            copy.execute("ATTACH ? AS box", (_to_read(box),))
            (found,) = copy.execute(f"SELECT EXISTS ({more})").fetchone()
            return bool(found)
    except (sqlite3.Error, UnicodeDecodeError):  # what SQLite says may quote a damaged file
        return True


def examine(backup: Path) -> tuple[int, int, bool]:
    """Return the application id, the version, and whether it passes the full check.

    A file of ours that lacks a table, or a column, which nothing brings back does not pass.

    Raises
    ------
    BoxForeignError
        Beside it lies what SQLite would wait for.
    """
    refuse_strange_neighbours(backup)
    with closing(sqlite3.connect(_to_read(backup), uri=True)) as copy:
        pragmas = ("application_id", "user_version")
        first, second = (copy.execute(f"PRAGMA {name}").fetchone()[0] for name in pragmas)
        sound = not damage(copy)
        if sound and first == schema.APPLICATION_ID:
            sound = schema.KEPT.keys() <= whole_tables(copy)
        return first, second, sound


def _to_read(file: Path) -> str:
    return f"{file.absolute().as_uri()}?mode=ro"


def _name(backup: Backup) -> str:
    # Names sort by age: "_02", the second of one second, comes after the dot of the first.
    return backup.path.name


def stamp(now: datetime) -> str:
    """Return a moment as names of files have it."""
    return now.strftime("%Y-%m-%d-%H%M%S")


def free_name(start: Path, ending: str = "") -> Path:
    """Return a path that is not taken yet, numbered if it has to be."""
    numbers = chain([""], (f"_{n:02}" for n in count(2)))
    names = (start.with_name(f"{start.name}{number}{ending}") for number in numbers)
    return next(path for path in names if not there(path))


def sync(path: Path) -> None:
    """Bring a file or a folder to the disk."""
    if os.name == "nt" and path.is_dir():  # Windows opens no folders
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def disk_explained(place: Path) -> Iterator[None]:
    """Turn an error of the disk into ours."""
    try:
        yield
    except OSError as error:
        raise NotSavedError(
            f"not saved: {error.strerror or error}",
            where=str(place),
            fix="make room, or make it writable",
        ) from error
