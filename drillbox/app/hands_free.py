"""A day that runs itself.

The rest after a take, in which a foot can grade it, and the start of the next.

Sticks stay in hand. In the rest a grade key grades as ever; a foot on any pedal that sends space,
enter or a page key counts taps: none leaves it steady, one is clean, two shaky, three fell apart.
When the rest is over the verdict stands and the next take begins; before another card the rest is
given once more, to read it.

Whatever else may grade (a pad, a measured take) calls the same `Stand.give_grade`.
"""

from __future__ import annotations

from drillbox.memory import Grade

REST_SECONDS = 8.0
_TAPPED = (Grade.STEADY, Grade.CLEAN, Grade.SHAKY, Grade.FELL_APART)


class Rest:
    """One rest: when it began, and the taps so far."""

    def __init__(self, now: float) -> None:
        self._over = now + REST_SECONDS
        self._taps = 0

    def tap(self) -> None:
        """Count a tap of the foot."""
        self._taps += 1

    @property
    def verdict(self) -> Grade:
        """What the taps say; a fourth begins anew at steady."""
        return _TAPPED[self._taps % len(_TAPPED)]

    def seconds_left(self, now: float) -> float:
        """Return what is left of the rest."""
        return max(0.0, self._over - now)
