"""One open box file: the connection, its transactions, and what SQLite's errors mean to a player.

Durability: rollback journal (one file to carry about, and free of the write-ahead log's rare
corruption with two writers before SQLite 3.51.3, https://sqlite.org/wal.html),
``synchronous=EXTRA``, which after a commit also syncs the folder in which the journal was deleted
(https://sqlite.org/pragma.html#pragma_synchronous): what was said to be saved survives a power cut.
(On macOS it takes ``fullfsync`` too: there, a plain sync stops at the drive's own cache.) Every
write is ``BEGIN IMMEDIATE``: the lock is taken before anything is read, so two windows wait for one
another instead of failing half-way.

Nothing of sqlite3's leaves this room: `explained` turns its errors into those of `drillbox.errors`.
"""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox.base.files import is_strange
from drillbox.errors import (
    BoxDamagedError,
    BoxError,
    BoxForeignError,
    BoxMovedError,
    NotSavedError,
    UsageError,
)
from drillbox.store import guard
from drillbox.store.schema import CACHES, KEPT

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

BUSY_SECONDS = 5.0
BESIDE = ("-journal", "-wal", "-shm")
"""Endings of the files that SQLite has beside a box."""

_DAMAGE = frozenset({sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB})
_NO_TEXT = "Could not decode to UTF-8"
"""Of the text of a table, for rows are read by those who can (`drillbox.store.guard`)."""
_GONE = frozenset(f"no such table: {name}" for name in (*KEPT, *CACHES))
_REFUSALS = {
    sqlite3.SQLITE_FULL: ("the disk is full", "free some space and try again"),
    sqlite3.SQLITE_IOERR: ("the disk cannot be written or read", "check the disk and try again"),
    sqlite3.SQLITE_READONLY: ("the box may only be read", "make the file and its folder writable"),
    sqlite3.SQLITE_CANTOPEN: (
        "it cannot be opened",
        "make the file readable, and it and its folder writable",
    ),
    sqlite3.SQLITE_PERM: ("the box may only be read", "make the file and its folder writable"),
    sqlite3.SQLITE_BUSY: ("another program holds the box", "wait for it to finish and try again"),
    sqlite3.SQLITE_LOCKED: ("another program holds the box", "wait for it to finish and try again"),
}
_BROKEN_OFF = (
    "a write to it was broken off and is not undone yet",
    "open it once with drillbox where it may be written",
)
_MOVED = ("the box was moved or replaced while it was open", "close drillbox and start it again")


_OF_A_VALUE = re.compile(r"CHECK constraint failed in |(NULL|[\w-]+) value in ")
_MOST_LINES = 10_000
_MOST_KEPT_KIB = 65_536


def damage(db: sqlite3.Connection, *, quick: bool = False) -> list[str]:
    """Return what SQLite's check says is broken of a file's pages, tables and indexes.

    A value that its column does not allow is no damage to the file: such a row is passed over by
    every reader (`drillbox.store.guard`).
    """
    # It goes along every index, so through the pages in any order: kept, each is read once.
    db.execute(f"PRAGMA cache_size = -{_MOST_KEPT_KIB}")
    said = db.execute(f"PRAGMA {'quick' if quick else 'integrity'}_check({_MOST_LINES})")
    # SQLite puts several lines into one answer.
    lines = [line for (answer,) in said for line in str(answer).splitlines()]
    return [
        line
        for line in lines
        if line != "ok" and "***" not in line and not _OF_A_VALUE.search(line)
    ]


def whole_tables(db: sqlite3.Connection) -> set[str]:
    """Return our tables that are there with all their columns, whatever else they have."""
    found = dict(guard.fetched(db, "SELECT name, sql FROM sqlite_schema WHERE type = 'table'"))
    made = (KEPT | CACHES).items()
    return {
        name
        for name, sql in made
        if name in found and (found[name] == sql or _columns(sql, name) <= _columns_of(db, name))
    }


def _columns(sql: str, name: str) -> set[str]:
    with closing(sqlite3.connect(":memory:")) as model:
        model.execute(sql)
        return _columns_of(model, name)


def _columns_of(db: sqlite3.Connection, name: str) -> set[str]:
    return {column for _, column, *_ in guard.fetched(db, f"PRAGMA table_xinfo({name})")}


def refuse_strange_neighbours(box: Path) -> None:
    """Refuse a box beside which, by a name that SQLite looks for, lies no plain file.

    For a pipe it would wait for ever.
    """
    for ending in BESIDE:
        beside = Path(f"{box}{ending}")
        if is_strange(beside):
            what = "this lies beside the box and is no plain file"
            raise BoxForeignError(what, where=str(beside), fix="take it away")


def backup_folder(box: Path) -> Path:
    """Return the folder in which a box's backups lie."""
    return box.with_name(f"{box.name}.backups")


