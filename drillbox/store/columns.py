"""The take log as columns, for those who read all of it at once.

The same takes that `drillbox.store.takelog.takes` gives, in the same order, many times as fast:
what a row's checks ask of one value is asked of all values together.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from drillbox.store import checks, guard, takelog
from drillbox.store.rows import FASTEST, LONGEST_TAKE, SLOWEST

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from numpy.typing import NDArray

_MOMENT = "dddd-dd-ddTdd:dd:dd.ddddddZ".replace("d", "[0-9]")
# What the checks of a row ask that SQL can answer; Python asks the rest.
_FITS = f"""
 typeof(id) = 'text' AND length(id) = 32 AND id NOT GLOB '*[^0-9a-f]*'
 AND typeof(card_id) = 'text' AND length(card_id) = 16 AND card_id NOT GLOB '*[^0-9a-f]*'
 AND typeof(bpm) IN ('real', 'integer') AND bpm BETWEEN {SLOWEST} AND {FASTEST}
 AND typeof(grade) = 'integer' AND grade BETWEEN -2 AND 2
 AND typeof(seconds) IN ('real', 'integer') AND seconds BETWEEN 0 AND {LONGEST_TAKE}
 AND typeof(at) = 'text' AND at GLOB '{_MOMENT}'
 AND at >= '{checks.instant_text(checks.FIRST_MOMENT)}'
 AND at < '{checks.instant_text(checks.LAST_MOMENT)}'"""
_SELECT = f"""
SELECT card_id, bpm, grade, at, zone, seconds, source, measures FROM take
WHERE {takelog.COUNTS} AND at <= ? AND {_FITS} ORDER BY at, id"""  # noqa: S608 - our own names


@dataclass(frozen=True, slots=True)
class TakeColumns:
    """Takes that count, by (at, id).

    Parameters
    ----------
    cards
        The card ids that occur.
    card
        For each take, the index of its card.
    at
        Microseconds since the Unix epoch.
    bpm, grade, seconds
        As in `drillbox.store.TakeRow`.
    zones, zone
        The zones that occur, and for each take the index of its zone.
    first_measures
        The measures of each card's first take, by the card's index, where it has any.
    """

    cards: tuple[str, ...]
    card: NDArray[np.int64]
    at: NDArray[np.int64]
    bpm: NDArray[np.float64]
    grade: NDArray[np.int64]
    seconds: NDArray[np.float64]
    zones: tuple[str, ...]
    zone: NDArray[np.int64]
    first_measures: Mapping[int, Mapping[str, Any]]


def read(db: sqlite3.Connection, *, until: datetime) -> TakeColumns:
    """Return the takes up to a moment; rows that cannot be used are passed over."""
    rows = guard.fetched(db, _SELECT, (checks.instant_text(until),))
    zones = _passing({row[4] for row in rows}, checks.zone)
    sources = _passing({row[6] for row in rows}, takelog.source_of)
    rows = [row for row in rows if row[4] in zones and row[6] in sources and _is_fine(row[7])]
    rows, at = _dated(rows)
    card_ids, bpm, grade, _, zone, seconds, _, measures = (
        zip(*rows, strict=True) if rows else [()] * 8
    )
    cards, card = _indexed(card_ids)
    names, places = _indexed(zone)
    first: dict[int, Mapping[str, Any]] = {}
    for k in np.unique(card, return_index=True)[1].tolist():
        if measures[k] is not None:
            first[int(card[k])] = takelog.measures_of(measures[k]) or {}
    return TakeColumns(
        cards,
        card,
        at,
        np.array(bpm, np.float64),
        np.array(grade, np.int64),
        np.array(seconds, np.float64),
        names,
        places,
        first,
    )


def _passing(values: Iterable[Any], check: Callable[[Any], object]) -> frozenset[Any]:
    return frozenset(
        guard.usable(((value,) for value in values), lambda row: check(row[0]) and row[0])
    )


def _is_fine(measures: Any) -> bool:
    if measures is None:
        return True
    try:
        takelog.measures_of(measures)
    except guard.WRONG:
        return False
    return True


def _dated(rows: list[Any]) -> tuple[list[Any], NDArray[np.int64]]:
    """Return the rows with a date of the calendar, and their moments."""
    try:
        moments = np.array([row[3][:-1] for row in rows], "datetime64[us]")
    except ValueError:
        return _dated(guard.usable(rows, lambda row: (datetime.fromisoformat(row[3]), row)[1]))
    return rows, moments.astype(np.int64)


def _indexed(values: Sequence[str]) -> tuple[tuple[str, ...], NDArray[np.int64]]:
    """Return the distinct values in order of their first occurrence, and each one's index there."""
    places = {value: place for place, value in enumerate(dict.fromkeys(values))}
    return tuple(places), np.array([places[value] for value in values], np.int64)
