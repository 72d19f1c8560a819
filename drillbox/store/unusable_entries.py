"""Entries of the log that make no sense: which there are, and how they come to rest.

Every reader passes them over (`drillbox.store.guard`). They stay where they are, since the log only
grows: a take that makes no sense is answered by a retraction, and what no retraction can name is
set aside, which is said in this box alone, for no other box lets such an entry in.
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from drillbox.store import checks, guard, takelog

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterable, Sequence
    from datetime import datetime

_REST = "seq IN (SELECT seq FROM set_aside)"


def found(
    db: sqlite3.Connection, *, after: int = 0, among: Iterable[int] | None = None
) -> list[guard.Unusable]:
    """Return the entries that are passed over and have not come to rest.

    Parameters
    ----------
    db
        The box.
    after
        Only entries that came after this mark of the log.
    among
        The numbers of the takes to look at; None for all.
    """
    where = f"{takelog.COUNTS} AND NOT {_REST} AND seq > ?"
    values: list[int | str] = [after]
    if among is not None:
        where += " AND seq IN (SELECT value FROM json_each(?))"
        values.append(json.dumps(list(among)))
    takes = guard.fetched(db, f"{takelog.numbered(takelog.TAKES)} WHERE {where}", values)
    answers = guard.fetched(db, f"{takelog.numbered(takelog.RETRACTIONS)} WHERE NOT {_REST}")
    sound = guard.usable([row[1:] for row in answers], takelog.retraction_of)
    answered = {answer.take_id for answer in sound}
    open_answers = [row for row in answers if row[2] not in answered]
    return [
        *_wrong(takes, takelog.take_of, table="take"),
        *_wrong(open_answers, takelog.retraction_of, table="retraction"),
    ]


def answerable(db: sqlite3.Connection, wrong: Iterable[guard.Unusable]) -> list[str]:
    """Return the ids of takes that a retraction would let rest, of entries passed over."""
    wrong = list(wrong)
    wrong_answers = {row.key for row in wrong if row.table == "retraction"}
    answers = guard.fetched(db, takelog.RETRACTIONS) if wrong_answers else []
    ids = {row.key for row in wrong if row.table == "take"}
    ids |= {str(take_id) for key, take_id, _ in answers if key in wrong_answers}
    return sorted(
        one for one in ids if checks.ENTRY_ID.fullmatch(one) and takelog.is_taken(db, one)
    )


def set_aside(db: sqlite3.Connection, wrong: Iterable[guard.Unusable], at: datetime) -> None:
    """Let entries rest that no retraction can name."""
    moment = checks.instant_text(at)
    db.executemany(
        "INSERT INTO set_aside (seq, at) VALUES (?, ?)", [(row.number, moment) for row in wrong]
    )


def _wrong(
    rows: Iterable[Sequence[Any]], make: Callable[[Sequence[Any]], object], *, table: str
) -> list[guard.Unusable]:
    return [
        replace(one, number=number)
        for number, *row in rows
        for one in guard.unusable([row], make, table=table)
    ]
