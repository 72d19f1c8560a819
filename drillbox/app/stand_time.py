"""The day's minutes at the stand: what is left of them, and what a take is billed.

Time runs whenever the stand is open and not paused: reading a new pattern costs what it costs, and
each take is billed from the grade before it to its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.store.rows import LONGEST_TAKE

if TYPE_CHECKING:
    from drillbox.base.clock import Clock

LEFT_ALONE_SECONDS = 120.0
"""A stand that is ready for so long without a key has been left: its time stops."""


class StandTime:
    """How long is left, and since when the take on the stand is waited for.

    Parameters
    ----------
    clock
        The time.
    minutes
        Length of the day's practice.
    spent
        Seconds of it that were used before.
    """

    def __init__(self, clock: Clock, *, minutes: int, spent: float) -> None:
        self._clock = clock
        self._seconds = minutes * 60
        self._spent = spent
        self._banked = 0.0
        self._running_since: float | None = clock.seconds()
        self._touched = clock.seconds()

    @property
    def left(self) -> float:
        """Seconds of the day's minutes that are left; never below zero."""
        return max(0.0, self._seconds - self._spent - self.unbilled)

    @property
    def unbilled(self) -> float:
        """Seconds since the last grade, pauses left out."""
        since = self._running_since
        return self._banked + (0.0 if since is None else self._clock.seconds() - since)

    @property
    def left_alone(self) -> bool:
        """Whether the time runs though nobody has touched the stand for long."""
        idle = self._clock.seconds() - self._touched
        return self._running_since is not None and idle >= LEFT_ALONE_SECONDS

    def touch(self) -> None:
        """Note a sign of life."""
        self._touched = self._clock.seconds()

    def stop(self) -> None:
        """Let the time stand still."""
        self._banked, self._running_since = self.unbilled, None

    def stop_when_last_touched(self) -> None:
        """Let the time stand still, as if since the last sign of life."""
        idle = self._clock.seconds() - self._touched
        self._banked, self._running_since = max(0.0, self.unbilled - idle), None

    def go_on(self) -> None:
        """Let the time run, from now on."""
        self._running_since = self._clock.seconds()

    def bill(self) -> float:
        """Take the seconds since the last grade off the day, for a take that lasted so long."""
        seconds = round(min(self.unbilled, LONGEST_TAKE), 1)
        self._banked, self._running_since = 0.0, self._clock.seconds()
        self._spent += seconds
        return seconds

    def take_back(self, seconds: float) -> None:
        """Have the seconds of a take wait for a grade again."""
        self._spent = max(0.0, self._spent - seconds)
        self._banked += seconds
        if self._running_since is None:
            self.go_on()
