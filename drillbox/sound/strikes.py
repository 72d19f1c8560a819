"""What one written stroke is made of: every time a stick, beater or cymbal is really struck.

- A *double* is two even strikes of one hand in the time of one stroke: the second half-way to the
next slot. - A *buzz* is one push that bounces: strikes 34 to 22 ms apart, closing up as they fall,
until the next slot. Few
  fit at a fast tempo, up to ten at a slow one (judgement; values from memory).
- A *flam* has one quiet strike of the other hand just before, a *drag* has two; 28 ms each, or less
where the
  notes stand closer (common practice, no source). The main strike is in time, the grace notes are
  early.

Conventions: exact seconds relative to the stroke; levels in dB relative to the stroke's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from drillbox.rhythm import Level, Ornament
from drillbox.sound.levels import VELOCITY, velocity_db

_GRACE = Fraction(28, 1000)
_GRACE_BELOW_DB = -6.0
_LONGEST_GAP = Fraction(34, 1000)
_SHORTEST_GAP = Fraction(22, 1000)
_CLOSING_UP = Fraction(19, 20)
_MOST_BOUNCES = 10
# Each bounce relative to the last, as an amplitude: never quite even, or it would hum.
_FALL_DB = (-0.9, -1.4, -0.7, -1.2)


@dataclass(frozen=True, slots=True)
class Strike:
    """One strike.

    Seconds after the stroke's place (negative: before), level, and whether it is the soft kind.
    """

    after: Fraction
    db: float = 0.0
    soft: bool = False


def strikes(ornament: Ornament, level: Level, slot: Fraction) -> tuple[Strike, ...]:
    """Return the strikes of a stroke in order of time.

    Parameters
    ----------
    ornament, level
        As written.
    slot
        Seconds to the next slot of its grid.
    """
    main = Strike(Fraction(0))
    if ornament is Ornament.DOUBLE:
        return (main, Strike(slot / 2))
    if ornament is Ornament.BUZZ:
        return (main, *_bounces(slot))
    if ornament is Ornament.FLAM:
        return (*_graces(1, level, slot), main)
    if ornament is Ornament.DRAG:
        return (*_graces(2, level, slot), main)
    return (main,)


def _bounces(slot: Fraction) -> tuple[Strike, ...]:
    gap = min(max(slot / 6, _SHORTEST_GAP), _LONGEST_GAP)
    gaps = [max(gap * _CLOSING_UP**each, _SHORTEST_GAP) for each in range(_MOST_BOUNCES - 1)]
    falls = accumulate(_FALL_DB[each % len(_FALL_DB)] for each in range(_MOST_BOUNCES - 1))
    return tuple(
        Strike(after, fall, soft=True)
        for after, fall in zip(accumulate(gaps), falls, strict=True)
        if after < slot
    )


def _graces(count: int, level: Level, slot: Fraction) -> tuple[Strike, ...]:
    apart = min(_GRACE, slot / 4)
    quiet = velocity_db(VELOCITY[Level.GHOST]) - velocity_db(VELOCITY[level])
    db = min(quiet, _GRACE_BELOW_DB)
    return tuple(Strike(-each * apart, db, soft=True) for each in range(count, 0, -1))
