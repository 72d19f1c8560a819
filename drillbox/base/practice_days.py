"""Which days are practice days: a recurrence rule and holidays.

A rule is written in plain words, ``every day``, ``weekdays`` or days such as ``mon wed fri``, or as
a recurrence rule of RFC 5545 such as ``FREQ=DAILY;INTERVAL=2``, which python-dateutil reads. A rule
may come from another machine, so only parts that name days are let through, none finer than a day,
and whoever follows one looks at most a year ahead: no rule keeps a command waiting.
Holidays are dates and spans of dates, ISO 8601, as in ``2026-12-24 2026-12-27..2027-01-03``.

Conventions: days are proleptic ordinals (`datetime.date.toordinal`); a rule without a start of its
own counts from Monday, 5 January 1970.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from drillbox.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from dateutil.rrule import rrule

EVERY_DAY = "every day"
FARTHEST_DAYS = 366
"""A rule with no practice day within a year is refused, and none is followed farther."""
LONGEST_HOLIDAY = 3 * 366
"""Days; a longer one is more likely a slip in the year than a time off."""
_WORDS = {EVERY_DAY: "FREQ=DAILY", "weekdays": "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"}
_DAYS = {
    "mon": "MO", "tue": "TU", "wed": "WE", "thu": "TH", "fri": "FR", "sat": "SA", "sun": "SU",
}  # fmt: skip
_START = date(1970, 1, 5).toordinal()
_LATE = 19 * 146_097
"""Nineteen times the 400 years after which the calendar repeats, weekdays and all.

A rule that no day fits, such as the thirtieth of February, is looked for until the calendar ends:
so rules are followed near its end.
"""
LONGEST_RULE = 200
_SHAPE = re.compile(r"[A-Z]+=[A-Z0-9,+-]+(?:;[A-Z]+=[A-Z0-9,+-]+)*")
_FINER = {"SECONDLY", "MINUTELY", "HOURLY"}
_FREQUENCIES = {"DAILY", "WEEKLY", "MONTHLY", "YEARLY", *_FINER}
_STEPS = {"DAILY": 1, "WEEKLY": 7}
"""Days after which a rule of an interval of one may be started anew; those of months may not."""
_ALLOWED = {
    "FREQ", "INTERVAL", "UNTIL", "WKST", "BYDAY", "BYMONTHDAY", "BYMONTH", "BYYEARDAY", "BYWEEKNO",
    "BYSETPOS",
}  # fmt: skip
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
        for ahead in _days_of(self.rule, day):
            if not self.is_off(ahead):
                return ahead
        return day + 1


def read_practice_days(rule: str, holidays: str = "") -> PracticeDays:
    """Read a rule and holidays as the player wrote them.

    Raises
    ------
    UsageError
        If either cannot be meant; the sentence says what can.
    """
    if not _in_words(rule) and not _has_days(rule):
        raise UsageError(
            f"{_short(rule)} has no practice day within a year", where="days", fix=_HELP
        )
    return PracticeDays(rule, tuple(_span(word) for word in holidays.replace(",", " ").split()))


@lru_cache(maxsize=32)
def _has_days(rule: str) -> bool:
    return next(_days_of(rule, _START), None) is not None


def _days_of(text: str, day: int) -> Iterator[int]:
    """Give the days of a rule in the year after `day`, in order."""
    parts = _parts(text)
    last = min(day + FARTHEST_DAYS, _last_day(text, parts))
    # Intervals count from `_START`. To keep the steps few, a rule is started later, by whole
    # intervals, where that changes no day.
    step = _STEPS.get(parts["FREQ"], 0) * int(parts.get("INTERVAL", "1"))
    start = day - (day - _START) % step if step and day > _START else _START
    late = _LATE if last + _LATE < date.max.toordinal() else 0
    try:
        rule = _rule(parts, start + late, last + late)
        for found in rule.xafter(_midnight(day + late), inc=False):
            yield found.toordinal() - late
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError, IndexError):
        raise _no_days(text) from None


def _rule(parts: dict[str, str], start: int, last: int) -> rrule:
    from dateutil.rrule import rrule, rrulestr  # noqa: PLC0415 - only where days are asked for

    named = ";".join(f"{name}={value}" for name, value in parts.items() if name != "UNTIL")
    made = rrulestr(named, dtstart=_midnight(start))
    if not isinstance(made, rrule):
        raise TypeError(named)
    return made.replace(until=_midnight(last))


def _parts(text: str) -> dict[str, str]:
    """Return the parts of a rule by name, or refuse one that is not of days."""
    rule = _in_words(text) or text.strip().upper().removeprefix("RRULE:")
    if len(rule) > LONGEST_RULE or not _SHAPE.fullmatch(rule):
        raise _no_days(text)
    pairs = [part.split("=") for part in rule.split(";")]
    parts = dict(pairs)
    if (
        len(parts) != len(pairs)
        or not parts.keys() <= _ALLOWED
        or parts.get("FREQ") not in _FREQUENCIES
    ):
        raise _no_days(text)
    if parts["FREQ"] in _FINER:
        raise UsageError(f"{_short(text)} is finer than a day", where="days", fix=_HELP)
    interval = parts.get("INTERVAL", "1")
    if not (interval.isdigit() and len(interval) <= 3 and 1 <= int(interval) <= FARTHEST_DAYS):
        raise UsageError(
            f"{_short(text)} has no interval of 1 to {FARTHEST_DAYS}", where="days", fix=_HELP
        )
    return parts


def _no_days(text: str) -> UsageError:
    return UsageError(f"{_short(text)} names no practice days", where="days", fix=_HELP)


def _short(text: str) -> str:
    return repr(text) if len(text) <= 60 else f"{text[:57]!r}..."


def _last_day(text: str, parts: dict[str, str]) -> int:
    """Return the day until which a rule goes; of one without an end, the last of the calendar."""
    digits = parts.get("UNTIL", "99991231")[:8]
    try:
        return datetime.strptime(digits, "%Y%m%d").toordinal()  # noqa: DTZ007 - a local day
    except ValueError:
        raise _no_days(text) from None


def _midnight(day: int) -> datetime:
    return datetime.combine(date.fromordinal(day), datetime.min.time())


def _in_words(text: str) -> str:
    """Return the rule that plain words mean; empty where they are none."""
    words = text.strip().lower()
    return _WORDS.get(words) or _of_days(words)


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
    if end - begin > LONGEST_HOLIDAY:
        raise UsageError(
            f"the holiday {word!r} is longer than three years",
            where="holidays",
            fix="look at the years, or write a shorter one",
        )
    return begin, end
