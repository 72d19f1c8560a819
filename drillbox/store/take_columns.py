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

_ALL = f"{takelog.numbered(takelog.TAKES)} WHERE {takelog.COUNTS}"
# Nearly all of them are read, in whatever order they lie: an index, which a bare "at" would have
# SQLite take, costs more.
_UNTIL = f"{_ALL} AND +at <= ?"
_NEWEST = f"{_ALL} AND at <= ? ORDER BY at DESC, id DESC LIMIT ?"


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


def read(db: sqlite3.Connection, *, until: datetime, newest: int | None = None) -> TakeColumns:
    """Return the takes up to a moment, or so many of the newest.

    Rows that cannot be used are passed over.
    """
    last = checks.instant_text(until)
    if newest is None:
        rows = guard.fetched(db, _UNTIL, (last,))
    else:
        rows = guard.fetched(db, _NEWEST, (last, newest))
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
    rows = guard.fetched(db, _ALL)
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
    at, told = found.at, found.measures
    if not kept.all():
        some = np.flatnonzero(kept).tolist()
        at, told = at[some], [told[k] for k in some]
        columns = [[column[k] for k in some] for column in columns]
    ids, card_ids, bpm, grade, _, zone, seconds, source, _ = columns
    order = np.argsort(at, kind="stable")
    if not (np.diff(at[order]) > 0).all():
        order = np.lexsort((np.array(ids, np.str_), at))
    cards, card = _indexed(card_ids, order)
    names, zones = _indexed(zone, order)
    first: dict[int, Mapping[str, Any]] = {}
    for index, k in zip(*np.unique(card, return_index=True), strict=True):
        if measures := told[order[k]]:
            first[int(index)] = measures
    return TakeColumns(
        cards,
        card,
        at[order],
        np.array(bpm, np.float64)[order],
        np.array(grade, np.int64)[order],
        np.array(seconds, np.float64)[order],
        names,
        zones,
        _level(told, checks.LEVEL)[order],
        _level(told, checks.LEVEL_AFTER)[order],
        first,
        np.array([one in MEASURING for one in source], np.bool_)[order],
    )


def _level(told: Sequence[Mapping[str, Any]], name: str) -> NDArray[np.float64]:
    return np.array([one.get(name, np.nan) if one else np.nan for one in told], np.float64)


def _indexed(
    values: Sequence[str], order: NDArray[np.int64]
) -> tuple[tuple[str, ...], NDArray[np.int64]]:
    """Return the different values as they first occur in an order, and each one's index there."""
    names = list(dict.fromkeys(values))
    places = {name: place for place, name in enumerate(names)}
    found = np.array([places[value] for value in values], np.int64)[order]
    first = np.argsort(np.unique(found, return_index=True)[1])
    index = np.empty(len(names), np.int64)
    index[first] = np.arange(len(names))
    return tuple(names[place] for place in first.tolist()), index[found]
