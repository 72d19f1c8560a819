"""The practice days of many moments at once, in columns.

The same days as `drillbox.base.now.practice_day` gives, for those who look at a whole log. The
offset of a zone is asked for once a day of UTC, and moment by moment only on a day on which the
clocks change.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from drillbox.base.now import EPOCH, TICK

if TYPE_CHECKING:
    from datetime import tzinfo

    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

DAY = 86_400_000_000
"""Microseconds."""
_EPOCH_DAY = EPOCH.toordinal()
_HOUR = DAY // 24


def microseconds(days: NDArray[np.float64]) -> Whole:
    """Return moments given in days since the Unix epoch as whole microseconds since then."""
    return np.rint(days * DAY).astype(np.int64)


def microseconds_of(at: datetime) -> int:
    """Return a moment as whole microseconds since the Unix epoch."""
    return (at - EPOCH) // TICK


def practice_days(moments: Whole, zone: tzinfo, day_ends_at: int) -> Whole:
    """Return the practice days of moments, microseconds since the epoch, on a zone's wall clock."""
    wall = moments + _offsets(moments, zone) - day_ends_at * _HOUR
    days: Whole = np.floor_divide(wall, DAY) + _EPOCH_DAY
    return days


def _offsets(moments: Whole, zone: tzinfo) -> Whole:
    days, place = np.unique(np.floor_divide(moments, DAY), return_inverse=True)
    begins = days.tolist()
    known = {day: _offset(day * DAY, zone) for day in {*begins, *(day + 1 for day in begins)}}
    begin, end = (np.array([known[day + later] for day in begins], np.int64) for later in (0, 1))
    offsets = begin[place]
    for k in np.flatnonzero((begin != end)[place]).tolist():
        offsets[k] = _offset(int(moments[k]), zone)
    return offsets


def _offset(moment: int, zone: tzinfo) -> int:
    at = EPOCH + timedelta(microseconds=moment)
    return (at.astimezone(zone).utcoffset() or timedelta()) // TICK
