"""The take log as columns, for those who read all of it at once.

The same takes that `drillbox.store.takelog.takes` gives, in the same order, many times as fast
(`drillbox.store.fitness`).
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

_SELECT = f"{takelog.TAKES} WHERE {takelog.COUNTS} AND at <= ? ORDER BY at, id"


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
    columns: Sequence[Sequence[Any]] = tuple(zip(*rows, strict=True)) if rows else [()] * 9
    at, told, fit = fitness.sift(columns)
    if not fit.all():
        kept = np.flatnonzero(fit).tolist()
        at, told = at[kept], [told[k] for k in kept]
        columns = [[column[k] for k in kept] for column in columns]
    _, card_ids, bpm, grade, _, zone, seconds, source, _ = columns
    cards, card = _indexed(card_ids)
    names, places = _indexed(zone)
    first: dict[int, Mapping[str, Any]] = {}
    for k in np.unique(card, return_index=True)[1].tolist():
        if told[k]:
            first[int(card[k])] = told[k]
    return TakeColumns(
        cards,
        card,
        at,
        np.array(bpm, np.float64),
        np.array(grade, np.int64),
        np.array(seconds, np.float64),
        names,
        places,
        _level(told, checks.LEVEL),
        _level(told, checks.LEVEL_AFTER),
        first,
        np.array([one in MEASURING for one in source], np.bool_),
    )


def _level(told: Sequence[Mapping[str, Any]], name: str) -> NDArray[np.float64]:
    return np.array([one.get(name, np.nan) if one else np.nan for one in told], np.float64)


def _indexed(values: Sequence[str]) -> tuple[tuple[str, ...], NDArray[np.int64]]:
    """Return the distinct values in order of their first occurrence, and each one's index there."""
    places = {value: place for place, value in enumerate(dict.fromkeys(values))}
    return tuple(places), np.array([places[value] for value in values], np.int64)
