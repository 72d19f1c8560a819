"""The take log in SQL: append, take back, read, and the union of two logs.

The log is a set. An entry is named by its id, never changes and never goes away; so the union of
logs is commutative, associative and idempotent, and a retraction may arrive before the take it
answers. A take counts if no retraction names it.

Order: readers get entries by (at, id), which is the same on every machine. `seq`, the order of
arrival in this box, serves `mark` and the undo of what was just recorded here.
"""

from __future__ import annotations

import json
from datetime import datetime
from itertools import count
from typing import TYPE_CHECKING, Any

from drillbox.errors import LogError, UnknownCardError, UsageError
from drillbox.store import checks
from drillbox.store.rows import LogEntry, Retraction, TakeRow

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Sequence

TAKES = "SELECT id, card_id, bpm, grade, at, zone, seconds, source, measures FROM take"
RETRACTIONS = "SELECT id, take_id, at FROM retraction"
_COUNTS = "NOT EXISTS (SELECT 1 FROM retraction WHERE take_id = take.id)"
# Hops from card to card in the index, so its time grows with the cards and not with the takes.
_LAST_TAKES = f"""
WITH RECURSIVE played(card) AS (
  SELECT min(card_id) FROM take
  UNION ALL
  SELECT (SELECT min(card_id) FROM take WHERE card_id > card) FROM played WHERE card IS NOT NULL
)
{TAKES} JOIN played ON take.seq = (
  SELECT seq FROM take WHERE card_id = card AND {_COUNTS} ORDER BY at DESC, id DESC LIMIT 1
)"""  # noqa: S608 - our own constants


def mark(db: sqlite3.Connection) -> int:
    """Return the greatest `seq`: it grows with every entry and never falls."""
    (greatest,) = db.execute(
        "SELECT max(coalesce((SELECT max(seq) FROM take), 0),"
        " coalesce((SELECT max(seq) FROM retraction), 0))"
    ).fetchone()
    return int(greatest)


def changed_cards(db: sqlite3.Connection, after: int) -> frozenset[str]:
    """Return the cards whose history got an entry after the mark `after`."""
    rows = db.execute(
        "SELECT card_id FROM take WHERE seq > ?1 UNION"
        " SELECT take.card_id FROM retraction JOIN take ON take.id = retraction.take_id"
        " WHERE retraction.seq > ?1",
        (after,),
    )
    return frozenset(card for (card,) in rows)


def add(db: sqlite3.Connection, row: TakeRow) -> None:
    """Append a take; the same take again is a retry that already succeeded, and changes nothing."""
    known = take(db, row.id)
    if known is None:
        _append(db, mark(db) + 1, row, here=True)
    elif known != row:
        raise UsageError("another take has this id", where=row.id, fix="give every take its own id")


def retract(db: sqlite3.Connection, row: Retraction) -> Retraction:
    """Append a retraction, or return the one that answered the take before."""
    if take(db, row.take_id) is None:
        raise UnknownCardError("no such take in the box", where=row.take_id)
    earlier = db.execute(
        f"{RETRACTIONS} WHERE take_id = ? ORDER BY seq LIMIT 1",
        (row.take_id,),
    ).fetchone()
    if earlier is not None:
        return retraction_of(earlier)
    _append(db, mark(db) + 1, row, here=True)
    return row


def take(db: sqlite3.Connection, take_id: str) -> TakeRow | None:
    """Return the take of that id, retracted or not."""
    found = db.execute(f"{TAKES} WHERE id = ?", (take_id,)).fetchone()
    return None if found is None else take_of(found)


def takes(
    db: sqlite3.Connection, *, card_id: str | None = None, since: datetime | None = None
) -> list[TakeRow]:
    """Return the takes that count, by (at, id)."""
    where, values = [_COUNTS], []
    if card_id is not None:
        where.append("card_id = ?")
        values.append(card_id)
    if since is not None:
        where.append("at >= ?")
        values.append(checks.instant_text(since))
    rows = db.execute(f"{TAKES} WHERE {' AND '.join(where)} ORDER BY at, id", values)
    return [take_of(row) for row in rows]


def last_takes(db: sqlite3.Connection) -> dict[str, TakeRow]:
    """Return each card's latest take that counts, by card id."""
    return {row[1]: take_of(row) for row in db.execute(_LAST_TAKES)}


def last_take(db: sqlite3.Connection) -> TakeRow | None:
    """Return the take recorded last in this box that still counts, else the latest one merged in.

    By arrival, not by its time: after the clock was set back, the take just played is still the
    last one.
    """
    for here in (1, 0):
        found = db.execute(
            f"{TAKES} WHERE here = ? AND {_COUNTS} ORDER BY seq DESC LIMIT 1",
            (here,),
        ).fetchone()
        if found is not None:
            return take_of(found)
    return None


def entries(db: sqlite3.Connection) -> list[LogEntry]:
    """Return the whole log, retracted takes and all, by (at, id)."""
    log: list[LogEntry] = [take_of(row) for row in db.execute(TAKES)]
    log += map(retraction_of, db.execute(RETRACTIONS))
    return in_order(log)


def in_order(log: Iterable[LogEntry]) -> list[LogEntry]:
    """Return entries by (at, id)."""
    return sorted(log, key=lambda entry: (entry.at, entry.id))


def merge(db: sqlite3.Connection, log: Iterable[LogEntry]) -> int:
    """Append the entries that are not here yet; return how many there were."""
    seqs = count(mark(db) + 1)
    added = 0
    for entry in log:
        known = _entry_like(db, entry)
        if known is None:
            _append(db, next(seqs), entry, here=False)
            added += 1
        elif known != entry:
            raise LogError(
                "the box has another entry of this id",
                where=entry.id,
                fix="one of the two logs was edited by hand; nothing of it was taken in",
            )
    return added


def _entry_like(db: sqlite3.Connection, entry: LogEntry) -> LogEntry | None:
    if isinstance(entry, TakeRow):
        return take(db, entry.id)
    found = db.execute(f"{RETRACTIONS} WHERE id = ?", (entry.id,)).fetchone()
    return None if found is None else retraction_of(found)


def _append(db: sqlite3.Connection, seq: int, entry: LogEntry, *, here: bool) -> None:
    at = checks.instant_text(entry.at)
    if isinstance(entry, Retraction):
        db.execute("INSERT INTO retraction VALUES (?, ?, ?, ?)", (seq, entry.id, entry.take_id, at))
        return
    measures = None if entry.measures is None else checks.json_text(entry.measures, "measures")
    db.execute(
        "INSERT INTO take VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            *(seq, entry.id, entry.card_id, entry.bpm, entry.grade, at),
            *(entry.zone, entry.seconds, entry.source, measures, here),
        ),
    )


def take_of(row: Sequence[Any]) -> TakeRow:
    """Return the take of a row that `TAKES` selected."""
    key, card_id, bpm, grade, at, zone, seconds, source, measures = row
    return TakeRow(
        key,
        card_id,
        bpm,
        grade,
        datetime.fromisoformat(at),
        zone,
        seconds,
        source,
        None if measures is None else json.loads(measures),
    )


def retraction_of(row: Sequence[Any]) -> Retraction:
    """Return the retraction of a row that `RETRACTIONS` selected."""
    key, take_id, at = row
    return Retraction(key, take_id, datetime.fromisoformat(at))
