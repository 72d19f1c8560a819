"""The take log as columns, for those who read all of it at once.

The same takes that `drillbox.store.takelog.takes` gives, in the same order, many times as fast:
what a row's checks ask of one value is asked of all values together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from drillbox.store import checks, fitness, guard, takelog
from drillbox.store.rows import MEASURING

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from numpy.typing import NDArray

_SELECT = f"""
SELECT card_id, bpm, grade, seconds, {fitness.ASKED} FROM take
WHERE {takelog.COUNTS} AND at <= ? AND {fitness.FITS} ORDER BY at, id"""  # noqa: S608 - our own names


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
    level, level_after
        The player's level before and after each take, in octaves; nan where none was written down.
    first_measures
        The measures of each card's first take, by the card's index, where it has any.
    measured
        Whether each take's grade was measured, and not the player's own guess.
    """

    cards: tuple[str, ...]
    card: NDArray[np.int64]
    at: NDArray[np.int64]
    bpm: NDArray[np.float64]
    grade: NDArray[np.int64]
    seconds: NDArray[np.float64]
    zones: tuple[str, ...]
    zone: NDArray[np.int64]
    level: NDArray[np.float64]
    level_after: NDArray[np.float64]
    first_measures: Mapping[int, Mapping[str, Any]]
    measured: NDArray[np.bool_]


def read(db: sqlite3.Connection, *, until: datetime) -> TakeColumns:
    """Return the takes up to a moment; rows that cannot be used are passed over."""
    rows = guard.fetched(db, _SELECT, (checks.instant_text(until),))
    measured = fitness.measured([row[4:] for row in rows])
    rows = [row for row, one in zip(rows, measured, strict=True) if one is not None]
    told = [one for one in measured if one is not None]
    card_ids, bpm, grade, seconds, zone, source, _, at = (
        zip(*rows, strict=True) if rows else [()] * 8
    )
    cards, card = _indexed(card_ids)
    names, places = _indexed(zone)
    first: dict[int, Mapping[str, Any]] = {}
    for k in np.unique(card, return_index=True)[1].tolist():
        if told[k]:
            first[int(card[k])] = told[k]
    return TakeColumns(
        cards,
        card,
        np.array([one[:-1] for one in at], "datetime64[us]").astype(np.int64),
        np.array(bpm, np.float64),
        np.array(grade, np.int64),
        np.array(seconds, np.float64),
        names,
        places,
        np.array([one.get(checks.LEVEL, np.nan) for one in told], np.float64),
        np.array([one.get(checks.LEVEL_AFTER, np.nan) for one in told], np.float64),
        first,
        np.array([one in MEASURING for one in source], np.bool_),
    )


def _indexed(values: Sequence[str]) -> tuple[tuple[str, ...], NDArray[np.int64]]:
    """Return the distinct values in order of their first occurrence, and each one's index there."""
    places = {value: place for place, value in enumerate(dict.fromkeys(values))}
    return tuple(places), np.array([places[value] for value in values], np.int64)
