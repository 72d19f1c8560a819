"""Looking a box file over without changing a byte: its pages, its tables, its log, its backups.

The log only grows, so whatever a good backup holds of it must be in the box; and its entries are
numbered without gaps, so a gap says that another program was at it.
"""

from __future__ import annotations

import sqlite3
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass, replace
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple

from drillbox.errors import BoxDamagedError, BoxError
from drillbox.store import backups, guard, restoring, schema, takelog
from drillbox.store.boxfile import backup_folder, damage, refuse_strange_neighbours
from drillbox.store.opening import open_box

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import datetime
    from pathlib import Path

    from drillbox.store.backups import Backup
    from drillbox.store.boxfile import BoxFile
    from drillbox.store.rows import LogEntry


@dataclass(frozen=True, slots=True)
class FileState:
    """What was found of a box file.

    Parameters
    ----------
    damage
        What SQLite's full check, or the reading of the log, says is broken; empty where nothing is.
    altered
        Tables, indexes and triggers that are not as this version makes them.
    entries
        How many entries of the log there are, retracted takes and retractions included.
    gaps
        How many numbers of the log are missing, given twice or below 1.
    good, bad
        The backups that pass the full check, and those that do not, newest first.
    only_in_backups
        How many entries good backups hold that the box does not.
    used_up
        Whether the numbers of the log are used up, so that no entry can follow.
    unread
        The backups, or the folder of all of them, that may not be read.
    """

    damage: tuple[str, ...]
    altered: tuple[str, ...]
    entries: int
    gaps: int
    good: tuple[Backup, ...] = ()
    bad: tuple[Backup, ...] = ()
    only_in_backups: int = 0
    used_up: bool = False
    unread: tuple[Path, ...] = ()


def look_over(
    path: Path, *, now: datetime, meanwhile: Callable[[], None] = lambda: None
) -> FileState:
    """Return what there is to say of a box and its backups.

    The box and its backups are checked in threads: SQLite lets others run while it reads.

    Parameters
    ----------
    path, now
        The box, and now.
    meanwhile
        Is called while they are checked. What it raises is raised only where the box is whole: of
        a damaged one nothing can be expected.

    Raises
    ------
    BoxForeignError
        It is another program's file, or a newer drillbox's.
    BoxError
        There is no such box, or it cannot be opened for another reason than damage.
    """
    refuse_strange_neighbours(path)
    restoring.undo_broken_write(path)
    failure = None
    with ThreadPoolExecutor(2) as beside:
        checking, judging = beside.submit(_of_box, path, now), beside.submit(_judged, path)
        try:
            meanwhile()
        except Exception as error:  # noqa: BLE001 - raised below
            failure = error
    judged, found = judging.result(), checking.result()
    state = replace(found, good=judged.good, bad=judged.bad, unread=judged.unread)
    if state.damage:
        return state
    if failure is not None:
        raise failure
    if not judged.with_more:
        return state
    with closing(open_box(path, now=now, read_only=True).box) as box, box.reading() as db:
        ids = takelog.ids(db)
    return replace(state, only_in_backups=len(entries_of(judged.with_more, without=ids, now=now)))


def _of_box(path: Path, now: datetime) -> FileState:
    """Return what there is to say of the box itself."""
    try:
        opened = open_box(path, now=now, read_only=True)
    except BoxDamagedError as error:
        return FileState((error.what,), (), 0, 0)
    with closing(opened.box) as box:
        broken = tuple(
            f"the table {name}, or some of its columns, is gone" for name in opened.lost
        ) + _damage(box)
        if broken:
            return FileState(broken, (), 0, 0)
        with box.reading() as db:
            used_up = takelog.mark(db) >= takelog.LAST_SEQ
            return FileState((), _altered(db), *_gaps(db), used_up=used_up)


class _Judged(NamedTuple):
    """The backups that are good and those that are bad, and what may not be read and so judged.

    `with_more` are good ones that may hold entries that the box does not.
    """

    good: tuple[Backup, ...]
    bad: tuple[Backup, ...]
    unread: tuple[Path, ...]
    with_more: tuple[Backup, ...]


def _judged(path: Path) -> _Judged:
    try:
        made = backups.list_backups(path)
    except BoxError:
        return _Judged((), (), (backup_folder(path),), ())
    unread = backups.unread(made)
    read = tuple(backup for backup in made if backup not in unread)
    good = tuple(backup for backup in read if backups.is_sound(backup.path))
    bad = tuple(backup for backup in read if backup not in good)
    with_more = tuple(backup for backup in good if backups.may_hold_more(backup.path, path))
    return _Judged(good, bad, tuple(backup.path for backup in unread), with_more)


def entries_of(good: Iterable[Backup], *, without: set[str], now: datetime) -> list[LogEntry]:
    """Return the entries that backups hold and `without` does not name."""
    found: dict[str, LogEntry] = {}
    for backup in good:
        with (
            closing(open_box(backup.path, now=now, read_only=True).box) as box,
            box.reading() as db,
        ):
            if takelog.ids(db) <= without | found.keys():
                continue
            for entry in takelog.entries(db):
                if entry.id not in without:
                    found.setdefault(entry.id, entry)
    return takelog.in_order(found.values())


def _damage(box: BoxFile) -> tuple[str, ...]:
    try:
        with box.reading() as db:
            said = damage(db)
            said += [f"a card of {row[0]} without its deck" for row in _orphans(db)]
            db.execute("SELECT count(*), max(length(measures)) FROM take").fetchone()
            db.execute("SELECT count(*), max(length(at)) FROM retraction").fetchone()
    except BoxError as error:
        return (error.what,)
    return tuple(said)


def _orphans(db: sqlite3.Connection) -> list[tuple[str]]:
    return db.execute("PRAGMA foreign_key_check").fetchall()


def _altered(db: sqlite3.Connection) -> tuple[str, ...]:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as model:
        for statement in chain.from_iterable(schema.STEPS):
            model.execute(statement)
        ours, theirs = _tables(model), _tables(db)
    return tuple(sorted({name for name, _ in ours ^ theirs}))


def _tables(db: sqlite3.Connection) -> set[tuple[str, str]]:
    # Another program may have put anything into the text of a table.
    return set(
        guard.fetched(
            db,
            "SELECT name, sql FROM sqlite_schema"
            " WHERE sql IS NOT NULL AND name NOT LIKE '\\_%' ESCAPE '\\'"
            " AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"
            " AND NOT (type = 'index' AND tbl_name LIKE '\\_%' ESCAPE '\\')",
        )
    )


def _gaps(db: sqlite3.Connection) -> tuple[int, int]:
    entries, known, greatest = db.execute(
        "SELECT count(*), count(DISTINCT seq) FILTER (WHERE seq > 0), max(max(seq), 0)"
        " FROM (SELECT seq FROM take UNION ALL SELECT seq FROM retraction)"
    ).fetchone()
    return entries, (entries - known) + ((greatest or 0) - known)
