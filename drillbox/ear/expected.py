"""What should be heard in a take: every time a stick or a beater comes down, pass after pass.

Conventions: seconds from the pattern's first beat; strokes in the order in which
`drillbox.rhythm.strikes` names them, pass after pass; their number in that order is the index by
which a measurement names them.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.rhythm import Hand, Level, Part, Voice, grace_seconds, strikes

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
        When, from the first beat; a grace note before its stroke.
    place
        Beats from the start of its pass; strokes of all passes with one place, part and voice are
        the same partial.
    voice, level, hand
        What is struck, how loud, with which hand (None for a foot).
    part
        Which part of a written stroke it is.
    """

    index: int
    seconds: float
    place: Fraction
    voice: Voice
    level: Level
    hand: Hand | None
    part: Part


def expected_strokes(
    pattern: Pattern, bpm: float, passes: int, *, leading: Hand = Hand.RIGHT
) -> tuple[Expected, ...]:
    """Return every stroke of a take.

    Parameters
    ----------
    pattern, bpm
        What is played, and at what tempo.
    passes
        How often the pattern is played, one pass after another.
    leading
        The player's leading hand.
    """
    beat = Fraction(pattern.meter.beat_seconds(bpm))
    one_pass = strikes(pattern, leading=leading)
    return tuple(
        Expected(
            turn * len(one_pass) + number,
            float(
                (turn * pattern.beats + strike.at) * beat
                - grace_seconds(strike.early, strike.length * beat)
            ),
            strike.at,
            strike.voice,
            strike.level,
            strike.hand,
            strike.part,
        )
        for turn in range(passes)
        for number, strike in enumerate(one_pass)
    )
