"""The cache of what follows from the log, in SQL: beliefs, and each card's days.

Both are computed from the log and may be thrown away at any time. The cache as a whole carries the
version of the premises that it was computed by, the log's mark and the moment it accounts for:
another version is no cache; what came into the log after the mark (by another window, by a merge)
and what was dated later than the moment is what has to be replayed.

A body is packed as little-endian IEEE 754 doubles, so it comes back bit by bit.
"""

from __future__ import annotations

import struct
from datetime import datetime
from typing import TYPE_CHECKING, Any

from drillbox.store import checks, guard, takelog
from drillbox.store.rows import BeliefCache, BeliefRow, Standing

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable

_NO_CARD = "0" * 16
"""Stands with a row that cannot be read, in which even the card may be none."""


def read(db: sqlite3.Connection, version: str) -> BeliefCache | None:
    """Return what was stored by these premises; by others, None.

    A row that cannot be read stands there with no numbers, of which no belief can be made.
    """
    standing = _standing(db)
    if standing is None or standing.version != version:
        return None
    rows = guard.fetched(db, "SELECT card_id, body FROM belief")
    return BeliefCache(standing, {str(card_id): _row(card_id, body) for card_id, body in rows})


def courses(db: sqlite3.Connection, card_id: str | None = None) -> dict[str, bytes]:
    """Return the days of all cards, or of one, packed as they were stored."""
    select = "SELECT card_id, body FROM course WHERE :card IS NULL OR card_id = :card"
    rows = guard.fetched(db, select, {"card": card_id})
    return {card: body for card, body in rows if isinstance(card, str) and isinstance(body, bytes)}


def put(
    db: sqlite3.Connection, rows: Iterable[BeliefRow], *, since: Standing | None, now: Standing
) -> None:
    """Store what follows for the cards that changed after `since`.

    A cache that stands elsewhere, because another window was faster or an earlier write was
    refused, is left as it is: these rows would not complete it. Those replayed from the log's
    beginning, where `since` is None, always do, and replace another version's.
    """
    stands = _standing(db)
    if since is not None:
        fits = _is_same(db, stands, since)
    else:
        fits = stands is None or stands.version != now.version or stands.mark <= now.mark
        if fits:
            drop(db)
    if fits:
        _store(db, rows, now)


def advance(
    db: sqlite3.Connection, rows: Iterable[BeliefRow], *, since: Standing, now: Standing
) -> None:
    """Store what follows from the one entry that came since.

    Where the cache or the log stands elsewhere by now, another window was faster: the cache is left
    as it is, and its mark says what is to be replayed.
    """
    if takelog.mark(db) == now.mark and _is_same(db, _standing(db), since):
        _store(db, rows, now)


def drop(db: sqlite3.Connection) -> None:
    """Throw the cache away."""
    db.execute("DELETE FROM belief")
    db.execute("DELETE FROM course")
    db.execute("DELETE FROM history_state")


def nothing_is_unusable(db: sqlite3.Connection) -> None:
    """Note that no entry up to the cache's mark is passed over any more."""
    db.execute("UPDATE history_state SET unusable = 0")


def _standing(db: sqlite3.Connection) -> Standing | None:
    found = guard.fetched(db, "SELECT version, mark, until, unusable FROM history_state")
    made = guard.usable(
        found, lambda row: Standing(row[0], row[1], datetime.fromisoformat(row[2]), row[3])
    )
    return made[0] if made else None


def _is_same(db: sqlite3.Connection, one: Standing | None, other: Standing) -> bool:
    """Whether two caches account for the same takes; an empty log is accounted for by none."""
    if one is None:
        return other.mark == 0
    if (one.version, one.mark) != (other.version, other.mark):
        return False
    first, last = sorted((one.until, other.until))
    return first == last or not takelog.cards_between(db, first, last)


def _store(db: sqlite3.Connection, rows: Iterable[BeliefRow], now: Standing) -> None:
    rows = list(rows)
    db.executemany(
        "REPLACE INTO belief (card_id, body) VALUES (?, ?)",
        [(row.card_id, struct.pack(f"<{len(row.body)}d", *row.body)) for row in rows],
    )
    db.executemany(
        "REPLACE INTO course (card_id, body) VALUES (?, ?)",
        [(row.card_id, row.days) for row in rows],
    )
    until = checks.instant_text(now.until)
    db.execute(
        "REPLACE INTO history_state (only, version, mark, until, unusable) VALUES (1, ?, ?, ?, ?)",
        (now.version, now.mark, until, now.unusable),
    )


def _row(card_id: Any, body: Any) -> BeliefRow:
    try:
        return BeliefRow(card_id, struct.unpack(f"<{len(body) // 8}d", body))
    except (*guard.WRONG, struct.error):
        return BeliefRow(_NO_CARD, ())
