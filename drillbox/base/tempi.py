"""The tempos that each part of the program takes, in bpm: one table of them."""

from __future__ import annotations

from typing import NamedTuple


class TempoRange(NamedTuple):
    """The slowest and the fastest tempo, both included."""

    least: int
    most: int

    def nearest(self, bpm: float) -> float:
        """Return a tempo, or the end of the range that it lies beyond."""
        return min(max(bpm, self.least), self.most)


ASKED = TempoRange(20, 400)
"""What a deck, a player or the plan may ask for: goals, and the tempo of a take to come."""
TAKEN = TempoRange(8, 400)
"""What a player may say was played. Below 8 the lowest cut of a grade has no logarithm."""
LOGGED = TempoRange(1, 1000)
"""What may stand in a log: the tables of the box refuse anything else."""
SOUNDED = TempoRange(10, 600)
"""What a click or a play-along is made for: half an asked tempo, and ramps above it."""
FIRST_GOAL = TempoRange(40, 240)
"""What the first start offers as a goal for a whole deck."""
