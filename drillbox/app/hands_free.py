"""A day that runs itself.

The rest after a take, in which a foot can grade it, and the start of the next.

Sticks stay in hand. In the rest a grade key grades as ever; a foot on any pedal that sends space,
enter or a page key counts taps: none leaves it at what was heard, or steady where nothing was; one
is clean, two shaky, three fell apart. When the rest is over the verdict stands and the next take
begins; before another card the rest is given once more, to read it.
"""

from __future__ import annotations

from drillbox.memory import Grade

REST_SECONDS = 8.0
READING_SECONDS = 4.0
"""What was heard stands there for so long at least."""
_TAPPED = (Grade.CLEAN, Grade.SHAKY, Grade.FELL_APART)


class Rest:
    """One rest: when it began, and the taps so far."""

    def __init__(self, now: float) -> None:
        self._over = now + REST_SECONDS
        self._taps = 0
        self._heard: Grade | None = None

    def tap(self) -> None:
        """Count a tap of the foot; a fourth begins anew."""
        self._taps = (self._taps + 1) % (len(_TAPPED) + 1)

    def propose(self, grade: Grade, now: float) -> None:
        """Take note of what was heard of the take, and leave time to read it."""
        self._heard = grade
        self._over = max(self._over, now + READING_SECONDS)

    @property
    def as_heard(self) -> bool:
        """Whether nobody said anything against what was heard."""
        return self._heard is not None and not self._taps

    @property
    def verdict(self) -> Grade:
        """What the taps say, else what was heard, else steady."""
        if self._taps:
            return _TAPPED[self._taps - 1]
        return Grade.STEADY if self._heard is None else self._heard

    def seconds_left(self, now: float) -> float:
        """Return what is left of the rest."""
        return max(0.0, self._over - now)
