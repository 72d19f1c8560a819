"""The take log in SQL: append, take back, read, and the union of two logs.

The log is a set. An entry is named by its id, never changes and never goes away; so the union of
logs is commutative, associative and idempotent, and a retraction may arrive before the take it
answers. A take counts if no retraction names it and its row can be used (`drillbox.store.guard`).

Order: readers get entries by (at, id), which is the same on every machine. `seq`, the order of
arrival in this box, serves `mark` and the undo of what was just recorded here.
"""

from __future__ import annotations

import json
from datetime import datetime
from itertools import count
from typing import TYPE_CHECKING, Any

from drillbox.base.tempi import LOGGED
from drillbox.errors import LogError, NotSavedError, UnknownCardError, UsageError
from drillbox.store import checks, guard
from drillbox.store.rows import LONGEST_SOURCE, LogEntry, Retraction, TakeRow
from drillbox.store.schema import IS_MEASURED

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from contextlib import AbstractContextManager

    Reading = Callable[[], AbstractContextManager[sqlite3.Connection]]

TAKES = "SELECT id, card_id, bpm, grade, at, zone, seconds, source, measures FROM take"
RETRACTIONS = "SELECT id, take_id, at FROM retraction"
PART = 2000
"""So many takes are read at once where the whole log is gone through."""
# With the first comparison alone SQLite finds the place in its index.
_AFTER = "at >= ? AND (at, id) > (?, ?)"
LAST_SEQ = 2**62
"""SQLite counts to twice this; no player comes near it."""
USED_UP = "another program has used up the numbers of the log"
COUNTS = "NOT EXISTS (SELECT 1 FROM retraction WHERE take_id = take.id)"
_COUNTING = f"SELECT 1 FROM take WHERE {COUNTS} AND at <= ? LIMIT ?"  # noqa: S608 - our own constant
# Hops from card to card in the index, so its time grows with the cards and not with the takes.
_LAST_TAKES = f"""
WITH RECURSIVE played(card) AS (
  SELECT min(card_id) FROM take
  UNION ALL
  SELECT (SELECT min(card_id) FROM take WHERE card_id > card) FROM played WHERE card IS NOT NULL
)
{TAKES} JOIN played ON take.seq = (
  SELECT seq FROM take WHERE card_id = card AND {COUNTS} AND at <= :until
  ORDER BY at DESC, id DESC LIMIT 1
)"""  # noqa: S608 - our own constants


def numbered(select: str) -> str:
    """Return a query whose rows begin with their numbers in the log, then go on as before."""
    return select.replace("SELECT ", "SELECT seq, ", 1)


def mark(db: sqlite3.Connection) -> int:
    """Return the greatest `seq`: it grows with every entry and never falls."""
    (greatest,) = db.execute(
        "SELECT max(coalesce((SELECT max(seq) FROM take), 0),"
        " coalesce((SELECT max(seq) FROM retraction), 0))"
    ).fetchone()
    return int(greatest)


def _next_seq(db: sqlite3.Connection) -> int:
    greatest = mark(db)
    if greatest >= LAST_SEQ:
        raise NotSavedError(
            f"not saved: {USED_UP}", fix="export the log and import it into a new box"
        )
    return greatest + 1


def changed_cards(db: sqlite3.Connection, after: int) -> frozenset[str]:
    """Return the cards whose history got an entry after the mark `after`."""
    rows = guard.fetched(
        db,
        "SELECT card_id FROM take WHERE seq > :after UNION"
        " SELECT take.card_id FROM retraction JOIN take ON take.id = retraction.take_id"
        " WHERE retraction.seq > :after",
        {"after": after},
    )
    return _sound_ids(rows)


def _sound_ids(rows: Iterable[Sequence[Any]]) -> frozenset[str]:
    return frozenset(guard.usable(rows, lambda row: checks.card_id(row[0])))


def add(db: sqlite3.Connection, row: TakeRow) -> None:
    """Append a take; the same take again is a retry that already succeeded, and changes nothing."""
    if not is_taken(db, row.id):
        _append(db, _next_seq(db), row, here=True)
    elif take(db, row.id) != row:
        raise UsageError("another take has this id", where=row.id, fix="give every take its own id")


def retract(db: sqlite3.Connection, row: Retraction) -> Retraction:
    """Append a retraction, or return the one that answered the take before."""
    if not is_taken(db, row.take_id):
        raise UnknownCardError("no such take in the box", where=row.take_id)
    given = guard.fetched(db, f"{RETRACTIONS} WHERE take_id = ? ORDER BY seq", (row.take_id,))
    for earlier in guard.usable(given, retraction_of):
        return earlier
    _append(db, _next_seq(db), row, here=True)
    return row


def is_retracted(db: sqlite3.Connection, take_id: str) -> bool:
    """Return whether a take was taken back."""
    given = guard.fetched(db, f"{RETRACTIONS} WHERE take_id = ?", (take_id,))
    return any(True for _ in guard.usable(given, retraction_of))


