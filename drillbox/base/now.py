"""Now, and practice days: where a wall clock becomes numbers.

A moment enters the program as an aware `datetime` and becomes at once one `Now`: the moment itself,
the days since the Unix epoch that the forgetting formula counts in, the practice day, and the zone.
Whatever is said of a day ("tomorrow", "by Wednesday", "in hand on the 12th") is computed from
practice days and from nothing else.

A *practice day* is a local day, written as the proleptic Gregorian ordinal of
`datetime.date.toordinal`. It ends some hours after midnight, at five unless the player says
otherwise, so that practice after a late show still belongs to the evening.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from typing import Any, Self

from drillbox.errors import UsageError

DAY_ENDS_AT = 5
"""The hour at which a practice day ends, unless the player says otherwise."""
LATEST_DAY_END = 12
"""The latest hour at which it may end; the earliest is 0, midnight."""
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
TICK = timedelta(microseconds=1)
"""The least step of a moment."""
_DAY = timedelta(days=1)
_FIRST, _LAST = (
    (datetime(year, 7, 1, tzinfo=UTC) - EPOCH) / _DAY for year in (1, 9999)
)  # beyond these a change of zone may leave the calendar
_OFFSET = re.compile(r"([+-])(\d{2}):(\d{2})")


@dataclass(frozen=True, slots=True)
class Now:
    """A moment, as everything that depends on it reads it; made by `Now.of`.

    Parameters
    ----------
    at
        The moment, an aware datetime whose time zone knows the changes of the clocks.
    epoch_days
        Days since the Unix epoch, UTC: for the forgetting formula only.
    day
        The practice day, an ordinal.
    day_ends_at
        The hour at which a practice day ends.
    """

    at: datetime
    epoch_days: float
    day: int
    day_ends_at: int

    @classmethod
    def of(cls, at: datetime, day_ends_at: int = DAY_ENDS_AT) -> Self:
        """Return a moment with its practice day, or refuse one without a zone."""
        return cls(at, epoch_days(at), practice_day(at, day_ends_at), day_ends_at)

    @property
    def zone(self) -> str:
        """The offset from UTC that the wall clock has at this moment, as in ``+02:00``."""
        return zone_of(self.at)

    def moment(self, days: float) -> datetime:
        """Return the moment so many days after the Unix epoch, on the wall clock of this zone."""
        since = timedelta(days=min(max(days, _FIRST), _LAST))
        return (EPOCH + since).astimezone(self.at.tzinfo)

    def day_of(self, days: float) -> int:
        """Return the practice day to which the moment so many days after the epoch belongs here."""
        return practice_day(self.moment(days), self.day_ends_at)

    def date_of(self, at: datetime) -> date:
        """Return the practice day to which a moment belongs here, as a date."""
        return date.fromordinal(self.day_of(epoch_days(at)))

    @property
    def today(self) -> date:
        """The practice day as a date."""
        return date.fromordinal(self.day)

    def on(self, day: int) -> Self:
        """Return the same time of day on another practice day.

        Where the clocks skip that time, the nearest one that is still on the day asked for.
        """
        wall = self.at.replace(fold=0) + (day - self.day) * _DAY
        late, early = (
            self.of(
                wall.replace(fold=fold).astimezone(UTC).astimezone(wall.tzinfo), self.day_ends_at
            )
            for fold in (0, 1)
        )
        return late if late.day == day else early


def read_day_end(value: Any) -> int:
    """Return the hour that a stored setting means, or the usual one where it means none."""
    fits = type(value) is int and 0 <= value <= LATEST_DAY_END
    return value if fits else DAY_ENDS_AT


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
    return (require_moment(at) - EPOCH) / _DAY


def practice_day(at: datetime, day_ends_at: int) -> int:
    """Return the ordinal of the local practice day that `at` belongs to.

    Notes
    -----
    The subtraction is done on the wall clock, so a day with 23 or 25 hours is one day, once.
    """
    wall = require_moment(at).replace(tzinfo=None)
    return (wall - timedelta(hours=day_ends_at)).date().toordinal()


def day_name(day: int | date) -> str:
    """Return a practice day, an ordinal or a date, in words, e.g. ``Wed 25 Nov``."""
    on = day if isinstance(day, date) else date.fromordinal(day)
    return f"{on:%a} {on.day} {on:%b}"


def coming_day(ordinal: int, today: int) -> str:
    """Return a practice day ahead as one says when it is, e.g. ``tomorrow``, ``on Wed 25 Nov``."""
    return "tomorrow" if ordinal == today + 1 else f"on {day_name(ordinal)}"


def long_day(ordinal: int) -> str:
    """Return a day with its year, as in ``4 Mar 2026``."""
    day = date.fromordinal(ordinal)
    return f"{day.day} {day:%b} {day.year}"


def zone_of(at: datetime) -> str:
    """Return the offset of a moment's wall clock from UTC, as in ``+02:00``.

    A take is kept with it: unlike a zone's name it reads the same on every machine for good.
    """
    offset = f"{require_moment(at):%z}"[:5]
    return f"{offset[:3]}:{offset[3:]}"


def in_zone(at: datetime, zone: str) -> datetime:
    """Return the same moment on the wall clock of `zone`, an offset or an IANA name.

    A zone this machine does not know falls back to UTC: a log from another machine must stay
    readable.
    """
    return at.astimezone(zone_named(zone))


def zone_named(zone: str) -> tzinfo:
    """Return the zone that a text means, UTC where this machine does not know it."""
    offset = _OFFSET.fullmatch(zone)
    try:
        if offset is None:
            from zoneinfo import ZoneInfo  # noqa: PLC0415 - takes keep offsets; names come seldom

            return ZoneInfo(zone)
        sign, hours, minutes = offset.groups()
        shift = timedelta(hours=int(hours), minutes=int(minutes))
        return timezone(shift if sign == "+" else -shift)
    except (KeyError, ValueError, OSError):
        return UTC
