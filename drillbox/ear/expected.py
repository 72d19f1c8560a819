"""What should be heard in a take: every time a stick comes down, pass after pass.

Conventions: seconds from the pattern's first beat; strokes in order of time, then from the top of
a drawing down; their place in that order is the index by which a measurement names them.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.rhythm import Hand, Level, Ornament, Voice, hands

if TYPE_CHECKING:
    from drillbox.rhythm import Pattern


@dataclass(frozen=True, slots=True)
class Expected:
    """One stroke that should come.

    Attributes
    ----------
    index
        Its number in the take, from 0.
    seconds
        When, from the first beat.
    place
        Beats from the start of its pass, exact; strokes of all passes with one place are one
        partial.
    voice, level, hand
        What is struck, how loud, with which hand (None for a foot).
    buzz
        Whether it bounces on.
    """

    index: int
    seconds: float
    place: Fraction
    voice: Voice
    level: Level
    hand: Hand | None
    buzz: bool


def expected_strokes(pattern: Pattern, bpm: float, passes: int) -> tuple[Expected, ...]:
    """Return every stroke of a take."""
    beat = pattern.meter.beat_seconds(bpm)
    one_pass = []
    for stroke, hand in zip(pattern.strokes, hands(pattern), strict=True):
        buzz = stroke.ornament is Ornament.BUZZ
        one_pass.append((stroke.at, stroke.voice, stroke.level, hand, buzz))
        if stroke.ornament is Ornament.DOUBLE:
            half = Fraction(1, 2 * pattern.grids[int(stroke.at)])
            one_pass.append((stroke.at + half, stroke.voice, stroke.level, hand, False))
    one_pass.sort(key=lambda row: (row[0], row[1].rank))
    rows = [(turn, *row) for turn in range(passes) for row in one_pass]
    return tuple(
        Expected(index, float(turn * pattern.beats + at) * beat, at, voice, level, hand, buzz)
        for index, (turn, at, voice, level, hand, buzz) in enumerate(rows)
    )