def take(db: sqlite3.Connection, take_id: str) -> TakeRow | None:
    """Return the take of that id, retracted or not."""
    found = guard.fetched(db, f"{TAKES} WHERE id = ?", (take_id,))
    return next(iter(guard.usable(found, take_of)), None)


def takes_starting(db: sqlite3.Connection, start: str) -> list[TakeRow]:
    """Return the takes whose id starts so, retracted or not, a few at most."""
    rows = guard.fetched(
        db,
        f"{TAKES} WHERE id >= :start AND id < :start || 'g' ORDER BY id LIMIT 9",
        {"start": start},
    )
    return guard.usable(rows, take_of)


def is_taken(db: sqlite3.Connection, take_id: str) -> bool:
    """Return whether a take has this id, be it one that cannot be used."""
    return db.execute("SELECT 1 FROM take WHERE id = ?", (take_id,)).fetchone() is not None


def _is_here(db: sqlite3.Connection, entry: LogEntry) -> bool:
    if isinstance(entry, TakeRow):
        return is_taken(db, entry.id)
    return db.execute("SELECT 1 FROM retraction WHERE id = ?", (entry.id,)).fetchone() is not None


def takes(
    db: sqlite3.Connection,
    *,
    card_id: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
    newest: int | None = None,
    measured: bool = False,
) -> list[TakeRow]:
    """Return the takes that count, by (at, id); of all that there are, so many of the newest.

    `measured` leaves out those that the ear did not measure.
    """
    where: list[str] = [COUNTS]
    values: list[str] = []
    if measured:
        where.append(IS_MEASURED)  # word for word as in the index that finds them
    if card_id is not None:
        where.append("card_id = ?")
        values.append(card_id)
    if since is not None:
        where.append("at >= ?")
        values.append(checks.instant_text(since))
    if until is not None:
        where.append("at <= ?")
        values.append(checks.instant_text(until))
    chosen = f"{TAKES} WHERE {' AND '.join(where)} ORDER BY"
    if newest is not None:
        rows = guard.fetched(db, f"{chosen} at DESC, id DESC LIMIT {newest:d}", values)[::-1]
        found = guard.usable(rows, take_of)
        if len(found) == len(rows):
            return found
        # In the place of those that make no sense, the ones before them.
    found = guard.usable(guard.fetched(db, f"{chosen} at, id", values), take_of)
    return found if newest is None else found[-newest:]


def last_takes(db: sqlite3.Connection, *, until: datetime) -> dict[str, TakeRow]:
    """Return each card's latest take that counts and is not dated later, by card id."""
    rows = guard.fetched(db, _LAST_TAKES, {"until": checks.instant_text(until)})
    found = {take.card_id: take for take in guard.usable(rows, take_of)}
    for card_id in {row[1] for row in rows} - found.keys():
        # The last row of this card cannot be used; the one before may.
        found |= {take.card_id: take for take in takes(db, card_id=card_id, until=until)}
    return found


def last_take(db: sqlite3.Connection) -> TakeRow | None:
    """Return the take recorded last in this box that still counts, else the latest one merged in.

    By arrival, not by its time: after the clock was set back, the take just played is still the
    last one.
    """
    return next(_latest_arrivals(db), None)


def last_of(
    db: sqlite3.Connection, *, since: datetime, meant: Callable[[TakeRow], bool]
) -> TakeRow | None:
    """Return the last take as `last_take` does, of those played since a moment that are meant."""
    return next((take for take in _latest_arrivals(db, since) if meant(take)), None)


def _latest_arrivals(db: sqlite3.Connection, since: datetime | None = None) -> Iterator[TakeRow]:
    """Give the takes that count, the last to arrive first: those recorded here, then the others."""
    played, values = ("", []) if since is None else (" AND at >= ?", [checks.instant_text(since)])
    for here in (1, 0):
        rows = db.execute(
            f"SELECT id FROM take WHERE here = ? AND {COUNTS}{played} ORDER BY seq DESC",  # noqa: S608
            (here, *values),
        )
        for (take_id,) in rows:
            if (found := take(db, take_id)) is not None:
                yield found


def last_moment(db: sqlite3.Connection, *, until: datetime) -> datetime | None:
    """Return when the latest take that counts was played, of those not dated later."""
    select = f"{TAKES} WHERE {COUNTS} AND at <= ? ORDER BY at DESC, id DESC LIMIT 9"
    found = guard.usable(guard.fetched(db, select, (checks.instant_text(until),)), take_of)
    return found[0].at if found else None


def how_many(db: sqlite3.Connection, *, until: datetime, most: int) -> int:
    """Return how many takes count, of those not dated later; `most` where there are more."""
    within = (checks.instant_text(until), most)
    return len(db.execute(_COUNTING, within).fetchall())


def retractions(db: sqlite3.Connection, last: int) -> list[Retraction]:
    """Return the retractions up to a mark of the log, by (at, id)."""
    rows = guard.fetched(db, f"{RETRACTIONS} WHERE seq <= ? ORDER BY at, id", (last,))
    return sorted(guard.usable(rows, retraction_of), key=place)


