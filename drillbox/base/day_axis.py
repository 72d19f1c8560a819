"""Ticks for an axis of days: single days, weeks, or the first days of months.

Conventions: days are ordinals, as in `datetime.date.toordinal`.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["day_ticks", "tick_name"]

MONTHS_APART = (1, 2, 3, 6, 12, 24, 60)
DAYS_APART = (1, 2, 7, 14)


def day_ticks(first: int, last: int, most: int) -> list[int]:
    """Return days for the ticks of an axis: at most so many, months apart where it spans them."""
    for apart in DAYS_APART:
        found = list(range(first, last + 1, apart))
        if len(found) <= most:
            return found
    for months in MONTHS_APART:
        found = [day.toordinal() for day in _month_starts(first, last, months)]
        if len(found) <= most:
            return found
    return [first]


def _month_starts(first: int, last: int, apart: int) -> Iterable[date]:
    day, end = date.fromordinal(first), date.fromordinal(last)
    for year in range(day.year, end.year + 1):
        for month in range(1, 13):
            start = date(year, month, 1)
            if (year * 12 + month - 1) % apart == 0 and day <= start <= end:
                yield start


def tick_name(ordinal: int, *, year: bool) -> str:
    """Return what stands under a tick: a month, or a day of one; with its year, or without."""
    day = date.fromordinal(ordinal)
    if day.day == 1:
        return f"{day:%b} {day.year}" if year else f"{day:%b}"
    return f"{day.day} {day:%b} {day.year}" if year else f"{day.day} {day:%b}"
