"""Rebuilding a damaged box from its newest good backup and what can still be read of it.

The new box is built whole beside the old one and changes places with it at the end, so that a kill
at any moment leaves the one or the other. Nothing is overwritten: the damaged file and damaged
backups are set aside by dated names.
"""

from __future__ import annotations

import os
import shutil
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox.errors import BoxDamagedError, BoxError
from drillbox.store import (
    backups,
    decks_and_wishes,
    migrations,
    rescue,
    restoring,
    takelog,
    union,
)
from drillbox.store.boxfile import BoxFile
from drillbox.store.union import Holdings

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterable
    from datetime import datetime
    from typing import Any

    from drillbox.store.backups import Backup
    from drillbox.store.rows import CardRow, DeckRow

READABLE_FIRST = "make its backups readable first, or move them away"


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """What a rebuilt box was made of.

    Parameters
    ----------
    backup
        The backup it began with, or None where there was no good one.
    aside
        Where the damaged file is now.
    entries
        How many entries of the log it has.
    brought_over
        How many of them only the damaged file still had.
    unread
        Whether some of the damaged file's entries could not be read.
    """

    backup: Backup | None
    aside: Path | None
    entries: int
    brought_over: int
    unread: bool


@dataclass(frozen=True, slots=True)
class _Readable:
    """What can still be read of a damaged box, and whether some of its log can not."""

    own: Holdings
    decks: tuple[DeckRow, ...]
    cards: tuple[CardRow, ...]
    unread: bool

    def __bool__(self) -> bool:
        return bool(self.own.log or self.own.wishes or self.own.settings or self.decks)


def rebuild(path: Path, *, now: datetime) -> Rebuilt:
    """Replace the damaged box by its newest good backup and all that it still says itself.

    Raises
    ------
    BoxDamagedError
        There is no good backup, and either there are some that may not be read, or nothing in the
        file can be read; the file stays where it is.
    NotSavedError
        The disk has no room for it; the file stays where it is.
    """
    readable = _read_on(path)
    good = backups.newest_good(path, today=now.date())
    if good is None and backups.unread(backups.list_backups(path)):
        raise BoxDamagedError("the box is damaged", where=str(path), fix=READABLE_FIRST)
    if good is None and not readable:
        raise BoxDamagedError(
            "nothing in the box can be read, and no good backup lies beside it",
            where=str(path),
            fix="bring in another machine's box, or an exported log, with a new box",
        )
    part = path.with_name(f".{path.name}.{os.getpid()}.repair")
    try:
        if good is not None:
            with backups.disk_explained(part):
                shutil.copyfile(good.path, part)
        entries, brought_over = _fill(part, readable)
        aside = restoring.restore(path, part, now=now)
    finally:
        for left in (part, Path(f"{part}-journal")):
            left.unlink(missing_ok=True)
    return Rebuilt(good, aside, entries, brought_over, readable.unread)


def set_aside(bad: Iterable[Backup], *, now: datetime) -> list[Path]:
    """Rename damaged backups, so that no restore takes them for good; return their new names."""
    return [backups.set_aside(backup.path, now=now) for backup in bad]


def _read_on(path: Path) -> _Readable:
    """Read what can be read, part by part."""
    try:
        box = BoxFile(path, read_only=True)
    except BoxError:
        return _Readable(Holdings(), (), (), unread=True)
    with closing(box):
        log = _or_nothing(partial(rescue.readable_entries, box))
        unread = not _reads_through(box)
        parts = [_or_nothing(partial(_read, box, read)) for read in _PARTS]
    wishes, settings, decks, cards = (tuple(part) for part in parts)
    return _Readable(Holdings(tuple(log), wishes, settings), decks, cards, unread)


_PARTS: tuple[Callable[[sqlite3.Connection], Iterable[Any]], ...] = (
    lambda db: decks_and_wishes.wishes(db).values(),
    lambda db: decks_and_wishes.settings(db).values(),
    decks_and_wishes.decks,
    decks_and_wishes.cards,
)


def _read(box: BoxFile, read: Callable[[sqlite3.Connection], Iterable[Any]]) -> list[Any]:
    with box.reading() as db:
        return list(read(db))


def _reads_through(box: BoxFile) -> bool:
    """Return whether the whole log can be read, row by row."""
    try:
        with box.reading() as db:
            for select in (takelog.TAKES, takelog.RETRACTIONS):
                for _ in db.execute(select):
                    pass
    except BoxError:
        return False
    return True


def _or_nothing(read: Callable[[], list[Any]]) -> list[Any]:
    with suppress(BoxError):
        return read()
    return []


def _fill(part: Path, readable: _Readable) -> tuple[int, int]:
    """Write what was read into the new file.

    Return how many entries it has, and how many of them are new.
    """
    with closing(BoxFile(part)) as box, box.writing() as db:
        migrations.apply(db)
        known = {(type(entry), entry.id) for entry in takelog.entries(db)}
        # Of an entry in both, the backup's is believed: damage may have changed the other.
        log = tuple(e for e in readable.own.log if (type(e), e.id) not in known)
        joined = union.join(db, replace(readable.own, log=log), through=iter)
        editions = {deck.id: deck.edition for deck in decks_and_wishes.decks(db)}
        for deck in readable.decks:
            if deck.edition > editions.get(deck.id, 0):
                decks_and_wishes.put_deck(
                    db, deck, [c for c in readable.cards if c.deck_id == deck.id]
                )
        return len(known) + joined.entries, joined.entries