def parts(reading: Reading, last: int) -> Iterator[list[tuple[Any, ...]]]:
    """Give the rows of all takes of the log, by (at, id), part by part.

    So a long log does not keep its reader waiting.

    Parameters
    ----------
    reading
        Opens the box for a question.
    last
        The mark of the log up to which takes are given.
    """
    where = f"typeof(at) = 'text' AND typeof(id) = 'text' AND seq <= ? AND {_AFTER}"
    select = f"{TAKES} WHERE {where} ORDER BY at, id LIMIT {PART}"
    at = entry_id = ""
    while True:
        with reading() as db:
            rows = guard.fetched(db, select, (last, at, at, entry_id))
        if rows:
            yield rows
        if len(rows) < PART:
            return
        entry_id, at = rows[-1][0], rows[-1][4]


def place(entry: LogEntry) -> tuple[datetime, str]:
    """Return what the log is ordered by."""
    return entry.at, entry.id


def entries(db: sqlite3.Connection) -> list[LogEntry]:
    """Return the whole log, retracted takes and all, by (at, id)."""
    log: list[LogEntry] = [*guard.usable(guard.fetched(db, TAKES), take_of)]
    log += guard.usable(guard.fetched(db, RETRACTIONS), retraction_of)
    return in_order(log)


def cards_between(db: sqlite3.Connection, first: datetime, last: datetime) -> frozenset[str]:
    """Return the cards that have a take dated after `first` and not after `last`."""
    span = (checks.instant_text(first), checks.instant_text(last))
    rows = guard.fetched(db, "SELECT DISTINCT card_id FROM take WHERE at > ? AND at <= ?", span)
    return _sound_ids(rows)


def ids(db: sqlite3.Connection) -> set[str]:
    """Return the ids of all entries."""
    rows = guard.fetched(db, "SELECT id FROM take UNION ALL SELECT id FROM retraction")
    return {key for (key,) in rows}


def in_order(log: Iterable[LogEntry]) -> list[LogEntry]:
    """Return entries by (at, id)."""
    return sorted(log, key=place)


def merge(db: sqlite3.Connection, log: Iterable[LogEntry]) -> int:
    """Append the entries that are not here yet; return how many there were."""
    seqs = count(_next_seq(db))
    added = 0
    for entry in log:
        if not _is_here(db, entry):
            _append(db, next(seqs), entry, here=False)
            added += 1
        elif _entry_like(db, entry) not in (None, entry):
            raise LogError(
                "the box has another entry of this id",
                where=entry.id,
                fix="one of the two logs was edited by hand; nothing of it was taken in",
            )
    return added


def _entry_like(db: sqlite3.Connection, entry: LogEntry) -> LogEntry | None:
    if isinstance(entry, TakeRow):
        return take(db, entry.id)
    found = guard.fetched(db, f"{RETRACTIONS} WHERE id = ?", (entry.id,))
    return next(iter(guard.usable(found, retraction_of)), None)


def _append(db: sqlite3.Connection, seq: int, entry: LogEntry, *, here: bool) -> None:
    at = checks.instant_text(entry.at)
    if isinstance(entry, Retraction):
        db.execute(
            "INSERT INTO retraction (seq, id, take_id, at) VALUES (?, ?, ?, ?)",
            (seq, entry.id, entry.take_id, at),
        )
        _check_it_came(db, "retraction", seq, entry.id)
        return
    measures = None if entry.measures is None else checks.json_text(entry.measures, "measures")
    db.execute(
        "INSERT INTO take"
        " (seq, id, card_id, bpm, grade, at, zone, seconds, source, measures, here)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            *(seq, entry.id, entry.card_id, entry.bpm, entry.grade, at),
            *(entry.zone, entry.seconds, entry.source, measures, here),
        ),
    )
    _check_it_came(db, "take", seq, entry.id)


def _check_it_came(db: sqlite3.Connection, table: str, seq: int, entry_id: str) -> None:
    """Refuse to call an entry saved that another program's trigger has kept out."""
    (there,) = db.execute(
        f"SELECT count(*) FROM {table} WHERE seq = ? AND id = ?",  # noqa: S608 - our own names
        (seq, entry_id),
    ).fetchone()
    if there != 1:
        raise NotSavedError(
            "not saved: another program has changed the tables of the box",
            fix="'drillbox checkup' tells more",
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


def source_of(value: Any) -> str:
    """Return `value` if it can say what gave a take's verdict."""
    return checks.line(value, "source", longest=LONGEST_SOURCE)


def measures_of(text: Any) -> dict[str, Any] | None:
    """Return the measures that a stored text says, if they make sense."""
    return checks.stored_measures(text, slowest=LOGGED.least, fastest=LOGGED.most)


def retraction_of(row: Sequence[Any]) -> Retraction:
    """Return the retraction of a row that `RETRACTIONS` selected."""
    key, take_id, at = row
    return Retraction(key, take_id, datetime.fromisoformat(at))
