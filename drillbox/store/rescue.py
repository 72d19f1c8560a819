"""What can still be read of the take log of a damaged file.

A damaged page takes some rows with it and leaves the others. The log's rows are numbered without
gaps, so they can be asked for by number: a range that cannot be read is halved until only the lost
rows are left out. What is found merges into a restored backup, for the log is a set.
"""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, Any

from drillbox.errors import UsageError
from drillbox.store import takelog

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from drillbox.store.boxfile import BoxFile
    from drillbox.store.rows import LogEntry

SMALLEST_ENTRY = 100  # bytes in the file; a retraction with its two index entries takes more


def readable_entries(box: BoxFile) -> list[LogEntry]:
    """Return the entries that can be read, by (at, id)."""
    highest = _size(box) // SMALLEST_ENTRY
    found: list[LogEntry] = []
    for select, entry_of in _PARTS:
        for row in _rows(box.connection, f"{select} WHERE seq BETWEEN ? AND ?", 1, highest):
            try:
                found.append(entry_of(row))
            except (UsageError, ValueError, TypeError):
                continue  # a row that damage has changed
    return takelog.in_order(found)


_PARTS: tuple[tuple[str, Callable[[Any], LogEntry]], ...] = (
    (takelog.TAKES, takelog.take_of),
    (takelog.RETRACTIONS, takelog.retraction_of),
)


def _size(box: BoxFile) -> int:
    """Return how large the file is, or was by its header before it was cut short."""
    with box.explained():
        pages = int(box.connection.execute("PRAGMA page_count").fetchone()[0])
        page = int(box.connection.execute("PRAGMA page_size").fetchone()[0])
    if box.path is None:
        return pages * page
    with box.path.open("rb") as file:
        header = file.read(32)
    # Bytes 28 to 31 of https://sqlite.org/fileformat.html, section 1.3: the size in pages.
    return max(pages, int.from_bytes(header[28:32], "big")) * page


def _rows(db: sqlite3.Connection, select: str, low: int, high: int) -> Iterator[Any]:
    try:
        rows = db.execute(select, (low, high)).fetchall()
    except sqlite3.DatabaseError:
        if low < high:
            middle = (low + high) // 2
            yield from _rows(db, select, low, middle)
            yield from _rows(db, select, middle + 1, high)
        return
    yield from rows
