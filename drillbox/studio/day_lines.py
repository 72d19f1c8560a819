"""The days of a card as a progress file has them, read all at once.

Nearly every line of a file that holds years is such a day. What is read here is what the reader of
JSON and the checks would read, some times faster; where a line has another form, or anything may be
wrong, nothing is read here, and the word is theirs.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from operator import lt
from typing import TYPE_CHECKING

from drillbox.base.tempi import LOGGED
from drillbox.studio.field_checks import FIRST_DAY, LAST_DAY, MOST_SECONDS, MOST_TAKES
from drillbox.studio.progress import Played

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["MOST_DAYS", "CardDays", "days_at_once"]

MOST_DAYS = 40_000
"""Of one card."""
_NUMBER = r"((?:0|[1-9]\d{0,5})(?:\.\d{1,9})?)"
_DAY_LINE = re.compile(
    r'^\{"kind": "day", "rhythm": "([0-9a-f]{16})", "day": "(\d{4}-\d{2}-\d{2})", '
    rf'"takes": ([1-9]\d{{0,4}}), "seconds": {_NUMBER}, "cold_bpm": {_NUMBER}\}}\n',
    re.MULTILINE | re.ASCII,
)


@dataclass(frozen=True, slots=True)
class CardDays:
    """Days of one rhythm, oldest first."""

    rhythm: str
    days: Sequence[Played]

    def __len__(self) -> int:
        """Return how many days there are: as many as lines."""
        return len(self.days)


def days_at_once(lines: bytes) -> CardDays | None:
    """Return what whole lines say if each is a day of one card; else None."""
    text = lines.decode("ascii", "replace")
    found = _DAY_LINE.findall(text)
    if not text.endswith("\n") or len(found) != text.count("\n") or len(found) > MOST_DAYS:
        return None
    rhythms, dates, *numbers = zip(*found, strict=True)
    takes, seconds, tempi = (
        list(map(kind, column)) for kind, column in zip((int, float, float), numbers, strict=True)
    )
    usual = (
        len(set(rhythms)) == 1
        # Dates of this form stand in the order of their letters.
        and all(map(lt, dates, dates[1:]))
        and dates[0] >= FIRST_DAY
        and dates[-1] <= LAST_DAY
        and max(takes) <= MOST_TAKES
        and max(seconds) <= MOST_SECONDS
        and LOGGED.least <= min(tempi)
        and max(tempi) <= LOGGED.most
    )
    try:
        on = list(map(date.fromisoformat, dates))
    except ValueError:
        return None
    days = tuple(map(Played, on, takes, seconds, tempi))
    return CardDays(rhythms[0], days) if usual else None
