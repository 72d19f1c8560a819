"""The take log as columns, for those who read all of it at once.

The same takes that `drillbox.store.takelog.takes` gives, in the same order, many times as fast
(`drillbox.store.fitness`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from drillbox.store import checks, fitness, guard, takelog, unusable_entries
from drillbox.store.rows import MEASURING

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from numpy.typing import NDArray

    _Column = Sequence[Any]

# All of them are read, in whatever order they lie: an index on the way would cost more.
_SELECT = f"{takelog.numbered(takelog.TAKES)} WHERE {takelog.COUNTS} AND +at <= ?"


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


class WholeLog(NamedTuple):
    """All takes that count and make sense, and the entries of the log that make none."""

    takes: TakeColumns
    unusable: list[guard.Unusable]


def read(db: sqlite3.Connection, *, until: datetime) -> TakeColumns:
    """Return the takes up to a moment; rows that cannot be used are passed over."""
    rows = guard.fetched(db, _SELECT, (checks.instant_text(until),))
    _, *columns = _turned(rows)
    found = fitness.sift(columns)
    return _in_order(columns, found, found.fit)


def read_all(db: sqlite3.Connection, *, until: datetime) -> WholeLog:
    """Return the takes up to a moment, and all entries, of whenever, that cannot be used."""
    numbers, columns, found = _looked_through(db)
    last = checks.instant_text(until)
    in_time = np.fromiter((type(at) is str and at <= last for at in columns[4]), np.bool_)
    takes = _in_order(columns, found, found.fit & in_time)
    return WholeLog(takes, _unusable(db, numbers, found))


def unusable(db: sqlite3.Connection) -> list[guard.Unusable]:
    """Return the entries that cannot be used."""
    numbers, _, found = _looked_through(db)
    return _unusable(db, numbers, found)


def _looked_through(db: sqlite3.Connection) -> tuple[_Column, Sequence[_Column], fitness.Sifted]:
    """Return all takes that count, their numbers in the log first, and what was found of them."""
    rows = guard.fetched(db, f"{takelog.numbered(takelog.TAKES)} WHERE {takelog.COUNTS}")
    numbers, *columns = _turned(rows)
    return numbers, columns, fitness.sift(columns)


def _unusable(
    db: sqlite3.Connection, numbers: _Column, found: fitness.Sifted
) -> list[guard.Unusable]:
    unfit = [numbers[k] for k in np.flatnonzero(~found.fit).tolist()]
    return unusable_entries.found(db, among=unfit)


def _turned(rows: Sequence[_Column]) -> Sequence[_Column]:
    """Return rows of takes, each after its number in the log, as columns."""
    return tuple(zip(*rows, strict=True)) if rows else [()] * 10


def _in_order(
    columns: Sequence[_Column], found: fitness.Sifted, kept: NDArray[np.bool_]
) -> TakeColumns:
    """Return those of some takes that are kept, by (at, id)."""
    places = np.flatnonzero(kept)
    order = places[np.argsort(found.at[places], kind="stable")]
    if not (np.diff(found.at[order]) > 0).all():
        ids = columns[0]
        order = np.array(sorted(order.tolist(), key=lambda k: (found.at[k], ids[k])), np.int64)
    chosen = order.tolist()
    told = [found.measures[k] for k in chosen]
    _, card_ids, bpm, grade, _, zone, seconds, source, _ = (
        [column[k] for k in chosen] for column in columns
    )
    cards, card = _indexed(card_ids)
    names, zones = _indexed(zone)
    first: dict[int, Mapping[str, Any]] = {}
    for k in np.unique(card, return_index=True)[1].tolist():
        if told[k]:
            first[int(card[k])] = told[k]
    return TakeColumns(
        cards,
        card,
        found.at[order],
        np.array(bpm, np.float64),
        np.array(grade, np.int64),
        np.array(seconds, np.float64),
        names,
        zones,
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
