"""How long a take is, and how fast it goes.

A take is a count-in of whole bars, whole passes of the pattern for about half a minute, and a
moment to grade it. The tempo of a building take is where success is about 84 % likely: Wilson,
Shenhav, Straccia & Cohen, "The eighty five percent rule for optimal learning", *Nature
Communications* 10:4646 (2019), gives Phi(1) = 0.8413 for Gaussian noise (derived for classifiers;
for motor learning an analogy).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, exp2, floor, log2, sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drillbox.memory import Grade

COUNT_IN_SECONDS = 2.0
"""A count-in is the fewest whole bars that last this long."""
PLAY_SECONDS = 30.0
"""Passes are added until a take has played for about this long."""
GRADE_SECONDS = 6.0
"""To grade a take and breathe."""
CHANGE_SECONDS = 6.0
"""To read a card that was not the last one played."""
SLOWEST, FASTEST = 20, 400
"""Metronome range a plan asks for."""
SUCCESS_SDS = 1.0
"""Success of Phi(1) = 84.13 % is one standard deviation under the right tempo."""
FIRST_SUCCESS_SDS = 0.5
"""A first take is a question as well.

At Phi(0.5) = 69 % it tells more (90 % of the most it could).
"""


@dataclass(frozen=True, slots=True)
class TakeShape:
    """One take: bars of count-in, passes of the pattern, and its length in seconds."""

    count_in_bars: int
    passes: int
    seconds: float


def take_shape(seconds60: float, bars: int, bpm: float) -> TakeShape:
    """Return the shape of a take of a pattern at a tempo.

    Parameters
    ----------
    seconds60
        Length of one pass at 60 bpm, in seconds.
    bars
        Bars in one pass.
    bpm
        Metronome pulses a minute.
    """
    one_pass = seconds60 * 60.0 / bpm
    bar = one_pass / bars
    count_in = max(1, ceil(COUNT_IN_SECONDS / bar - 1e-9))
    passes = max(1, floor(PLAY_SECONDS / one_pass + 0.5))
    return TakeShape(count_in, passes, count_in * bar + passes * one_pass + GRADE_SECONDS)


def aim_bpm(
    mean: float, variance: float, sigma: float, goal_bpm: float, *, first: bool = False
) -> int:
    """Return the tempo of the next take, in whole bpm.

    A take succeeds when it is at least steady, that is when the right tempo is no more than 2.5 bpm
    under the one played. Where success at the goal is likely enough, the goal itself is played.

    Parameters
    ----------
    mean, variance
        Expected right tempo in octaves and its variance.
    sigma
        Noise of one graded take in octaves.
    goal_bpm
        Never exceeded.
    first
        Whether the card was never played.
    """
    caution = FIRST_SUCCESS_SDS if first else SUCCESS_SDS
    likely = 2.5 + exp2(mean - caution * sqrt(variance + sigma * sigma))
    return max(SLOWEST, min(floor(likely + 0.5), floor(goal_bpm), FASTEST))


def next_bpm(bpm: int, grade: Grade, goal_bpm: float) -> int:
    """Return the tempo of the same visit's next take: it follows the grade, up to the goal."""
    return max(SLOWEST, min(bpm + grade.step_bpm, max(floor(goal_bpm), bpm), FASTEST))


def octaves(bpm: float) -> float:
    """Return log2 of a tempo, guarded as the memory guards it."""
    return log2(max(bpm, 8.0))
