"""How long a take is, and how fast it goes.

A take is a count-in of whole bars, whole passes of the pattern for about half a minute, and a
moment to grade it. The tempo of a first meeting is where success is about 84 % likely: Wilson,
Shenhav, Straccia & Cohen, "The eighty five percent rule for optimal learning", *Nature
Communications* 10:4646 (2019), gives Phi(1) = 0.8413 for Gaussian noise (derived for classifiers;
for motor learning an analogy).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, exp2, floor, log2, sqrt
from typing import TYPE_CHECKING

from drillbox.base.tempi import ASKED, TAKEN
from drillbox.memory import Grade
from drillbox.memory.forgetting import FLOATS
from drillbox.memory.grade import HALF_STEP

if TYPE_CHECKING:
    from drillbox.memory import Parameters
    from drillbox.memory.forgetting import Maths
    from drillbox.memory.mixture import Number
    from drillbox.plan.candidates import Candidate

COUNT_IN_SECONDS = 2.0
"""A count-in is the fewest whole bars that last this long."""
PLAY_SECONDS = 30.0
"""Passes are added until a take has played for about this long."""
GRADE_SECONDS = 6.0
"""To grade a take and breathe."""
CHANGE_SECONDS = 6.0
"""To read a card that was not the last one played."""
FIVES_FROM, FIVE, TWO = 60, 5, 2
"""From here up the marks of a metronome are fives, below it twos (common practice, no source)."""
MEETING_SUCCESS_SDS = 1.0
"""A new pattern is begun where Phi(1) = 84.13 % is likely, and so is one that is still apart."""
SUCCESS_SDS = 0.6
"""One that is being built is played where Phi(0.6) = 73 % is likely.

On the benchmark a student whose memory suffers from failures is better off at 84 %, one whose cards
differ widely at 69 %: there a take tells more."""
HELD_SUCCESS_SDS, HELD_OCTAVES = 0.25, 0.15
"""What stands so far over its goal is asked for more, Phi(0.25) = 60 %; between them, in between.

A failure costs it little then, and few takes are automatic."""
FAILED_SDS, MOST_FAILED = 0.35, 8
"""Each first take of a day in a row that was worse than steady makes the next one so much safer.

Without it a card whose cold takes keep failing, while its warm ones come off, is asked for the same
tempo day after day."""
EASY_SDS, MOST_EASY = 0.25, 3
"""And each in a row that was automatic makes it so much bolder (assumption)."""


USUAL_VISIT = CHANGE_SECONDS + COUNT_IN_SECONDS + PLAY_SECONDS + GRADE_SECONDS
"""The length of one take of another card, about."""


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


def nearest_mark(bpm: float) -> int:
    """Return the nearest mark of a metronome: multiples of 5 from 60 up, of 2 below."""
    step = FIVE if bpm >= FIVES_FROM else TWO
    return max(ASKED.least, min(step * floor(bpm / step + 0.5), ASKED.most))


def mark_under(bpm: float) -> int:
    """Return the fastest mark of a metronome that is no faster than this."""
    step = FIVE if bpm >= FIVES_FROM else TWO
    return step * floor(bpm / step)


def caution(over_goal: Number, streak: Number, maths: Maths[Number]) -> Number:
    """Return how many standard deviations under its expected tempo a card is to be played.

    The card has come together. For one card in floats, or for columns of cards.

    Parameters
    ----------
    over_goal
        Octaves by which the card's peak stands over its goal.
    streak
        First takes of a day in a row that were automatic, or below zero, that failed.
    maths
        The arithmetic to use: `drillbox.memory.forgetting.FLOATS` or
        `drillbox.memory.array_maths.COLUMNS`.
    """
    held = maths.lower(maths.higher(over_goal / HELD_OCTAVES, 0.0), 1.0)
    failed = maths.lower(maths.higher(-streak, 0.0), MOST_FAILED)
    easy = maths.lower(maths.higher(streak, 0.0), MOST_EASY)
    usual = SUCCESS_SDS + (HELD_SUCCESS_SDS - SUCCESS_SDS) * held
    return usual + FAILED_SDS * failed - EASY_SDS * easy


def aim_bpm(
    mean: float,
    variance: float,
    sigma: float,
    ceiling_bpm: float,
    *,
    over_goal: float | None = None,
    streak: int = 0,
) -> int:
    """Return the tempo of the next take, on a mark of the metronome.

    A take succeeds when it is at least steady, that is when the right tempo is no more than 2.5 bpm
    under the one played.

    Parameters
    ----------
    mean, variance
        Expected right tempo in octaves and its variance.
    sigma
        Noise of one graded take in octaves.
    ceiling_bpm
        Never exceeded: the top tempo of a card that climbs, the goal of one that is to be kept.
    over_goal
        Octaves by which the card's peak stands over its goal; None for a pattern that is new or
        has not come together yet.
    streak
        First takes of a day in a row that were automatic, or below zero, that failed.
    """
    sds = MEETING_SUCCESS_SDS if over_goal is None else caution(over_goal, streak, FLOATS)
    likely = HALF_STEP + exp2(mean - sds * sqrt(variance + sigma * sigma))
    return max(ASKED.least, min(nearest_mark(likely), floor(ceiling_bpm)))


def visit_bpm(candidate: Candidate, at: float, parameters: Parameters) -> int:
    """Return the tempo that a visit to a card begins with, at a moment in days since the epoch."""
    mean, variance = candidate.belief.cold(at, parameters)
    return aim_bpm(
        mean,
        variance,
        parameters.sigma,
        candidate.ceiling_bpm,
        over_goal=candidate.over_goal,
        streak=candidate.belief.streak,
    )


def next_bpm(bpm: int, grade: Grade, ceiling_bpm: float) -> int:
    """Return the tempo of the same visit's next take: it follows the grade, up to the ceiling.

    Steady stays where it was, on a mark or not. Every other grade moves to a mark, by no less than
    it asks for.
    """
    wanted = bpm + grade.step_bpm
    step = FIVE if wanted >= FIVES_FROM else TWO
    if grade > Grade.STEADY:
        wanted = step * ceil(wanted / step)
    elif grade < Grade.STEADY:
        wanted = step * floor(wanted / step)
    return max(ASKED.least, min(wanted, max(floor(ceiling_bpm), bpm), ASKED.most))


def octaves(bpm: float) -> float:
    """Return log2 of a tempo, guarded as the memory guards it."""
    return log2(max(bpm, TAKEN.least))
