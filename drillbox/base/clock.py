"""Clocks as arguments: the real one, and one that a test or a rehearsal turns by hand.

``now()`` is the wall clock, an aware moment; ``seconds()`` is a monotonic count for lengths, so
that a wall clock set back in mid-take gives no negative length. Moments carry a zone that knows
the changes of the clocks to come, so that a day months ahead is told by the wall clock of then.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Protocol

from drillbox.errors import UsageError


class Clock(Protocol):
    """What the app and the commands ask for the time."""

    def now(self) -> datetime:
        """Return the moment, aware."""
        ...

    def seconds(self) -> float:
        """Return a monotonic count of seconds."""
        ...


class MachineZone(tzinfo):
    """The zone that this machine is set to, as its operating system tells it for any moment."""

    def utcoffset(self, dt: datetime | None) -> timedelta | None:
        """Return how far the wall clock is ahead of UTC."""
        return None if dt is None else dt.replace(tzinfo=None).astimezone().utcoffset()

    def dst(self, dt: datetime | None) -> None:
        """Return None: the system tells the offset, not what it is made of."""

    def tzname(self, dt: datetime | None) -> str | None:
        """Return the system's own name of the zone at a moment."""
        return None if dt is None else dt.replace(tzinfo=None).astimezone().tzname()

    def fromutc(self, dt: datetime) -> datetime:
        """Return the wall clock at a moment in UTC; the second of two like hours has fold 1."""
        there = dt.replace(tzinfo=UTC).astimezone()
        wall = there.replace(tzinfo=self)
        return wall if wall.utcoffset() == there.utcoffset() else wall.replace(fold=1)


MACHINE_ZONE = MachineZone()


class SystemClock:
    """The machine's clock, in the machine's zone.

    Parameters
    ----------
    pace
        Seconds told per real second, from the moment of creation. 1 is the truth; a rehearsal of a
        whole practice day takes more.
    """

    def __init__(self, *, pace: float = 1.0) -> None:
        self._pace = pace
        self._started = time.monotonic()
        self._moment = _local_now()

    def now(self) -> datetime:
        """Return the moment, in the zone the machine is in."""
        if self._pace == 1.0:
            return _local_now()
        return _later(self._moment, self.seconds())

    def seconds(self) -> float:
        """Return seconds since this clock was made."""
        return (time.monotonic() - self._started) * self._pace


def _local_now() -> datetime:
    """Return the moment in the machine's zone."""
    try:
        return datetime.now(MACHINE_ZONE)
    except ValueError:
        raise UsageError(
            "the machine's time zone is 24 hours or more from UTC",
            where="TZ",
            fix="set TZ to a zone such as Europe/Berlin, or unset it",
        ) from None


class ManualClock:
    """A clock that stands still until told: for tests and rehearsals."""

    def __init__(self, moment: datetime) -> None:
        self._moment = moment
        self._seconds = 0.0

    def now(self) -> datetime:
        """Return the moment it was set to."""
        return self._moment

    def seconds(self) -> float:
        """Return the seconds it was turned forward, ever."""
        return self._seconds

    def forward(self, *, seconds: float = 0.0, days: float = 0.0) -> None:
        """Turn the clock forward."""
        step = seconds + days * 86_400
        self._moment = _later(self._moment, step)
        self._seconds += step

    def set(self, moment: datetime) -> None:
        """Set the wall clock, back or forth; the monotonic count does not move."""
        self._moment = moment


def _later(at: datetime, seconds: float) -> datetime:
    """Return the moment so many seconds later; plain addition would count on the wall clock."""
    return (at.astimezone(UTC) + timedelta(seconds=seconds)).astimezone(at.tzinfo)
