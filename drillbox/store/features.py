"""What is counted in each rhythm, in SQL: a cache, since counting takes longer than reading.

Numbers follow from the rhythm alone, and `version` says by which rules they were counted; rows of
other rules are no cache.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

from drillbox.store import guard

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping

Numbers = tuple[float, ...]


def read(db: sqlite3.Connection, version: str) -> dict[str, Numbers]:
    """Return the numbers by card id, as counted by these rules."""
    rows = guard.fetched(db, "SELECT card_id, body FROM feature WHERE version = ?", (version,))
    return {
        card_id: struct.unpack(f"<{len(body) // 8}d", body)
        for card_id, body in rows
        if isinstance(card_id, str) and isinstance(body, bytes) and len(body) % 8 == 0
    }


def put(db: sqlite3.Connection, found: Mapping[str, Numbers], *, version: str) -> None:
    """Store numbers, in the place of those of other rules."""
    db.executemany(
        "REPLACE INTO feature (card_id, version, body) VALUES (?, ?, ?)",
        [(card, version, struct.pack(f"<{len(body)}d", *body)) for card, body in found.items()],
    )


def drop(db: sqlite3.Connection) -> None:
    """Throw the numbers away."""
    db.execute("DELETE FROM feature")
