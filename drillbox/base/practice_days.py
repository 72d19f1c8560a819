"""Which days are practice days: a recurrence rule and holidays.

A rule is written in plain words, ``every day``, ``weekdays`` or days such as ``mon wed fri``, or as
a recurrence rule of RFC 5545 such as ``FREQ=DAILY;INTERVAL=2``, which python-dateutil reads.
Holidays are dates and spans of dates, ISO 8601, as in ``2026-12-24 2026-12-27..2027-01-03``.

Conventions: days are proleptic ordinals (`datetime.date.toordinal`); a rule without a start of its
own counts from Monday, 5 January 1970.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from drillbox.errors import UsageError

if TYPE_CHECKING:
    from dateutil.rrule import rrule

EVERY_DAY = "every day"
FARTHEST_DAYS = 366
"""A rule with no practice day within a year is refused."""
_WORDS = {EVERY_DAY: "FREQ=DAILY", "weekdays": "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"}
_DAYS = {
    "mon": "MO", "tue": "TU", "wed": "WE", "thu": "TH", "fri": "FR", "sat": "SA", "sun": "SU",
}  # fmt: skip
_START = datetime(1970, 1, 5)  # noqa: DTZ001 - a rule of local days has no zone
_HELP = (
    "write 'every day', 'weekdays', days as in 'mon wed fri', or a rule as in"
    " 'FREQ=DAILY;INTERVAL=2'"
)


@dataclass(frozen=True, slots=True)
class PracticeDays:
    """A rule and the spans of days that are off.

    Parameters
    ----------
    rule
        As written by the player.
    off
        First and last day of each holiday.
    """

    rule: str
    off: tuple[tuple[int, int], ...]

    def is_off(self, day: int) -> bool:
        """Whether a day is a holiday."""
        return any(first <= day <= last for first, last in self.off)

    def next_after(self, day: int) -> int:
        """Return the first practice day after `day`.

        The very next one if a year of holidays leaves none.
        """
        moment = datetime.combine(date.fromordinal(day), datetime.min.time())
        for found in _rule(self.rule, moment).xafter(moment, inc=False):
            ahead = found.date().toordinal()
            if not self.is_off(ahead):
                return ahead
            if ahead - day > FARTHEST_DAYS:
                break
        return day + 1


def read_practice_days(rule: str, holidays: str = "") -> PracticeDays:
    """Read a rule and holidays as the player wrote them.

    Raises
    ------
    UsageError
        If either cannot be meant; the sentence says what can.
    """
    if _rule(rule, _START).after(_START, inc=True) is None:
        raise UsageError(f"{rule!r} has no practice day", where="days", fix=_HELP)
    return PracticeDays(rule, tuple(_span(word) for word in holidays.replace(",", " ").split()))


@lru_cache(maxsize=32)
def _rule(text: str, now: datetime) -> rrule:
    """Return the rule.

    One in plain words may start anywhere, and starts at `now`, which is quicker.
    """
    from dateutil.rrule import rrule, rrulestr  # noqa: PLC0415 - only where days are asked for

    words = text.strip().lower()
    named = _WORDS.get(words) or _of_days(words)
    try:
        made = rrulestr(named or text.strip().upper(), dtstart=now if named else _START)
    except (ValueError, TypeError, KeyError, AttributeError):
        raise UsageError(f"{text!r} names no practice days", where="days", fix=_HELP) from None
    if not isinstance(made, rrule):
        raise UsageError(f"{text!r} is more than one rule", where="days", fix=_HELP)
    return made


def _of_days(words: str) -> str:
    names = words.replace(",", " ").split()
    if not names or any(name[:3] not in _DAYS for name in names):
        return ""
    return f"FREQ=WEEKLY;BYDAY={','.join(_DAYS[name[:3]] for name in names)}"


def _span(word: str) -> tuple[int, int]:
    first, _, last = word.partition("..")
    try:
        begin = date.fromisoformat(first).toordinal()
        end = date.fromisoformat(last or first).toordinal()
    except ValueError:
        raise UsageError(
            f"{word!r} is no date and no span of dates",
            where="holidays",
            fix="write them as in '2026-12-24 2026-12-27..2027-01-03'",
        ) from None
    if end < begin:
        raise UsageError(
            f"the holiday {word!r} ends before it begins", where="holidays", fix="turn it round"
        )
    return begin, end
