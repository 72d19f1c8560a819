"""What is struck when, exactly: every time a stick or a beater comes down in one pass.

A written stroke can be several strikes: a double is two, a flam and a drag have grace notes before
them, a buzz bounces. Sound, measuring and print start from here, so that they agree.

Conventions. Places are exact beats from the pattern's start. What musical time cannot say is said
in seconds: graces fall `grace_seconds` before their stroke, the bounces of a buzz `bounces` after
it, both for the time that the partial lasts at the tempo that is played. The main stroke is in
time, grace notes are early (common practice, no source).
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from itertools import accumulate
from typing import TYPE_CHECKING, NamedTuple

from drillbox.rhythm.embellishments import EMBELLISHMENTS
from drillbox.rhythm.sticking import Sticking, hands
from drillbox.rhythm.stroke import TICKS, Hand, Level, Stroke, Voice

if TYPE_CHECKING:
    from drillbox.rhythm.pattern import Pattern

__all__ = ["Bounce", "Part", "Strike", "bounces", "grace_seconds", "partial_length", "strikes"]

_AT_ONCE = Fraction(0)
_GRACE_SECONDS = Fraction(28, 1000)
"""Common practice, no source; graces stand closer where the notes do."""
_LONGEST_GAP = Fraction(34, 1000)
_SHORTEST_GAP = Fraction(22, 1000)
_CLOSING_UP = Fraction(19, 20)
_MOST_BOUNCES = 10
_FALL_DB = (-0.9, -1.4, -0.7, -1.2)
"""Each bounce against the one before: never quite even, or it would hum (judgement)."""


class Part(StrEnum):
    """Which part of a written stroke a strike is."""

    STROKE = "stroke"
    """The stroke itself; of a double the first."""
    AGAIN = "again"
    """A double's second stroke."""
    GRACE = "grace"
    """A grace note before the stroke."""
    BUZZ = "buzz"
    """A pressed stroke; its bounces follow from how long the partial lasts, see `bounces`."""


class Strike(NamedTuple):
    """One time a stick or a beater comes down.

    Parameters
    ----------
    at
        Beats from the pattern's start, from 0, where it sounds: a swung pattern is swung here. A
        grace has the place of the stroke it leads to, a double's second stroke stands half-way to
        the next partial.
    voice, hand
        What is struck and with which hand; None where a foot plays.
    level
        How loud: a grace is a ghost, whatever its stroke is.
    part
        Which part of the written stroke it is.
    stroke
        The index of that stroke in the pattern.
    early
        For a grace the number of graces from it to its stroke, itself included; else 0.
    length
        Beats that the stroke's partial lasts.
    share
        What share of that has gone by when it comes down: 1/2 for a double's second stroke.
    """

    at: Fraction
    voice: Voice
    hand: Hand | None
    level: Level
    part: Part
    stroke: int
    early: int
    length: Fraction
    share: Fraction


class Bounce(NamedTuple):
    """One bounce of a buzz: seconds after its push, and dB against it."""

    after: Fraction
    db: float


def strikes(
    pattern: Pattern, *, leading: Hand = Hand.RIGHT, way: Sticking = Sticking.TIME
) -> tuple[Strike, ...]:
    """Return everything that is struck in one pass, by time; graces before what they lead to.

    Parameters
    ----------
    pattern
        What is played.
    leading, way
        As in `hands`.
    """
    found: list[tuple[tuple[Fraction, int, int], Strike]] = []
    played = hands(pattern, leading=leading, way=way)
    for index, (stroke, hand) in enumerate(zip(pattern.strokes, played, strict=True)):
        row = EMBELLISHMENTS[stroke.ornament]
        length = partial_length(pattern, stroke)
        place = stroke.at
        if pattern.swing is not None:
            place = pattern.swing.bend(stroke.at)
            length = pattern.swing.bend(stroke.at + length) - place
        other = hand and hand.other
        parts = [
            Strike(
                place, stroke.voice, other, Level.GHOST, Part.GRACE, index, early, length, _AT_ONCE
            )
            for early in range(row.graces, 0, -1)
        ]
        for turn in range(row.even):
            part = Part.AGAIN if turn else Part.BUZZ if row.bounces else Part.STROKE
            share = Fraction(turn, row.even)
            at = place + share * length
            parts.append(
                Strike(at, stroke.voice, hand, stroke.level, part, index, 0, length, share)
            )
        found += [((part.at, -part.early, stroke.voice.rank), part) for part in parts]
    return tuple(strike for _, strike in sorted(found, key=lambda item: item[0]))


def partial_length(pattern: Pattern, stroke: Stroke) -> Fraction:
    """Return how many beats a stroke's partial lasts: to the next of its grid.

    The `&` that halves a beat of one or three partials is an eighth, and lasts to the next beat.
    """
    slots = pattern.grids[stroke.tick // TICKS]
    on_grid = stroke.tick % TICKS * slots % TICKS == 0
    return Fraction(1, slots) if on_grid else Fraction(1, 2)


def grace_seconds(early: int, length: Fraction) -> Fraction:
    """Return how many seconds before its stroke a grace falls.

    Parameters
    ----------
    early
        As in `Strike`: 1 for the last grace before the stroke.
    length
        Seconds that the stroke's partial lasts.
    """
    return early * min(_GRACE_SECONDS, length / 4)


def bounces(length: Fraction) -> tuple[Bounce, ...]:
    """Return the bounces of a buzz after its push, until the next partial.

    They are 34 to 22 ms apart and close up as they fall; few fit at a fast tempo, up to nine at a
    slow one (judgement; values from memory).

    Parameters
    ----------
    length
        Seconds that the partial lasts.
    """
    gap = min(max(length / 6, _SHORTEST_GAP), _LONGEST_GAP)
    gaps = [max(gap * _CLOSING_UP**each, _SHORTEST_GAP) for each in range(_MOST_BOUNCES - 1)]
    falls = accumulate(_FALL_DB[each % len(_FALL_DB)] for each in range(_MOST_BOUNCES - 1))
    return tuple(
        Bounce(after, fall)
        for after, fall in zip(accumulate(gaps), falls, strict=True)
        if after < length
    )
