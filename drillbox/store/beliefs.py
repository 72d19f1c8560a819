"""The cache of beliefs, in SQL.

A belief is computed from the log and may be thrown away at any time. The cache as a whole carries
the version of the model that computed it and the log's mark it accounts for: another version is no
cache, and what came into the log after that mark (by another window, by a merge) is what has to be
replayed.

A body is packed as little-endian IEEE 754 doubles, so it comes back bit by bit.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

from drillbox.store import guard, takelog
from drillbox.store.rows import BeliefCache, BeliefRow

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable


def read(db: sqlite3.Connection, version: str) -> BeliefCache:
    """Return the beliefs of this version of the model; of another version, none."""
    mark = _mark(db, version)
    if mark is None:
        return BeliefCache(0, {})
    rows = guard.fetched(db, "SELECT card_id, body FROM belief")
    try:
        found = {card_id: BeliefRow(card_id, _unpack(body)) for card_id, body in rows}
    except (*guard.WRONG, struct.error):
        return BeliefCache(0, {})
    return BeliefCache(mark, found)


def put(
    db: sqlite3.Connection, rows: Iterable[BeliefRow], *, version: str, since: int, mark: int
) -> None:
    """Store beliefs of the cards that changed after `since`, which bring the cache up to `mark`.

    A cache that stands elsewhere, because another window was faster or an earlier write was
    refused, is left as it is: these rows would not complete it. Those replayed from the log's
    beginning always do, and replace another version's.
    """
    stands = _stands_at(db, version)
    if since == 0 and stands is None:
        drop(db)
        stands = 0
    if stands is not None and (stands == since or (since == 0 and stands <= mark)):
        _store(db, rows, version, mark)


def advance(db: sqlite3.Connection, rows: Iterable[BeliefRow], *, version: str, mark: int) -> None:
    """Store beliefs computed on `mark` and the one entry that came since.

    Where the cache or the log stands elsewhere by now, another window was faster: the cache is left
    as it is, and its mark says what is to be replayed.
    """
    now = takelog.mark(db)
    if now == mark + 1 and _stands_at(db, version) == mark:
        _store(db, rows, version, now)


def drop(db: sqlite3.Connection) -> None:
    """Throw the cache away."""
    db.execute("DELETE FROM belief")
    db.execute("DELETE FROM belief_state")


def _mark(db: sqlite3.Connection, version: str) -> int | None:
    found = db.execute("SELECT mark FROM belief_state WHERE version = ?", (version,)).fetchone()
    return None if found is None else int(found[0])


def _stands_at(db: sqlite3.Connection, version: str) -> int | None:
    """Return the mark the cache accounts for.

    0 where there is no cache, None where it is another version's.
    """
    found = db.execute("SELECT version, mark FROM belief_state").fetchone()
    if found is None:
        return 0
    return int(found[1]) if found[0] == version else None


def _store(db: sqlite3.Connection, rows: Iterable[BeliefRow], version: str, mark: int) -> None:
    db.executemany(
        "REPLACE INTO belief (card_id, body) VALUES (?, ?)",
        [(row.card_id, struct.pack(f"<{len(row.body)}d", *row.body)) for row in rows],
    )
    db.execute("REPLACE INTO belief_state (only, version, mark) VALUES (1, ?, ?)", (version, mark))


def _unpack(body: bytes) -> tuple[float, ...]:
    return struct.unpack(f"<{len(body) // 8}d", body)
