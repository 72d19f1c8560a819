"""When a take was played, as it is typed: ``yesterday 18:30``, ``18:30``, ``2026-11-25 18:30``.

A word for a day means the practice day, as everywhere in drillbox: at one in the morning "18:30" is
the evening that has just been, and "yesterday 1:00" the end of the night after yesterday. A date is
the calendar's.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING

from drillbox.base.now import day_name
from drillbox.errors import UsageError
from drillbox.store.checks import FIRST_MOMENT

if TYPE_CHECKING:
    from drillbox.base.now import Now

_WORDS = {"": 0, "today": 0, "yesterday": 1}
"""How many practice days ago."""
_TYPED = re.compile(
    r"(?P<day>today|yesterday|\d{4}-\d{2}-\d{2}|)[ t]?(?:(?P<hour>\d{1,2}):(?P<minute>\d{2}))?",
    re.ASCII,
)


def read_when(text: str, now: Now) -> datetime:
    """Return the moment that a text means, on the player's wall clock.

    Without a time it is this time of that day. Of a time that came twice, as the clocks were set
    back, the first is meant.

    Parameters
    ----------
    text
        A day and a time, or one of them.
    now
        When it is typed.

    Raises
    ------
    UsageError
        No moment is meant, one too early, one that the clocks left out, or one that has not come
        yet.
    """
    typed = _TYPED.fullmatch(" ".join(text.casefold().split()))
    if typed is None or not any(typed.groups()):
        raise _refused(text)
    try:
        at = _moment(typed, now)
    except (ValueError, OverflowError):
        raise _refused(text) from None
    if at > now.at:
        raise UsageError(
            f"{text!r} has not come yet", where="--at", fix="say a day before, such as yesterday"
        )
    return at


def _moment(typed: re.Match[str], now: Now) -> datetime:
    wanted = typed["day"]
    clock = None
    if typed["hour"] is not None:
        clock = time(int(typed["hour"]), int(typed["minute"]))
    if wanted in _WORDS:
        day = now.day - _WORDS[wanted]
        if clock is None:
            return now.on(day).at
        # What is left of a practice day after midnight has the next date.
        on = date.fromordinal(day + (clock.hour < now.day_ends_at))
    else:
        on = date.fromisoformat(wanted)
        clock = clock or now.at.time().replace(fold=0)
    if on.year < FIRST_MOMENT.year:
        raise UsageError(
            f"{on} is too early: takes are from {FIRST_MOMENT.year} on",
            where="--at",
            fix="say when it was played",
        )
    wall = datetime.combine(on, clock, tzinfo=now.at.tzinfo)
    after = _as_shown(wall)
    if typed["hour"] is not None and after.time() != clock:
        before = _as_shown(wall.replace(fold=1))
        raise UsageError(
            f"the clocks were put forward on {day_name(on)} and left {clock:%H:%M} out",
            where="--at",
            fix=f"say {before:%H:%M} or {after:%H:%M}, whichever it was",
        )
    return after


def _as_shown(wall: datetime) -> datetime:
    """Return the moment that a time on the wall means, as the clocks there show it.

    A time that they left out is one before or after it, as its fold says (PEP 495).
    """
    return wall.astimezone(UTC).astimezone(wall.tzinfo)


def _refused(text: str) -> UsageError:
    return UsageError(
        f"{text!r} is no time that can be read",
        where="--at",
        fix="write 18:30, 'yesterday 18:30' or '2026-11-25 18:30'",
    )