class BoxFile:
    """A connection to one box, with the two kinds of transaction the room uses.

    Parameters
    ----------
    path
        The file, or None for a box in memory.
    read_only
        Open without any right to write, and read on past damage where SQLite can.
    remedy
        Says what to do when the file turns out to be damaged; asked only then, for it may take a
        while.
    """

    def __init__(
        self, path: Path | None, *, read_only: bool = False, remedy: Callable[[], str] = str
    ) -> None:
        self.path = path
        self.read_only = read_only
        self._remedy = remedy
        self.name = str(path) if path is not None else "the box in memory"
        with self.explained():
            self.connection = self._connect()

    def _connect(self) -> sqlite3.Connection:
        if self.path is None:
            target = ":memory:"
        else:
            refuse_strange_neighbours(self.path)
            mode = "ro" if self.read_only else "rwc"
            target = f"{self.path.absolute().as_uri()}?mode={mode}"
        connection = sqlite3.connect(target, uri=True, timeout=BUSY_SECONDS, isolation_level=None)
        try:
            self._prepare(connection)
        except sqlite3.Error:
            connection.close()
            raise
        return connection

    def _prepare(self, connection: sqlite3.Connection) -> None:
        if self.read_only:
            # A truncated file is refused whole unless the connection may doubt the header.
            connection.execute("PRAGMA writable_schema = ON")
        # Another machine's box comes from outside: https://sqlite.org/security.html, section 1.2.
        connection.execute("PRAGMA cell_size_check = ON")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA recursive_triggers = ON")
        connection.execute("PRAGMA synchronous = EXTRA")
        connection.execute("PRAGMA fullfsync = ON")

    def wait_for_others(self, seconds: float) -> None:
        """Say how long a question or a write waits while another program holds the file."""
        self.connection.execute(f"PRAGMA busy_timeout = {round(seconds * 1000)}")

    @contextmanager
    def explained(self, *, saving: bool = False) -> Iterator[None]:
        """Turn an error of sqlite3 into ours: `NotSavedError` while saving, else a `BoxError`."""
        try:
            yield
        except UnicodeDecodeError as error:  # what SQLite says may quote a damaged file
            raise self.damaged() from error
        except sqlite3.DatabaseError as error:
            code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR)
            if code & 0xFF in _DAMAGE or str(error) in _GONE or _NO_TEXT in str(error):
                raise self.damaged() from error
            what, fix = _REFUSALS.get(code & 0xFF, (str(error).rstrip("."), ""))
            if code == sqlite3.SQLITE_READONLY_DBMOVED:
                what, fix = _MOVED
            if code == sqlite3.SQLITE_READONLY_ROLLBACK:
                what, fix = _BROKEN_OFF
            if saving:
                kind = BoxMovedError if (what, fix) == _MOVED else NotSavedError
                raise kind(f"not saved: {what}", where=self.name, fix=fix) from error
            raise BoxError(what, where=self.name, fix=fix) from error

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Give the connection inside an immediate transaction: all of it is on disk, or nothing."""
        with self.explained(saving=True):
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield self.connection
                self.connection.execute("COMMIT")
            except BaseException:
                self._roll_back()
                raise

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Give the connection inside a transaction, so that several reads see one state."""
        with self.explained():
            self.connection.execute("BEGIN")
            try:
                yield self.connection
            except (UsageError, ValueError, TypeError) as error:
                # No row was let in like this, so something else has been at the file.
                raise self.damaged() from error
            finally:
                self._roll_back()

    def read_a_copy(self, change: Callable[[sqlite3.Connection], None]) -> None:
        """Go on with a private copy in memory that `change` was applied to.

        The file stays as it is.
        """
        with self.explained():
            copy = sqlite3.connect(":memory:", isolation_level=None)
            self.connection.backup(copy)
            self.connection.close()
            self.connection = copy
            copy.execute("PRAGMA recursive_triggers = ON")
            copy.execute("BEGIN")
            change(copy)
            copy.execute("COMMIT")
            copy.execute("PRAGMA query_only = ON")

    def _roll_back(self) -> None:
        # A full disk or a failing one may have ended the transaction already.
        if self.connection.in_transaction:
            with suppress(sqlite3.Error):
                self.connection.execute("ROLLBACK")

    def held(self) -> NotSavedError:
        """Return the error for a file that another program holds for too long."""
        what, fix = _REFUSALS[sqlite3.SQLITE_BUSY]
        return NotSavedError(f"not saved: {what}", where=self.name, fix=fix)

    def damaged(self) -> BoxDamagedError:
        """Return the error for a file that cannot be followed, with its remedy."""
        return BoxDamagedError("the box is damaged", where=self.name, fix=self._remedy())

    def close(self) -> None:
        """Close the connection; an open transaction is undone."""
        self.connection.close()
