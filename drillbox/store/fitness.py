"""Whether the takes of a whole log make sense, asked of all of them at once.

What a row's checks (`drillbox.store.rows.TakeRow`) ask of one value is asked here of a column. The
columns let pass only what is plainly right; a row that one of them stops at is asked by itself, so
the answer is the row's own.

Conventions: columns stand in the order in which `drillbox.store.takelog.TAKES` selects them;
moments are microseconds since the Unix epoch.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from drillbox.base.many_moments import DAY, microseconds_of
from drillbox.base.now import EPOCH
from drillbox.base.tempi import LOGGED
from drillbox.store import checks, guard, takelog
from drillbox.store.rows import LONGEST_TAKE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    Flags = NDArray[np.bool_]
    Whole = NDArray[np.int64]

_TYPES: tuple[set[type], ...] = (
    {str},
    {str},
    {float, int},
    {int},
    {str},
    {str},
    {float, int},
    {str},
    {str, type(None)},
)
_HEX = np.isin(np.arange(256), list(b"0123456789abcdef"))
_MOMENT = "yyyy-mm-ddThh:nn:ss.uuuuuuZ"
_NUMBERS = "ymdhnsu"
_DIGITS = [place for place, sign in enumerate(_MOMENT) if sign in _NUMBERS]
_SIGNS = [place for place, sign in enumerate(_MOMENT) if sign not in _NUMBERS]
_SIGN_CODES = np.array([ord(_MOMENT[place]) for place in _SIGNS], np.uint8)
_WORTH = np.array(
    [
        [10.0 ** _MOMENT.count(number, place + 1) * (_MOMENT[place] == number) for place in _DIGITS]
        for number in _NUMBERS
    ]
)
"""What each digit of a moment counts in its year, its month, its day and so on."""
_SECOND = 1_000_000
_NOTHING: Mapping[str, Any] = MappingProxyType({})
_MOST_MONTHS = 12 * (checks.LAST_MOMENT.year - EPOCH.year)


class Sifted(NamedTuple):
    """What was found of some takes.

    Parameters
    ----------
    at
        Their moments; of one that makes no sense, anything.
    measures
        Their measures, empty where there are none; of one that makes no sense, anything.
    fit
        Which of them make sense.
    """

    at: Whole
    measures: list[Mapping[str, Any]]
    fit: Flags


def sift(columns: Sequence[Sequence[Any]]) -> Sifted:
    """Return which of some takes make sense, when they were, and what was measured of them."""
    count = len(columns[0])
    typed = _typed(columns)
    found = Sifted(np.zeros(count, np.int64), [_NOTHING] * count, np.zeros(count, np.bool_))
    if len(typed) == count:
        found = _plainly_right(columns)
    elif len(typed):
        some = _plainly_right([[column[k] for k in typed.tolist()] for column in columns])
        found.fit[typed], found.at[typed] = some.fit, some.at
        for k, told in zip(typed.tolist(), some.measures, strict=True):
            found.measures[k] = told
    for k in np.flatnonzero(~found.fit).tolist():
        for take in guard.usable([[column[k] for column in columns]], takelog.take_of):
            found.fit[k] = True
            found.at[k] = microseconds_of(take.at)
            found.measures[k] = take.measures or _NOTHING
    return found


def _typed(columns: Sequence[Sequence[Any]]) -> Whole:
    """Return the places of the takes whose values are of the right types."""
    right = np.ones(len(columns[0]), np.bool_)
    for column, types in zip(columns, _TYPES, strict=True):
        if not types.issuperset(map(type, column)):
            right &= np.fromiter((type(value) in types for value in column), np.bool_, len(right))
    return np.flatnonzero(right)


def _plainly_right(columns: Sequence[Sequence[Any]]) -> Sifted:
    entry_id, card_id, bpm, grade, at, zone, seconds, source, measures = columns
    moments, fit = _moments(at)
    fit &= _HEX[_letters(entry_id, 32)].all(axis=1) & _among(card_id, checks.card_id)
    fit &= _between(bpm, LOGGED.least, LOGGED.most) & _between(seconds, 0.0, LONGEST_TAKE)
    fit &= _between(grade, -2, 2)
    fit &= _among(zone, checks.zone) & _among(source, takelog.source_of)
    told = _told(measures)
    if None in told:
        fit &= np.fromiter((one is not None for one in told), np.bool_, len(told))
    return Sifted(moments, [_NOTHING if one is None else one for one in told], fit)


def _letters(texts: Sequence[str], length: int) -> NDArray[np.uint8]:
    """Return texts as rows of ASCII codes; one of another length as question marks."""
    if {length} != set(map(len, texts)):
        texts = [text if len(text) == length else "?" * length for text in texts]
    codes = "".join(texts).encode("ascii", "replace")
    return np.frombuffer(codes, np.uint8).reshape(-1, length)


def _moments(texts: Sequence[str]) -> tuple[Whole, Flags]:
    """Return moments written as `checks.instant_text` writes them, and which are so written."""
    codes = _letters(texts, len(_MOMENT))
    digits = codes[:, _DIGITS] - np.uint8(ord("0"))  # what is below "0" comes out as more than 9
    fit = (digits <= 9).all(axis=1) & (codes[:, _SIGNS] == _SIGN_CODES).all(axis=1)
    numbers = (_WORTH @ digits.T.astype(np.float64)).astype(np.int64)
    year, month, day, hour, minute, second, microsecond = numbers
    # Both bounds are the first moment of a year.
    fit &= (year >= checks.FIRST_MOMENT.year) & (year < checks.LAST_MOMENT.year)
    months = np.clip((year - EPOCH.year) * 12 + month - 1, 0, _MOST_MONTHS)
    begin, end = (
        (months + later).astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
        for later in (0, 1)
    )
    fit &= (month >= 1) & (month <= 12) & (day >= 1) & (day <= end - begin)
    fit &= (hour < 24) & (minute < 60) & (second < 60)
    seconds = hour * 3600 + minute * 60 + second
    moments: Whole = (begin + day - 1) * DAY + seconds * _SECOND + microsecond
    return moments, fit


def _between(values: Sequence[float], low: float, high: float) -> Flags:
    numbers = np.array(values, np.float64)
    return (numbers >= low) & (numbers <= high)


def _among(values: Sequence[str], check: Callable[[Any], object]) -> Flags:
    """Return which values pass a check that is asked of each different one once."""
    different = set(values)
    passing = {value for value in different if guard.usable([(value,)], lambda row: check(row[0]))}
    if len(passing) == len(different):
        return np.ones(len(values), np.bool_)
    return np.fromiter((value in passing for value in values), np.bool_, len(values))


def _told(texts: Iterable[str | None]) -> list[Mapping[str, Any] | None]:
    """Return the measures of each text, empty for no text; None for one that makes no sense."""
    return [_NOTHING if text is None else _read(text) for text in texts]


def _read(text: str) -> Mapping[str, Any] | None:
    try:
        return takelog.measures_of(text)
    except guard.WRONG:
        return None
