"""Moments, practice days and zones: where a wall clock becomes numbers.

The pure rooms count time in days since the Unix epoch (UTC, float) and in *practice days* (the
proleptic Gregorian ordinal of `datetime.date.toordinal`, local). A practice day turns over at four
in the morning local time, because a player who practises after a show at one in the night is still
in yesterday's day.

Conventions: a *moment* is an aware `datetime`. A zone is kept as text: an IANA name where the
moment carries one (``Europe/Zurich``), else its offset (``+01:00``).
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

from drillbox.errors import UsageError

DAY_TURNS = timedelta(hours=4)
EPOCH_ORDINAL = date(1970, 1, 1).toordinal()
"""The practice day from which days are counted."""
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_OFFSET = re.compile(r"([+-])(\d{2}):(\d{2})")


def require_moment(at: datetime) -> datetime:
    """Return `at`, or refuse one without a zone."""
    if at.utcoffset() is None:
        raise UsageError(
            f"the moment {at.isoformat()} has no time zone",
            fix="give an aware datetime, for example datetime.now().astimezone()",
        )
    return at


def epoch_days(at: datetime) -> float:
    """Return days since the Unix epoch, UTC."""
    return (require_moment(at) - _EPOCH) / timedelta(days=1)


def practice_day(at: datetime) -> int:
    """Return the ordinal of the local practice day that `at` belongs to.

    Notes
    -----
    The subtraction is done on the wall clock, so a day with 23 or 25 hours is one day, once.
    """
    return (require_moment(at).replace(tzinfo=None) - DAY_TURNS).date().toordinal()


def day_name(ordinal: int) -> str:
    """Return the practice day in words, e.g. ``Wed 25 Nov``."""
    day = date.fromordinal(ordinal)
    return f"{day:%a} {day.day} {day:%b}"


def zone_of(at: datetime) -> str:
    """Return the zone of a moment as text that `in_zone` reads."""
    zone = require_moment(at).tzinfo
    if isinstance(zone, ZoneInfo) and zone.key:
        return zone.key
    offset = f"{at:%z}"[:5]
    return f"{offset[:3]}:{offset[3:]}"


def in_zone(at: datetime, zone: str) -> datetime:
    """Return the same moment on the wall clock of `zone`.

    A zone this machine does not know falls back to UTC: a log from another machine must stay
    readable.
    """
    offset = _OFFSET.fullmatch(zone)
    if offset:
        sign, hours, minutes = offset.groups()
        shift = timedelta(hours=int(hours), minutes=int(minutes))
        return at.astimezone(timezone(shift if sign == "+" else -shift))
    try:
        return at.astimezone(ZoneInfo(zone))
    except (KeyError, ValueError, OSError):
        return at.astimezone(UTC)
